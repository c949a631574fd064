package report

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
	"packwane/health/units"
)

// auditPack and its rides and charges are invented: twenty days of a ride of
// about 12 km and the charge after it, all of a piece.
func auditLog() string {
	var b strings.Builder
	b.WriteString(`{"record":"board","id":"heron","ref_tyre_kpa":250,"mass_kg":11}
{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_nominal_v":3.6,"cell_full_v":4.2,"limit_v":31,"in_service":"2024-01-01"}
`)
	odo := 500.0
	for i := range 20 {
		at := time.Date(2024, 3, 1+i, 17, 0, 0, 0, time.UTC)
		km := 12 + .1*float64(i%3)
		odo += km
		fmt.Fprintf(&b, `{"record":"ride","id":"ride-%d","pack":"heron-a","board":"heron","at":%q,"end":%q,"distance_km":%.1f,"odometer_km":%.1f,"moving_speed_kmh":20,"discharged_ah":4.7,"discharged_wh":%.0f,"start_rest_v":41.8,"end_rest_v":37.6,"end_rest_min":60,"tyre_kpa":250,"rider_kg":80,"ambient_c":18}`+"\n",
			i, at.Format(time.RFC3339), at.Add(40*time.Minute).Format(time.RFC3339), km, odo, 14.3*km)
		fmt.Fprintf(&b, `{"record":"charge","id":"charge-%d","pack":"heron-a","start":%q,"at":%q,"charged_ah":4.75,"charged_wh":186,"full":true,"hold_min":60,"start_rest_v":37.6,"end_rest_v":41.8,"end_rest_min":60,"ambient_c":20}`+"\n",
			i, at.Add(2*time.Hour).Format(time.RFC3339), at.Add(6*time.Hour).Format(time.RFC3339))
	}
	return b.String()
}

func auditing(t *testing.T, lines string) []Finding {
	t.Helper()
	now := at(t, "2024-04-01T00:00:00Z")
	return auditOf(t, pastOf(t, records(t, lines), "heron-a", now))
}

// auditOf audits a history, and holds the question whether that lists anything
// to it.
func auditOf(t *testing.T, h *logbook.History) []Finding {
	t.Helper()
	fit := model.FitHistory(h, nil)
	all := AuditOf(h, fit)
	if lists := auditLists(h, fit); lists != (len(all) > 0) {
		t.Errorf("an audit lists anything: %v, and it lists %d", lists, len(all))
	}
	return all
}

func TestAuditOfASoundLogIsEmpty(t *testing.T) {
	if all := auditing(t, auditLog()); len(all) != 0 {
		t.Errorf("%+v", all)
	}
}

// Each slip is made in one field of a sound log; the audit must name it, and
// its suggestion the value that was there. 1 mi = 1.609344 km, 1 psi =
// 6.894757 kPa, 1 lb = 0.45359237 kg (NIST SP 811).
func TestAuditNamesTheSlip(t *testing.T) {
	for _, c := range []struct {
		record, field, wrong string
		code                 string
		right                float64 // in the suggestion; 0 where none can be said
		tolerance            float64 // share
	}{
		{"ride-9", "distance_km", "7.46", "miles_as_km", 12, .02},
		{"ride-9", "distance_km", "120", "decimal_shifted", 12, .02},
		{"ride-9", "distance_km", "1.2", "decimal_shifted", 12, .02},
		{"ride-9", "distance_km", "1200", "decimal_shifted", 12, .02},
		{"ride-9", "discharged_ah", "4700", "mah_as_ah", 4.7, .001},
		{"ride-9", "discharged_ah", "47", "decimal_shifted", 4.7, .001},
		{"ride-9", "discharged_wh", "0.1716", "kwh_as_wh", 171.6, .001},
		{"ride-9", "tyre_kpa", "36.3", "psi_as_kpa", 250, .01},
		{"ride-9", "tyre_kpa", "2.5", "bar_as_kpa", 250, .01},
		{"ride-9", "rider_kg", "176", "pounds_as_kg", 80, .01},
		{"ride-9", "ambient_c", "64.4", "fahrenheit_as_celsius", 18, .01},
		{"ride-9", "ambient_c", "-7.8", "celsius_as_fahrenheit", 18, .01}, // (18 - 32) / 1.8
		{"ride-9", "moving_speed_kmh", "2", "decimal_shifted", 20, .01},
		{"ride-9", "end_rest_v", "35.9", "read_under_load", 0, 0},
		{"charge-9", "charged_wh", "1860", "decimal_shifted", 186, .001},
		{"charge-9", "charged_ah", "0.475", "decimal_shifted", 4.75, .001},
		{"charge-9", "start_rest_v", "3.76", "cell_volts", 37.6, .001},
		{"ride-9", "odometer_km", "60.6", "decimal_shifted", 621, .03},
		{"ride-9", "odometer_km", "300", "below_an_earlier_reading", 0, 0},
	} {
		t.Run(c.field+"="+c.wrong, func(t *testing.T) {
			lines := strings.Split(auditLog(), "\n")
			for i, line := range lines {
				if strings.Contains(line, fmt.Sprintf("%q:%q", "id", c.record)) {
					lines[i] = regexp.MustCompile(`"`+c.field+`":[-0-9.]+`).ReplaceAllString(line, fmt.Sprintf("%q:%s", c.field, c.wrong))
				}
			}
			all := auditing(t, strings.Join(lines, "\n"))
			i := slices.IndexFunc(all, func(f Finding) bool { return f.Record == c.record && f.Field == c.field })
			if i < 0 {
				t.Fatalf("not found: %+v", all)
			}
			f := all[i]
			if f.Code != c.code || f.Text == "" || f.Suggestion == "" || f.Pack != "heron-a" {
				t.Errorf("code %s, want %s: %s; %s", f.Code, c.code, f.Text, f.Suggestion)
			}
			if c.right != 0 {
				_, text, _ := strings.Cut(f.Suggestion, c.field+"=")
				var got float64
				if _, err := fmt.Sscan(text, &got); err != nil || math.Abs(got/c.right-1) > c.tolerance {
					t.Errorf("suggests %q, want %g", f.Suggestion, c.right)
				}
			}
			if c.field == "distance_km" && (!strings.Contains(f.TextIn(units.Imperial), " mi ") || strings.Contains(f.TextIn(units.Imperial), " km ")) {
				t.Errorf("in miles: %s", f.TextIn(units.Imperial))
			}
			if text := f.TextIn(units.Imperial) + "; " + f.SuggestionIn(units.Imperial); c.right != 0 && (c.field == "distance_km" || c.field == "tyre_kpa") && (strings.Contains(text, c.field) || !strings.Contains(text, "mi") && !strings.Contains(text, "psi")) {
				t.Errorf("for a rider with miles: %s", text)
			}
			if len(all) > 2 {
				t.Errorf("one slip gives %d findings: %+v", len(all), all)
			}
		})
	}
}

// TestAuditOfAPartCharge: a charge of which nobody says whether the charger finished,
// and that put in little, may have ended early; one that did finish had a meter that
// was restarted.
func TestAuditOfAPartCharge(t *testing.T) {
	for _, c := range []struct{ full, code, suggests string }{
		{"", "ended_before_full", "amend charge-9 full=no"},
		{`,"full":true`, "meter_restarted", "amend charge-9 charged_"},
	} {
		lines := strings.Split(auditLog(), "\n")
		for i, line := range lines {
			if strings.Contains(line, `"id":"charge-9"`) {
				line = regexp.MustCompile(`,"(full":true|hold_min":[0-9]+|end_rest_v":[0-9.]+)`).ReplaceAllString(line, "")
				line = regexp.MustCompile(`"charged_ah":[0-9.]+`).ReplaceAllString(line, `"charged_ah":2.6`)
				lines[i] = regexp.MustCompile(`"charged_wh":[0-9.]+`).ReplaceAllString(line, `"charged_wh":102`+c.full)
			}
		}
		all := auditing(t, strings.Join(lines, "\n"))
		i := slices.IndexFunc(all, func(f Finding) bool { return f.Record == "charge-9" })
		if i < 0 || all[i].Code != c.code || !strings.Contains(all[i].Suggestion, c.suggests) {
			t.Errorf("%q: %+v, want %s and %q", c.full, all, c.code, c.suggests)
		}
	}
}

func TestAuditOfDoubledRecords(t *testing.T) {
	again := `{"record":"ride","id":"again","pack":"heron-a","board":"heron","at":"2024-03-10T18:00:00Z","end":"2024-03-10T18:40:00Z","distance_km":12,"odometer_km":620.7,"moving_speed_kmh":20,"discharged_ah":4.7,"discharged_wh":172,"start_rest_v":41.8,"end_rest_v":37.6,"end_rest_min":60}
`
	has := func(lines, record, code string) bool {
		return slices.ContainsFunc(auditing(t, lines), func(f Finding) bool { return f.Record == record && f.Code == code })
	}
	if !has(auditLog()+again, "again", codeDuplicate) {
		t.Error("the same ride an hour later, as a clock in another zone writes it, is not found")
	}
	if has(auditLog()+strings.ReplaceAll(again, "620.7", "632.7"), "again", codeDuplicate) {
		t.Error("a ride with an odometer of its own is taken for a double")
	}
	few := `{"record":"ride","id":"again","pack":"heron-a","board":"heron","at":"2024-03-10T18:20:00Z","distance_km":12,"odometer_km":620.9}
`
	if !has(auditLog()+few, "again", codeDuplicate) {
		t.Error("a ride that left the odometer where the one before it did is not found")
	}
	if has(auditLog()+strings.ReplaceAll(few, "12,", "6,"), "again", codeDuplicate) {
		t.Error("half as far by the same odometer is taken for a double")
	}
	both := strings.ReplaceAll(auditLog(), `"odometer_km":620.9`, `"odometer_km":632.9`)
	both = both[:strings.Index(both, `{"record":"ride","id":"ride-10"`)]
	if home := strings.ReplaceAll(few, "620.9", "632.9"); has(both+home, "again", codeDuplicate) {
		t.Error("the way home, with the odometer of the evening that the way out has too, is taken for a double")
	}
	twice := `{"record":"service","id":"one","pack":"heron-a","kind":"inspection","passed":true,"at":"2024-03-25T18:00:00Z"}
{"record":"service","id":"two","pack":"heron-a","kind":"inspection","passed":true,"at":"2024-03-25T18:00:00Z"}
{"record":"service","id":"three","pack":"heron-a","kind":"inspection","passed":false,"at":"2024-03-25T18:00:00Z"}
`
	all := auditing(t, auditLog()+twice)
	if len(all) != 1 || all[0].Code != codeDuplicate {
		t.Errorf("one of three services is a double: %+v", all)
	}
}

func TestAuditOfOverlapsTellsEachPairOnce(t *testing.T) {
	lines := auditLog() + `{"record":"ride","id":"inside","pack":"heron-a","board":"heron","at":"2024-03-05T17:10:00Z","end":"2024-03-05T17:25:00Z","distance_km":3}
`
	n := 0
	for _, f := range auditing(t, lines) {
		if f.Code == "overlaps" {
			n++
		}
	}
	if n != 1 {
		t.Errorf("%d overlaps, want 1", n)
	}
}

func TestAuditOfWhatWasKeptAgainstAdvice(t *testing.T) {
	lines := strings.Replace(auditLog(), `"id":"ride-4"`, `"note":"a long day; kept against advice: distance_km; kept against advice: min_v","id":"ride-4"`, 1)
	var fields []string
	for _, f := range auditing(t, lines) {
		if f.Record == "ride-4" && f.Code == codeKept {
			fields = append(fields, f.Field)
		}
	}
	if !slices.Equal(fields, []string{"distance_km", "min_v"}) {
		t.Errorf("kept: %v", fields)
	}
}

// TestAuditOfAWrongCellCount: a number of groups that the log denies is named on
// the pack's record, by whatever tells it, and what rests on it is not told of
// hundreds of records.
func TestAuditOfAWrongCellCount(t *testing.T) {
	groups := `{"record":"check","id":"check-%d","pack":"heron-a","at":"2024-03-2%dT08:00:00Z","group_v":[4.18,4.18,4.17,4.18,4.18,4.18,4.17,4.18,4.18,4.18]}` + "\n"
	checks := fmt.Sprintf(groups+groups, 1, 5, 2, 6)
	afterCharge := regexp.MustCompile(`("charge-.*),"end_rest_v":41.8,"end_rest_min":60`)
	for _, c := range []struct {
		name, lines string
		series      int
	}{
		{"by the volts after full charges, too many", auditLog(), 12},
		{"by the volts after full charges, too few", auditLog(), 8},
		{"by the volts before rides from full", afterCharge.ReplaceAllString(auditLog(), "$1"), 12},
		{"by the groups that checks read", auditLog() + checks, 11},
	} {
		all := auditing(t, strings.Replace(c.lines, `"series":10`, fmt.Sprintf(`"series":%d`, c.series), 1))
		if len(all) != 1 || all[0].Code != codeCellCount || all[0].Record != "heron-a" || !strings.HasSuffix(all[0].Suggestion, "series=10") {
			t.Errorf("%s: %+v", c.name, all[:min(len(all), 3)])
		}
	}
}

// The codes are names in snake_case and each says what it means.
func TestAuditCodes(t *testing.T) {
	for code, what := range AuditCodes() {
		if !regexp.MustCompile(`^[a-z][a-z_]+$`).MatchString(code) || what == "" {
			t.Errorf("%q: %q", code, what)
		}
	}
	// The factors that the handbook gives.
	for code, want := range map[string]float64{"miles_as_km": 1.609344, "psi_as_kpa": 6.894757, "bar_as_kpa": 100, "pounds_as_kg": .45359237} {
		if k := kindNamed(code); math.Abs(k.factor-want) > 1e-9 {
			t.Errorf("%s: %g, want %g", code, k.factor, want)
		}
	}
	for symbol, c := range map[string]struct {
		unit units.Unit
		code string
	}{"mi": {units.Km, "miles_as_km"}, "psi": {units.Kpa, "psi_as_kpa"}, "lb": {units.Kg, "pounds_as_kg"}} {
		s, ok := units.ScaleOf(symbol, c.unit)
		if !ok || math.Abs(s.To(1)/kindNamed(c.code).factor-1) > 1e-6 {
			t.Errorf("%s: the units package says %g", symbol, s.To(1))
		}
	}
}

// Riders who keep a messy log mistype known entries: of the wrong ones most
// must be found, and of those that are found most must be named; a careful
// log must give few findings.
func TestAuditOfInventedRiders(t *testing.T) {
	named := map[simulate.Slip]string{simulate.MilesAsKm: "miles_as_km", simulate.PsiAsKpa: "psi_as_kpa", simulate.ShiftedDecimal: "decimal_shifted", simulate.MeterRestarted: "meter_restarted", simulate.UnderLoad: "read_under_load"}
	gross, found, right := 0, 0, 0
	for seed := range uint64(3) {
		cfg := simulate.Preset(simulate.Messy, seed+1)
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		h := pastOf(t, log.Records, cfg.Pack.ID, log.Truth.End)
		all := auditOf(t, h)
		for _, w := range log.Truth.Wrong {
			code, ok := named[w.Slip]
			if !ok { // some hundredths of a volt, which nothing tells
				continue
			}
			gross++
			for _, f := range all {
				if f.Record == w.Record && f.Field == w.Field {
					found++
					if f.Code == code {
						right++
					}
				}
			}
		}
	}
	t.Logf("of %d wrong entries %d were found, %d named", gross, found, right)
	if found*10 < gross*7 || right*10 < found*7 {
		t.Errorf("of %d wrong entries %d were found, %d named", gross, found, right)
	}
	cfg := simulate.Preset(simulate.Rich, 2)
	log, err := simulate.Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	h := pastOf(t, log.Records, cfg.Pack.ID, log.Truth.End)
	all := auditOf(t, h)
	t.Logf("%d findings in %d records of a careful log", len(all), len(log.Records))
	if len(all)*50 > len(log.Records) {
		t.Errorf("%d findings in %d records of a careful log", len(all), len(log.Records))
	}
	for i, f := range all {
		if i > 0 && logbook.Compare(all[i-1].at, f.at) > 0 {
			t.Error("not in the order of the log")
		}
	}
}

// TestAuditTellsNoVoltsThatNoCellHas says a full or an empty pack where the
// volts that the model goes on to are beyond.
func TestAuditTellsNoVoltsThatNoCellHas(t *testing.T) {
	h := pastOf(t, records(t, auditLog()), "heron-a", at(t, "2024-04-01T00:00:00Z"))
	a := &audit{h: h}
	for _, c := range []struct {
		field    string
		expected float64
		want     string
	}{
		{"end_rest_v", 41.5, "about 41.5 V"},
		{"end_rest_v", 42.5, "a full pack"}, // full is 10 times 4.2 V
		{"start_rest_v", 19, "an empty pack"},
		{"rest_v", 50, "a full pack"},
		{"min_v", 50, "about 50 V"},
		{"charged_ah", 50, "about 50 Ah"},
	} {
		var f logbook.Field
		for _, k := range []logbook.Kind{logbook.KindRide, logbook.KindCharge, logbook.KindCheck} {
			if found, ok := logbook.FieldNamed(k, c.field); ok {
				f = found
			}
		}
		got := a.expected(model.Misreading{Field: c.field, Expected: c.expected}, f).in(units.Metric)
		if got != c.want {
			t.Errorf("%s, %g expected: %q, want %q", c.field, c.expected, got, c.want)
		}
	}
}

// TestHealthSendsNobodyToAnEmptyAudit logs a check of the resistance after a
// ride down to the limit, without the charge between: it is too low for an empty
// pack, and no slip. The audit lists nothing, and health does not point there; of
// a slip it does.
func TestHealthSendsNobodyToAnEmptyAudit(t *testing.T) {
	unlogged := `{"record":"board","id":"heron","mass_kg":12,"ref_tyre_kpa":250}
{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_full_v":4.2,"limit_v":31}
{"record":"charge","id":"c1","pack":"heron-a","at":"2023-08-01T08:00:00+02:00","charged_ah":11.5,"full":true,"hold_min":60}
{"record":"ride","id":"r1","pack":"heron-a","board":"heron","at":"2023-08-01T10:00:00+02:00","distance_km":27.3,"discharged_ah":11.2,"discharged_wh":400,"stop":"limit"}
{"record":"check","id":"k1","pack":"heron-a","at":"2023-08-02T10:00:00+02:00","resistance_mohm":90,"pack_c":21}
`
	slip := strings.Replace(auditLog(), `"charged_ah":4.75`, `"charged_ah":0.475`, 1)
	for _, c := range []struct {
		lines  string
		listed bool
	}{{unlogged, false}, {slip, true}} {
		h := pastOf(t, records(t, c.lines), "heron-a", at(t, "2024-04-01T00:00:00Z"))
		fit := model.FitHistory(h, nil)
		if listed := len(AuditOf(h, fit)) > 0; listed != c.listed {
			t.Fatalf("the audit lists something: %v, want %v", listed, c.listed)
		}
		i := slices.IndexFunc(HealthOf(h, fit).Warnings, func(w Warning) bool { return w.Code == "misreadings" })
		if i < 0 {
			t.Fatal("nothing was put aside")
		}
		if text := HealthOf(h, fit).Warnings[i].Text; strings.Contains(text, "packwane audit") != c.listed {
			t.Errorf("health says %q, and the audit lists something: %v", text, c.listed)
		}
	}
}
