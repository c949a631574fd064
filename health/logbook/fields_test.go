package logbook_test

import (
	"encoding/json"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// formatFields are the published fields of every record kind. They are written
// out here a second time on purpose: files in riders' hands depend on them.
var formatFields = map[logbook.Kind]string{
	logbook.KindBoard: "id rev removed name mass_kg tyre ref_tyre_kpa service_every_km service_every_days note",
	logbook.KindPack: "id rev removed name board chemistry cell_model series parallel cell_capacity_ah cell_nominal_v cell_full_v limit_v cutoff_v " +
		"in_service cycles_before asnew_ah retire_soh_pct need_range_km ref_temp_c ref_speed_kmh ref_rider_kg ref_route note",
	logbook.KindSetup: "id rev removed at pack board limit_v cutoff_v cell_full_v mass_kg tyre ref_tyre_kpa note",
	logbook.KindCharge: "id rev removed pack at start start_rest_v end_rest_v end_rest_min charged_ah charged_wh full hold_min meter meter_side error_pct " +
		"ambient_c pack_c cell_spread_mv note",
	logbook.KindRide: "id rev removed pack board at end distance_km odometer_km moving_speed_kmh moving_min speed_sd_kmh start_rest_v end_rest_v end_rest_min " +
		"min_v peak_a discharged_ah discharged_wh regen_ah regen_wh meter error_pct ambient_c pack_c tyre_kpa rider rider_kg headwind_kmh wind_kmh " +
		"wind_from_deg shape climb_m descent_m route session stop note",
	logbook.KindCheck:   "id rev removed pack at method resistance_mohm rest_v load_v load_a base_a pulse_s soc_pct pack_c cell_spread_mv group_v note",
	logbook.KindService: "id rev removed pack board at kind until passed note",
}

func TestFieldNames(t *testing.T) {
	for _, k := range logbook.Kinds {
		var names []string
		for _, f := range logbook.Fields(k) {
			names = append(names, f.Name)
			if f.Doc == "" {
				t.Errorf("%v %s has no description", k, f.Name)
			}
			if got, ok := logbook.FieldNamed(k, f.Name); !ok || got.Name != f.Name {
				t.Errorf("%v %s is not found by name", k, f.Name)
			}
		}
		if got := strings.Join(names, " "); got != formatFields[k] {
			t.Errorf("%v has the fields\n%s\nwant\n%s", k, got, formatFields[k])
		}
	}
	if _, ok := logbook.FieldNamed(logbook.KindRide, "AT"); ok {
		t.Error("names match whatever their case")
	}
}

// The unit of a field is the end of its name.
func TestFieldUnits(t *testing.T) {
	ends := map[units.Unit]string{
		units.Km: "km", units.Kmh: "kmh", units.Kg: "kg", units.Kpa: "kpa", units.Celsius: "c", units.Min: "min", units.Ah: "ah", units.Wh: "wh",
		units.Volt: "v", units.Ampere: "a", units.Mohm: "mohm", units.Millivolt: "mv", units.Pct: "pct", units.Metre: "m", units.Second: "s",
		units.Days: "days", units.Degree: "deg",
	}
	for _, k := range logbook.Kinds {
		for _, f := range logbook.Fields(k) {
			number := f.Type == logbook.TypeNumber || f.Type == logbook.TypeNumbers
			if number != (f.Unit != units.None) {
				t.Errorf("%v %s: unit %q", k, f.Name, f.Unit)
			}
			if end, ok := ends[f.Unit]; ok && !strings.HasSuffix(f.Name, "_"+end) {
				t.Errorf("%v %s is in %v", k, f.Name, f.Unit)
			}
		}
	}
}

// roundTrip sends a record through both file formats and back.
func roundTrip(t *testing.T, r logbook.Record) {
	t.Helper()
	want := line(r)
	if got := line(parse(t, want)); got != want {
		t.Errorf("JSON gives back\n%s\nfor\n%s", got, want)
	}
	var theirs map[string]any
	if err := json.Unmarshal([]byte(want), &theirs); err != nil {
		t.Errorf("encoding/json: %v: %s", err, want)
	}
	for _, open := range []func(*strings.Builder) logbook.Writer{asCSV, asLines} {
		text := written(t, open, r)
		got, err := readAll(text)
		if err != nil || len(got) != 1 {
			t.Errorf("%d records, %v, from\n%s", len(got), err, text)
			continue
		}
		if logbook.HeadOf(r).ID == "" {
			logbook.HeadOf(got[0].Record).ID = ""
		}
		if got := line(got[0].Record); got != want {
			t.Errorf("a file gives back\n%s\nfor\n%s\nfrom\n%s", got, want, text)
		}
	}
}

func TestEveryFieldRoundTrips(t *testing.T) {
	for _, k := range logbook.Kinds {
		for _, f := range logbook.Fields(k) {
			t.Run(k.String()+"/"+f.Name, func(t *testing.T) {
				r := minimal(t, k)
				if f.Name == "rev" || f.Name == "removed" {
					set(t, r, "id", "kite-1") // an amendment must name its record
				}
				if f.Name == "board" && eitherOwner(k) {
					set(t, r, "pack", "")
				}
				text := sample(f)
				set(t, r, f.Name, text)
				if got := f.Text(r); got != text || !f.Present(r) {
					t.Errorf("set to %q, it says %q (present: %v)", text, got, f.Present(r))
				}
				roundTrip(t, r)
				set(t, r, f.Name, "")
				if f.Present(r) || f.Text(r) != "" {
					t.Errorf("cleared, it says %q", f.Text(r))
				}
			})
		}
		t.Run(k.String()+"/full", func(t *testing.T) { roundTrip(t, full(t, k)) })
	}
}

// Any text that is accepted survives both formats, whatever its quoting.
func TestTextRoundTrips(t *testing.T) {
	for _, text := range []string{" ", "  x  ", `"`, `""`, ",", "\n", "\t", "\n\n", "a\n", `\.`, `\`, "\u2028", "\ufeff", "\ufffd", "=1+1", "null", "-", "#", "é", "e\u0301", "0",
		strings.Repeat("ab, ", logbook.MaxText/4)} {
		r := minimal(t, logbook.KindBoard)
		set(t, r, "note", text)
		roundTrip(t, r)
	}
	for _, text := range []string{"a\rb", "\x00", "\x1b[31m", "\x7f", "\u0085", "\xff", "a\xc3", strings.Repeat("a", logbook.MaxText+1)} {
		r := minimal(t, logbook.KindBoard)
		f, _ := logbook.FieldNamed(logbook.KindBoard, "note")
		if err := f.SetText(r, text); err == nil {
			t.Errorf("a note of %.20q is accepted", text)
		}
	}
}

// The ends of every range are accepted, what lies beyond is not, in both formats.
func TestRanges(t *testing.T) {
	for _, k := range logbook.Kinds {
		for _, f := range logbook.Fields(k) {
			if f.Type != logbook.TypeNumber && f.Type != logbook.TypeNumbers {
				continue
			}
			step := 1.0
			if !f.Whole {
				step = math.Max(math.Abs(f.Min), 1) * 1e-9
			}
			try := func(text string, want bool) {
				t.Helper()
				r := logbook.New(k)
				err := f.SetText(r, text)
				if (err == nil) != want {
					t.Errorf("%v %s %s: %v", k, f.Name, text, err)
				}
				cell := text
				if f.Type == logbook.TypeNumbers {
					cell = "[" + text + "]"
				}
				_, jsonErr := logbook.ParseJSON([]byte(`{"record":"` + k.String() + `","` + f.Name + `":` + cell + `}`))
				if (jsonErr == nil) != want {
					t.Errorf("%v %s %s in JSON: %v", k, f.Name, text, jsonErr)
				}
			}
			number := logbook.FormatNumber
			try(number(f.Max), true)
			try(number(f.Min), !f.Above)
			try(number(f.Min+step), true)
			try(number(f.Min-step), false)
			try(number(math.Max(f.Max*1.001, f.Max+1)), false)
			try(number(f.Max-0.5), !f.Whole)
			for _, text := range []string{"NaN", "Infinity", "-Infinity", "inf", "1e999", "-1e999", "0x10", "1_0", "1;5", "abc", "true", "--1", "1 km", "١"} {
				try(text, false)
			}
		}
	}
}

func TestEnumsAndFlags(t *testing.T) {
	for _, k := range logbook.Kinds {
		for _, f := range logbook.Fields(k) {
			r := logbook.New(k)
			for _, e := range f.Enum {
				if err := f.SetText(r, e); err != nil {
					t.Errorf("%v %s: %v", k, f.Name, err)
				}
				if err := f.SetText(r, strings.ToUpper(e)); err == nil {
					t.Errorf("%v %s: accepts %s", k, f.Name, strings.ToUpper(e))
				}
			}
			if f.Type == logbook.TypeFlag {
				for _, text := range []string{"TRUE", "False"} { // as spreadsheets write them
					if err := f.SetText(r, text); err != nil {
						t.Errorf("%v %s: %v", k, f.Name, err)
					}
				}
				for _, text := range []string{"yes", "1", "t", " true", "TRU"} {
					if f.SetText(r, text) == nil {
						t.Errorf("%v %s: accepts %s", k, f.Name, text)
					}
				}
			}
		}
	}
}

func TestTimes(t *testing.T) {
	at, _ := logbook.FieldNamed(logbook.KindRide, "at")
	for text, want := range map[string]string{
		"2026-05-03T18:30:00+02:00":           "2026-05-03T18:30:00+02:00",
		"2026-05-03T18:30:00Z":                "2026-05-03T18:30:00Z",
		"2026-05-03T18:30:00+00:00":           "2026-05-03T18:30:00Z",
		"2026-05-03T18:30:00.250Z":            "2026-05-03T18:30:00.25Z",
		"2026-05-03T18:30:00.123456789-05:30": "2026-05-03T18:30:00.123456789-05:30",
		"2024-02-29T23:59:59+14:00":           "2024-02-29T23:59:59+14:00",
	} {
		r := logbook.New(logbook.KindRide)
		if err := at.SetText(r, text); err != nil || at.Text(r) != want {
			t.Errorf("%s: %q, %v; want %s", text, at.Text(r), err, want)
		}
	}
	// RFC 3339, 5.6, has two digits for the hour, a point before the fraction,
	// minutes below 60 in an offset, and no time without one.
	for _, text := range []string{"2026-05-03", "18:30", "2026-05-03T18:30:00", "2026-05-03 18:30:00Z", "2026-05-03T18:30Z", "2026-05-03T8:30:00Z", "2026-05-03T18:30:00,5Z",
		"2026-02-29T18:30:00Z", "2026-05-03T24:00:00Z", "2026-05-03T18:30:60Z", "2026-05-03T18:30:00+02:60", "2026-05-03T18:30:00+24:00", "2026-05-03T18:30:00+0200",
		"1969-12-31T23:59:59Z", "2201-01-01T00:00:00Z", "0000-01-01T00:00:00Z", " 2026-05-03T18:30:00Z", "yesterday", "1777800000"} {
		if r := logbook.New(logbook.KindRide); at.SetText(r, text) == nil {
			t.Errorf("the time %q is accepted as %s", text, at.Text(r))
		}
	}
	date, _ := logbook.FieldNamed(logbook.KindPack, "in_service")
	for _, text := range []string{"2026-02-29", "2026-5-3", "03.05.2026", "2026-05-03T00:00:00Z", "20260503", "1969-01-01", "2026-05"} {
		if r := logbook.New(logbook.KindPack); date.SetText(r, text) == nil {
			t.Errorf("the date %q is accepted as %s", text, date.Text(r))
		}
	}
}

// A record that was built in memory is stored as its text would be.
func TestValidateCanonicalises(t *testing.T) {
	r := &logbook.Ride{Pack: "kite", At: time.Date(2026, 5, 3, 18, 30, 0, 0, time.FixedZone("HERE", 7200))}
	r.DistanceKm = logbook.Num{V: math.NaN(), OK: true}
	r.MinV = logbook.Num{V: 7}
	if err := logbook.Validate(r); err != nil {
		t.Fatal(err)
	}
	if r.DistanceKm.OK || r.MinV != (logbook.Num{}) || r.Rev != 1 {
		t.Errorf("%+v", r)
	}
	roundTrip(t, r)
	p := &logbook.Pack{InService: time.Date(2026, 5, 3, 23, 30, 0, 0, time.FixedZone("", -7200))}
	if err := logbook.Validate(p); err != nil || p.InService.Format(time.RFC3339) != "2026-05-03T00:00:00Z" {
		t.Errorf("%v, %v", p.InService, err)
	}
}

func TestValidate(t *testing.T) {
	const ride, charge, check = `{"record":"ride","pack":"kite","at":"2026-05-03T18:30:00Z"`, `{"record":"charge","pack":"kite","at":"2026-05-03T18:30:00Z"`, `{"record":"check","pack":"kite","at":"2026-05-03T18:30:00Z"`
	for text, field := range map[string]string{
		`{"record":"ride","at":"2026-05-03T18:30:00Z"}`:                                                              "pack",
		`{"record":"ride","pack":"kite"}`:                                                                            "at",
		`{"record":"charge","pack":"kite"}`:                                                                          "at",
		`{"record":"check","at":"2026-05-03T18:30:00Z"}`:                                                             "pack",
		`{"record":"setup","pack":"kite"}`:                                                                           "at",
		`{"record":"setup","at":"2026-05-03T18:30:00Z"}`:                                                             "pack",
		`{"record":"setup","at":"2026-05-03T18:30:00Z","pack":"a","board":"b"}`:                                      "pack",
		`{"record":"service","pack":"a","at":"2026-05-03T18:30:00Z"}`:                                                "kind",
		`{"record":"service","at":"2026-05-03T18:30:00Z","kind":"repair"}`:                                           "pack",
		ride + `,"end":"2026-05-03T18:29:59Z"}`:                                                                      "end",
		ride + `,"end":"2026-05-03T20:29:00+02:00"}`:                                                                 "end",
		ride + `,"end":"2026-05-03T20:30:00+02:00"}`:                                                                 "",
		ride + `,"discharged_ah":1,"regen_ah":2}`:                                                                    "regen_ah",
		ride + `,"discharged_wh":1,"regen_wh":2}`:                                                                    "regen_wh",
		ride + `,"regen_wh":2}`:                                                                                      "",
		charge + `,"start":"2026-05-03T18:31:00Z"}`:                                                                  "start",
		charge + `,"meter_side":"ac","charged_ah":1}`:                                                                "charged_ah",
		charge + `,"meter_side":"ac","charged_wh":1}`:                                                                "",
		check + `,"rest_v":40,"load_v":41}`:                                                                          "load_v",
		check + `,"rest_v":41,"load_v":40,"load_a":1,"base_a":1}`:                                                    "load_a",
		`{"record":"pack","limit_v":30,"cutoff_v":31}`:                                                               "cutoff_v",
		`{"record":"pack","cell_full_v":4.2,"cell_nominal_v":4.3}`:                                                   "cell_nominal_v",
		`{"record":"pack","cell_full_v":4.2,"series":10,"limit_v":42}`:                                               "limit_v",
		`{"record":"pack","cell_full_v":4.2,"series":10,"limit_v":41.9}`:                                             "",
		`{"record":"service","pack":"a","at":"2026-05-03T18:30:00Z","kind":"snooze","until":"2026-05-02T18:30:00Z"}`: "until",
		`{"record":"ride","id":"x","rev":2,"removed":true}`:                                                          "", // a removal needs no more than its name
	} {
		err := logbook.Validate(parse(t, text))
		var e *logbook.FieldError
		if field == "" && err == nil {
			continue
		}
		if !errors.As(err, &e) || e.Field != field {
			t.Errorf("%s: %v, want a fault of %q", text, err, field)
		}
	}
}

// FormatNumber against the standard library: its shortest text, without an
// exponent from 1e-6 to 1e21 (ECMA-262, Number::toString).
func TestFormatNumber(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.1: "0.1", -2.5: "-2.5", 1e20: "100000000000000000000", 1e21: "1e+21", 1e-6: "0.000001", 1e-7: "1e-07", 123456.789: "123456.789"} {
		got := logbook.FormatNumber(v)
		back, err := strconv.ParseFloat(got, 64)
		if got != want || err != nil || back != v || !json.Valid([]byte(got)) {
			t.Errorf("%v: %s, want %s", v, got, want)
		}
	}
	if got := logbook.FormatNumber(logbook.Some(math.Copysign(0, -1)).V); got != "0" {
		t.Errorf("a negative zero is written %s", got)
	}
}
