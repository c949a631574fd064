package report

import (
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
	"packwane/health/units"
)

func plainFit(h *logbook.History) *model.Fit { return model.FitHistory(h, nil) }

// insightOn says what a record shows to the log as it was right after it.
func insightOn(t *testing.T, all []logbook.Record, pack string, r logbook.Record) *Insight {
	t.Helper()
	return InsightOf(pastOf(t, all, pack, logbook.EndOf(r)), r, plainFit)
}

// with replaces a record of a list.
func with(all []logbook.Record, r logbook.Record) []logbook.Record {
	out := slices.Clone(all)
	for i := range out {
		if same(out[i], r) {
			out[i] = r
		}
	}
	return out
}

// TestInsightAgainstTheSimulator holds the verdicts against an invented rider
// whose board is not the model's: rides as they came lie within what was
// expected about as often as 90 % say, and the same rides with half as much
// again, or two thirds, of the way for the same energy do not.
func TestInsightAgainstTheSimulator(t *testing.T) {
	log, err := simulate.Run(simulate.Preset(simulate.Rich, 31))
	if err != nil {
		t.Fatal(err)
	}
	pack := ""
	var rides []*logbook.Ride
	for _, r := range log.Records {
		if r, ok := r.(*logbook.Ride); ok && r.DistanceKm.V > 3 && r.DischargedWh.OK {
			pack, rides = r.Pack, append(rides, r)
		}
	}
	if len(rides) < 60 {
		t.Fatalf("the simulator gave %d rides: too few to count", len(rides))
	}
	const tried, changed = 16, 4
	expected, far, short := 0, 0, 0
	for i := range tried {
		r := rides[len(rides)/3+i*(len(rides)*2/3)/tried]
		verdict := func(share float64) string {
			c := *r
			c.DistanceKm.V *= share
			s := insightOn(t, with(log.Records, &c), pack, &c).Shows
			if s == nil {
				t.Fatalf("%s: nothing is shown", r.ID)
			}
			return s.Verdict
		}
		if verdict(1) == "as_expected" {
			expected++
		}
		if i%(tried/changed) != 0 {
			continue
		}
		if verdict(1.5) == "farther" {
			far++
		}
		if verdict(1/1.5) == "shorter" {
			short++
		}
	}
	t.Logf("as expected %d, with half as much again farther %d, with two thirds shorter %d, of %d and %d", expected, far, short, tried, changed)
	if expected < tried*3/4 {
		t.Errorf("only %d of %d rides came as expected", expected, tried)
	}
	if far < changed || short < changed {
		t.Errorf("of %d rides, %d with half as much again of the way are called farther and %d with two thirds shorter", changed, far, short)
	}
}

// The log of these tests is invented.
const insightLog = duePack + `{"record":"charge","id":"c1","pack":"heron-a","at":"2026-05-01T20:00:00Z","full":true,"hold_min":70}
{"record":"ride","id":"r1","pack":"heron-a","board":"heron","at":"2026-05-02T10:00:00Z","end":"2026-05-02T11:20:00Z","distance_km":27.1,"moving_min":78,"discharged_ah":10.9,"ambient_c":24,"tyre_kpa":250,"rider_kg":78,"wind_kmh":6,"stop":"limit"}
{"record":"charge","id":"c2","pack":"heron-a","at":"2026-05-02T20:00:00Z","charged_ah":10.95,"full":true,"hold_min":20}
{"record":"ride","id":"r2","pack":"heron-a","board":"heron","at":"2026-05-03T10:00:00Z","end":"2026-05-03T10:25:00Z","distance_km":8.3,"moving_min":24,"discharged_ah":3.2,"ambient_c":22,"tyre_kpa":205,"rider_kg":78,"stop":"chosen"}
{"record":"charge","id":"c3","pack":"heron-a","at":"2026-05-03T20:00:00Z","charged_ah":3.25,"full":true,"hold_min":60}
{"record":"charge","id":"c4","pack":"heron-a","at":"2026-05-04T20:00:00Z","charged_ah":4,"full":true}
{"record":"service","id":"s1","pack":"heron-a","at":"2026-05-05T08:00:00Z","kind":"impact"}
{"record":"service","id":"s2","pack":"heron-a","at":"2026-05-06T08:00:00Z","kind":"inspection","passed":true}
`

func recordOf(t *testing.T, all []logbook.Record, id string) logbook.Record {
	t.Helper()
	for _, r := range all {
		if logbook.HeadOf(r).ID == id {
			return r
		}
	}
	t.Fatalf("no record %s", id)
	return nil
}

func codesOf(list []Advice) string {
	var codes []string
	for _, a := range list {
		codes = append(codes, a.Code)
	}
	return strings.Join(codes, " ")
}

// What counts as a range test: common practice, no source; the wind by the
// Beaufort scale, force 2 up to 11 km/h (WMO-No. 8).
func TestInsightRangeTest(t *testing.T) {
	all := records(t, insightLog)
	tests := []struct {
		name       string
		change     func(*logbook.Ride)
		full, at   bool
		standInWay string
	}{
		{"as logged", func(*logbook.Ride) {}, true, true, ""},
		{"beyond a light breeze", func(r *logbook.Ride) { r.WindKmh.V = 12 }, true, false, "wind"},
		{"at its edge", func(r *logbook.Ride) { r.WindKmh.V = 11 }, true, true, ""},
		{"soft tyre", func(r *logbook.Ride) { r.TyreKpa.V = 236 }, true, false, "tyre"},
		{"tyre unknown", func(r *logbook.Ride) { r.TyreKpa = logbook.Num{} }, true, false, "tyre_unrecorded"},
		{"unsteady", func(r *logbook.Ride) { r.SpeedSdKmh = logbook.Some(6) }, true, false, "unsteady"},
		{"cold", func(r *logbook.Ride) { r.AmbientC.V = 8 }, true, false, "temperature"},
		{"stopped early", func(r *logbook.Ride) { r.Stop = "chosen" }, false, false, "not_to_the_limit"},
		{"why it stopped unknown", func(r *logbook.Ride) { r.Stop = "" }, false, false, "stop_unrecorded"},
	}
	for _, test := range tests {
		c := *recordOf(t, all, "r1").(*logbook.Ride)
		test.change(&c)
		got := insightOn(t, with(all, &c), "heron-a", &c).RangeTest
		if got.FullCycle != test.full || got.AtReference != test.at || codesOf(got.Missing) != test.standInWay {
			t.Errorf("%s: full cycle %v, at reference %v, missing %q; want %v, %v, %q", test.name, got.FullCycle, got.AtReference, codesOf(got.Missing), test.full, test.at, test.standInWay)
		}
	}
	got := insightOn(t, all, "heron-a", recordOf(t, all, "r2")).RangeTest
	for _, code := range []string{"not_to_the_limit", "not_held", "tyre", "wind_unrecorded"} {
		if !strings.Contains(codesOf(got.Missing), code) {
			t.Errorf("r2: %s is not said to be missing, only %s", code, codesOf(got.Missing))
		}
	}
}

func TestInsightOfCharges(t *testing.T) {
	all := records(t, insightLog)
	tests := []struct{ id, verdict, hold string }{
		{"c1", "", "held"},
		{"c2", "as_expected", "hold_not_due"},
		{"c3", "as_expected", "held"},
		{"c4", "", "hold_not_due"}, // nothing was ridden before it: nothing to expect it by
	}
	for _, test := range tests {
		got := insightOn(t, all, "heron-a", recordOf(t, all, test.id))
		verdict := ""
		if got.Shows != nil {
			verdict = got.Shows.Verdict
		}
		if verdict != test.verdict || got.Hold == nil || got.Hold.Code != test.hold {
			t.Errorf("%s: verdict %q, hold %v; want %q, %q", test.id, verdict, got.Hold, test.verdict, test.hold)
		}
	}
	for share, want := range map[float64]string{.6: "less", 1.4: "more"} {
		c := *recordOf(t, all, "c3").(*logbook.Charge)
		c.ChargedAh.V *= share
		if got := insightOn(t, with(all, &c), "heron-a", &c).Shows; got == nil || got.Verdict != want {
			t.Errorf("a charge of %g of what was ridden: %+v, want %s", share, got, want)
		}
	}
}

func TestInsightOfServices(t *testing.T) {
	all := records(t, insightLog)
	hit := insightOn(t, all, "heron-a", recordOf(t, all, "s1"))
	if len(hit.DueStarts) == 0 || hit.DueStarts[0].Action != StopRiding || len(hit.DueEnds) != 0 {
		t.Errorf("a knock starts %+v and ends %+v: want a stop to start", hit.DueStarts, hit.DueEnds)
	}
	if lines := hit.Lines(units.Metric); len(lines) == 0 || !lines[0].Alarm {
		t.Errorf("a stop is not the first line, or no alarm: %+v", lines)
	}
	// A range test that is due by then is put off by the knock, not settled.
	later := *recordOf(t, all, "s1").(*logbook.Service)
	later.ID, later.At = "s3", later.At.AddDate(1, 0, 0)
	before := records(t, duePack+`{"record":"charge","id":"c1","pack":"heron-a","at":"2026-05-01T20:00:00Z","full":true}`+"\n")
	h := pastOf(t, before, "heron-a", later.At)
	if due := DueOf(h, plainFit(h), later.At); !slices.ContainsFunc(due, func(r Reminder) bool { return r.Action == Retest }) {
		t.Errorf("no test is due after a year: %+v", due)
	}
	if hit = insightOn(t, append(before, &later), "heron-a", &later); len(hit.DueEnds) != 0 {
		t.Errorf("a knock ends %+v", hit.DueEnds)
	}
	passed := insightOn(t, all, "heron-a", recordOf(t, all, "s2"))
	if len(passed.DueEnds) == 0 || passed.DueEnds[0].Action != StopRiding {
		t.Errorf("an inspection ends %+v: want the stop", passed.DueEnds)
	}
}

// A pack that must not be ridden is asked for nothing but its inspection.
func TestInsightAsksNoRideOfABarredPack(t *testing.T) {
	all := append(records(t, insightLog), records(t, `{"record":"check","id":"k","pack":"heron-a","at":"2026-05-05T09:00:00Z","resistance_mohm":95,"soc_pct":90,"pack_c":20}`)...)
	got := insightOn(t, all, "heron-a", recordOf(t, all, "k"))
	if codesOf(got.Next) != "inspect_first" {
		t.Errorf("next: %s, want inspect_first", codesOf(got.Next))
	}
}

// The record may be a copy, and may be the only one: nothing is claimed then.
func TestInsightOfAFirstRecord(t *testing.T) {
	all := records(t, duePack+`{"record":"ride","id":"r","pack":"heron-a","board":"heron","at":"2026-05-03T10:00:00Z","distance_km":8.3}`)
	c := *recordOf(t, all, "r").(*logbook.Ride)
	h := pastOf(t, all, "heron-a", time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC))
	got := InsightOf(h, &c, plainFit)
	if got.Shows != nil || got.MainCause != nil || len(got.Estimates) != 0 {
		t.Errorf("one distance alone shows %+v, %+v, %+v: want nothing", got.Shows, got.MainCause, got.Estimates)
	}
	if len(got.Next) == 0 {
		t.Error("nothing is said of what to record next")
	}
	for _, system := range []units.System{units.Metric, units.Imperial} {
		for _, l := range got.Lines(system) {
			if strings.Contains(l.Text, "NaN") || strings.Contains(l.Text, "Inf") || strings.Contains(l.Text, "unknown") {
				t.Errorf("%s: %s", l.Label, l.Text)
			}
		}
	}
}
