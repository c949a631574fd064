package typed

import (
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// noon is the moment of the tests, in a zone with an offset of its own.
var noon = time.Date(2026, 5, 3, 12, 0, 0, 0, time.FixedZone("", 2*3600))

// words parts "a=1 | b=x y" into words.
func words(text string) []Word {
	var out []Word
	for _, part := range strings.Split(text, "|") {
		name, value, _ := strings.Cut(strings.TrimSpace(part), "=")
		out = append(out, Word{name, value})
	}
	return out
}

// TestApply: both spellings of a name, and what a bare number means under
// each. 1 mi = 1.609344 km, 1 lb = 0.45359237 kg, 1 psi = 6.894757 kPa: NIST SP
// 811, B.8.
func TestApply(t *testing.T) {
	for _, tc := range []struct {
		kind   logbook.Kind
		text   string
		system units.System
		want   string // canonical JSON without record and rev
	}{
		{logbook.KindRide, `distance=9.5 mi | tyre=2.1 bar`, units.Metric, `"distance_km":15.288768,"tyre_kpa":210`},
		{logbook.KindRide, `distance=9.5 | tyre=35`, units.Imperial, `"distance_km":15.288768,"tyre_kpa":241.316495`},
		{logbook.KindRide, `distance-km=9.5 | tyre_kpa=210`, units.Imperial, `"distance_km":9.5,"tyre_kpa":210`},
		{logbook.KindRide, `distance=9.5`, units.Metric, `"distance_km":9.5`},
		{logbook.KindRide, `distance-km=9.5 mi`, units.Metric, `"distance_km":15.288768`},
		{logbook.KindRide, `rider=ann | rider-kg=160 lb`, units.Metric, `"rider":"ann","rider_kg":72.5747792`},
		{logbook.KindRide, `rider=160 lb`, units.Metric, `"rider_kg":72.5747792`},
		{logbook.KindRide, `temperature=41 F | moving=1h10m | stop=Limit`, units.Metric, `"moving_min":70,"ambient_c":5,"stop":"limit"`},
		{logbook.KindRide, `shape=out-back`, units.Metric, `"shape":"out_back"`},
		{logbook.KindRide, `shape=Out and back`, units.Metric, `"shape":"out_back"`},
		{logbook.KindPack, `chemistry=LiFePO4`, units.Metric, `"chemistry":"lfp"`},
		{logbook.KindRide, `shape=oneway`, units.Metric, `"shape":"one_way"`},
		{logbook.KindRide, `at=yesterday 18:30 | end=19:40`, units.Metric, `"at":"2026-05-02T18:30:00+02:00","end":"2026-05-02T19:40:00+02:00"`},
		{logbook.KindRide, `end=11h40 | at=2026-05-02 11:05`, units.Metric, `"at":"2026-05-02T11:05:00+02:00","end":"2026-05-02T11:40:00+02:00"`},
		{logbook.KindRide, `end=1h10 | at=2026-05-02 11:05`, units.Metric, `"at":"2026-05-02T11:05:00+02:00","end":"2026-05-02T12:15:00+02:00"`},
		{logbook.KindRide, `end=12:10 AM | at=2026-05-02 23:30`, units.Metric, `"at":"2026-05-02T23:30:00+02:00","end":"2026-05-03T00:10:00+02:00"`},
		{logbook.KindCharge, `at=2026-05-02 07:10 | start=11 pm`, units.Metric, `"at":"2026-05-02T07:10:00+02:00","start":"2026-05-01T23:00:00+02:00"`},
		{logbook.KindRide, `end=0:20 | at=yesterday 23:30`, units.Metric, `"at":"2026-05-02T23:30:00+02:00","end":"2026-05-03T00:20:00+02:00"`},
		{logbook.KindRide, `end=+1h10m | at=2026-05-02T18:30:00Z`, units.Metric, `"at":"2026-05-02T18:30:00Z","end":"2026-05-02T21:40:00+02:00"`},
		{logbook.KindCharge, `at=07:10 | start=23:05 | full=yes`, units.Metric, `"at":"2026-05-03T07:10:00+02:00","start":"2026-05-02T23:05:00+02:00","full":true`},
		{logbook.KindCharge, `at=07:10 | start=-8h`, units.Metric, `"at":"2026-05-03T07:10:00+02:00","start":"2026-05-02T23:10:00+02:00"`},
		{logbook.KindCharge, `charged=3200 mAh | charged=0.11 kWh`, units.Metric, `"charged_ah":3.2,"charged_wh":110`},
		{logbook.KindCharge, `end-rest=41.9 V | end-rest=30 min`, units.Metric, `"end_rest_v":41.9,"end_rest_min":30`},
		{logbook.KindCheck, `group-v=3.91 3.92 3.90 V | spread=20`, units.Metric, `"cell_spread_mv":20,"group_v":[3.91,3.92,3.9]`},
		{logbook.KindService, `kind=cells replaced | passed=no`, units.Metric, `"kind":"cells_replaced","passed":false`},
		{logbook.KindPack, `series=10 | in-service=3 Mar 2026 | name=`, units.Metric, `"series":10,"in_service":"2026-03-03"`},
	} {
		r := logbook.New(tc.kind)
		if _, err := Apply(r, words(tc.text), Rider{tc.system, noon}); err != nil {
			t.Errorf("%s: %v", tc.text, err)
			continue
		}
		got := string(logbook.AppendJSON(nil, r))
		want := `{"record":"` + tc.kind.String() + `",` + tc.want + `}`
		if got != want {
			t.Errorf("%s:\n got %s\nwant %s", tc.text, got, want)
		}
	}
}

// TestApplyRefuses: each refusal names the field and what would be accepted.
func TestApplyRefuses(t *testing.T) {
	for _, tc := range []struct {
		kind logbook.Kind
		text string
		want []string // all in the error
	}{
		{logbook.KindRide, `distnce=3`, []string{`no field "distnce"`, `"distance"`}},
		{logbook.KindRide, `rider=176`, []string{"rider", `"176"`, "rider_kg"}},
		{logbook.KindBoard, `tyre=40`, []string{"tyre", `"40"`, "ref_tyre_kpa"}},
		{logbook.KindRide, `zzz=3`, []string{`no field "zzz"`}},
		{logbook.KindRide, `id=x`, []string{`no field "id"`}},
		{logbook.KindCharge, `charged=3`, []string{"charged", `"3"`, "Ah or Wh"}},
		{logbook.KindCharge, `charged=3 km`, []string{"Ah or Wh"}},
		{logbook.KindCharge, `charged=`, []string{"charged_ah or charged_wh"}},
		{logbook.KindRide, `distance=nine`, []string{"distance_km", `"nine"`, "km"}},
		{logbook.KindRide, `distance=NaN`, []string{"distance_km", `"NaN"`}},
		{logbook.KindRide, `distance=Inf`, []string{"distance_km", `"Inf"`}},
		{logbook.KindRide, `distance=-3`, []string{"distance_km", `"-3"`, "0 to 5000"}},
		{logbook.KindRide, `distance=9000 mi`, []string{"distance_km", "0 to 5000", "mi"}},
		{logbook.KindRide, `at=whenever`, []string{"at", `"whenever"`}},
		{logbook.KindRide, `stop=tired`, []string{"stop", `"tired"`, "limit, cutoff, fault, chosen"}},
		{logbook.KindCharge, `full=maybe`, []string{"full", `"maybe"`, "yes or no"}},
		{logbook.KindRide, `end=2h30 | at=2026-05-02 01:00`, []string{`end "2h30": want`, "2:30", "+2h30m"}},
		{logbook.KindRide, `distance=3 km | distance_km=3`, []string{"distance_km", "twice"}},
		{logbook.KindBoard, `tyre=2.4 bar`, []string{`tyre "2.4 bar"`, "is a name", "ref_tyre"}},
		{logbook.KindPack, `series=ten`, []string{"series", `"ten"`}},
	} {
		r := logbook.New(tc.kind)
		_, err := Apply(r, words(tc.text), Rider{units.Metric, noon})
		if err == nil {
			t.Errorf("%s: taken as %s", tc.text, logbook.AppendJSON(nil, r))
			continue
		}
		for _, part := range tc.want {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: error %q lacks %q", tc.text, err, part)
			}
		}
	}
}

// TestNamesAreUnique: a name means one thing for a kind, every settable field
// can be reached, and no name hides another field's own.
func TestNamesAreUnique(t *testing.T) {
	for _, k := range logbook.Kinds {
		seen := map[string]bool{}
		reached := map[string]bool{}
		for _, n := range Names(k) {
			if seen[n.Text] {
				t.Errorf("%s: name %q comes twice", k, n.Text)
			}
			seen[n.Text] = true
			for _, f := range n.Fields {
				reached[f.Name] = true
				if len(n.Fields) > 1 && f.Unit == units.None {
					t.Errorf("%s: %q may be a field without a unit: it cannot be told apart", k, n.Text)
				}
			}
		}
		for _, f := range Settable(k) {
			if n, err := Find(k, f.Name); err != nil || n.Fields[0].Name != f.Name || !n.Full {
				t.Errorf("%s: %s does not lead to itself", k, f.Name)
			}
			if !reached[f.Name] {
				t.Errorf("%s: no name leads to %s", k, f.Name)
			}
		}
	}
}

// TestShownReadsBack: what Lines shows of a record, typed again, gives the same
// record, for values that need no rounding.
func TestShownReadsBack(t *testing.T) {
	who := Rider{units.Metric, noon}
	for _, line := range []string{
		`{"record":"ride","pack":"a","board":"b","at":"2026-05-02T18:30:00+02:00","end":"2026-05-02T19:40:00+02:00","distance_km":15.3,"moving_min":65,"end_rest_v":37.2,"end_rest_min":20,"discharged_ah":4.6,"discharged_wh":166,"ambient_c":-3.5,"tyre_kpa":210,"rider":"ann","rider_kg":78,"headwind_kmh":-4,"shape":"out_back","stop":"chosen","note":"two words"}`,
		`{"record":"charge","pack":"a","at":"2026-05-02T18:30:00+02:00","charged_ah":4.6,"charged_wh":166,"full":true,"hold_min":60}`,
		`{"record":"check","pack":"a","at":"2026-05-02T18:30:00+02:00","resistance_mohm":92,"group_v":[3.9,3.91]}`,
		`{"record":"pack","name":"A","series":10,"in_service":"2025-03-03","need_range_km":12}`,
	} {
		r, err := logbook.ParseJSON([]byte(line))
		if err != nil {
			t.Fatal(err)
		}
		again := logbook.New(r.Kind())
		var typedWords []Word
		for _, l := range Lines(r, who, nil) {
			typedWords = append(typedWords, Word{l.Field.Name, l.Text})
		}
		if _, err := Apply(again, typedWords, who); err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		if got := string(logbook.AppendJSON(nil, again)); got != line {
			t.Errorf("\n got %s\nwant %s", got, line)
		}
	}
}

func TestNearest(t *testing.T) {
	for _, tc := range []struct{ word, want string }{
		{"kte", "kite"}, {"KITE", "kite"}, {"distance", ""}, {"ki", ""}, {"a", ""}, {"", ""}, {"heronn", "heron"}, {"her", "heron"},
	} {
		if got, _ := Nearest(tc.word, []string{"kite", "heron"}); got != tc.want {
			t.Errorf("Nearest(%q) = %q, want %q", tc.word, got, tc.want)
		}
	}
}

// spaced is held against the plain way.
func TestSpaced(t *testing.T) {
	for _, text := range []string{"", " ", "a", "a b", " a", "a ", "a  b", "a\tb", "a\nb ", "größer  x", "a\u00a0b", "a\u2003b", "wind, 3 Bft; all's well"} {
		if got, want := spaced(text), strings.Join(strings.Fields(text), " "); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
