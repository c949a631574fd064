package report

import (
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
	"packwane/health/units"
)

func simulatedPack(t *testing.T, style simulate.Style, seed uint64, upTo float64) Known {
	t.Helper()
	log, err := simulate.Run(simulate.Preset(style, seed))
	if err != nil {
		t.Fatal(err)
	}
	first := logbook.AtOf(log.Records[2])
	asOf := first.Add(time.Duration(upTo * float64(log.Truth.End.Sub(first))))
	var pack string
	for _, r := range log.Records {
		if p, ok := r.(*logbook.Pack); ok {
			pack = p.ID
		}
	}
	h, err := logbook.NewHistory(pack, log.Records, asOf)
	if err != nil {
		t.Fatal(err)
	}
	return Known{h, model.FitHistory(h, nil)}
}

// Every style of keeping a log, from its first days on, gets answers that are
// numbers or null (JSON takes no others), and words without a NaN.
func TestAnswersAreNumbers(t *testing.T) {
	encode := func(v any) {
		t.Helper()
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(b), "NaN") || strings.Contains(string(b), "Inf") {
			t.Fatalf("%s", b)
		}
	}
	some := logbook.Some
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat, simulate.WallOnly, simulate.Messy, simulate.Monthly, simulate.BenchCell} {
		for _, upTo := range []float64{0, .01, .1, 1} {
			k := simulatedPack(t, style, 4, upTo)
			h, fit := k.History, k.Fit
			for i := 0; i < len(h.Rides); i += max(1, len(h.Rides)/4) {
				x, err := ExplainOf(h, fit, h.Rides[i])
				if err != nil {
					continue
				}
				encode(x)
				if !x.Known() {
					if len(x.Warnings) == 0 || x.RideKm != nil || x.UnexplainedKm != nil {
						t.Errorf("%s: nothing is known, and it says %+v", h.Rides[i].ID, x)
					}
					continue
				}
				sum := x.ReferenceKm.Value + x.UnexplainedKm.Value
				for _, c := range x.Causes {
					sum += c.Km.Value
				}
				if math.Abs(sum-x.RideKm.Value) > 1e-6 {
					t.Errorf("%s: the parts make %g km, the ride %g", h.Rides[i].ID, sum, x.RideKm.Value)
				}
				if w := x.Words(units.Imperial); strings.Contains(w, "NaN") || !strings.Contains(w, " mi") {
					t.Error(w)
				}
			}
			encode(ComparePacks([]Known{k, k}, Overrides{SpeedKmh: some(22)}))
			encode(PlanOf([]Known{k, k}, 1.5, true))
			encode(PlanOf([]Known{k}, .001, false))
			encode(TestSheetOf(h, fit))
			for _, s := range []model.Standing{
				{RestV: some(3.7 * h.Pack.Series.Or(1)), Risk: .05}, {UsedAh: some(3), RestedMin: some(1), OutKm: some(8), Risk: .05, ClimbM: 60, Way: model.Way{HeadwindKmh: some(20)}},
				{RestV: some(3 * h.Pack.Series.Or(1)), UsedWh: some(0), OutKm: some(0), Risk: .5}, {RestV: some(4.5 * h.Pack.Series.Or(1)), UsedWh: some(1e5), Risk: .001},
			} {
				encode(ReachOf(h, fit, s))
			}
			d := DocumentOf([]Known{k, k}, units.Metric)
			encode(d)
		}
	}
}

// A share whose interval spans nothing, or that is smaller than what any log
// could tell, has no sign.
func TestResolved(t *testing.T) {
	e := func(v, low, high float64) *Estimate {
		return &Estimate{Value: v, Low: &low, High: &high, Confidence: Confidence}
	}
	for _, c := range []struct {
		e    *Estimate
		want bool
	}{
		{e(-2, -3, -1), true}, {e(.2, -1, 1.4), false}, {e(0, 0, 0), false}, {e(.01, .005, .02), false}, {e(.9, -.1, 1.2), true}, {&Estimate{Value: 2}, false},
	} {
		if got := resolved(c.e, .05); got != c.want {
			t.Errorf("%+v: resolved %v", c.e, got)
		}
	}
}

// What a small cause does is not told with a sign in words.
func TestWordsGiveNoSignToTheUnresolved(t *testing.T) {
	at := func(v float64) *Estimate { return &Estimate{Value: v, Low: &v, High: &v} }
	low, high, least := -.5, .9, .1
	x := &Explain{
		Measured: true, ReferenceKm: at(40), RideKm: at(35), LeastKm: &least, UnexplainedKm: at(-1),
		Causes: []Cause{{Cause: "wind", Km: at(-3), Resolved: true}, {Cause: "speed", Km: &Estimate{Value: .2, Low: &low, High: &high}}, {Cause: "ageing", Km: at(-1.2), Resolved: true}},
	}
	want := "It went 35 km to the limit, 5 km less than a full charge as new at reference conditions (40 km). Less by wind 3 km, ageing 1.2 km. Unexplained: 1 km less. Too small to tell: speed."
	if got := x.Words(units.Metric); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	// rounded in the reader's own unit: 40 km are 24.9 mi (1 mi = 1.609344 km, NIST SP 811)
	want = "It went 21.7 mi to the limit, 3.1 mi less than a full charge as new at reference conditions (24.9 mi). Less by wind 1.9 mi, ageing 0.7 mi. Unexplained: 0.6 mi less. Too small to tell: speed."
	if got := x.Words(units.Imperial); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}

// TestDocumentInTheReadersUnits: neither the sheet of a test nor a report falls
// back to metric units where the reader has others.
func TestDocumentInTheReadersUnits(t *testing.T) {
	k := simulatedPack(t, simulate.Rich, 31, .8)
	metric := regexp.MustCompile(`[0-9] (km|km/h|kPa|kg|°C|Wh/km)\b`)
	s := TestSheetOf(k.History, k.Fit)
	for _, l := range append(append([]SheetLine{}, s.Set...), s.Weak...) {
		if got := l.TextIn(units.Imperial); metric.MatchString(got) {
			t.Errorf("the sheet says %q", got)
		}
		if got := l.TextIn(units.Metric); got != l.Text {
			t.Errorf("the sheet says %q, and %q in JSON", got, l.Text)
		}
	}
	for _, p := range DocumentOf([]Known{k}, units.Imperial).Parts {
		for _, cells := range append([][]string{p.Words}, p.Rows...) {
			for _, text := range cells {
				if metric.MatchString(text) {
					t.Errorf("%s says %q", p.Title, text)
				}
			}
		}
	}
}
