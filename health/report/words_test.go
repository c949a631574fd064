package report

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/units"
)

func estimateOf(value, low, high float64) *Estimate {
	return &Estimate{Value: value, Low: bound(low), High: bound(high), Confidence: Confidence}
}

func TestMeets(t *testing.T) {
	for _, tc := range []struct {
		need float64
		e    *Estimate
		want string
	}{
		{20, estimateOf(21, 20, 22), "met"}, {20, estimateOf(20, 19, 22), "in doubt"}, {20, estimateOf(18, 17, 20), "in doubt"}, {20, estimateOf(18, 17, 19), "not met"},
		{20, estimateOf(21, 20, math.Inf(1)), "met"}, {20, estimateOf(30, math.Inf(-1), 40), "in doubt"}, {20, nil, ""},
	} {
		if got, missed := tc.e.Meets(tc.need); got != tc.want || missed != (got == "not met") {
			t.Errorf("%v of %+v: %q, %v", tc.need, tc.e, got, missed)
		}
	}
}

func TestTwoFigures(t *testing.T) {
	for _, tc := range []struct{ v, want float64 }{{0, 0}, {2.449, 2.4}, {0.0346, 0.035}, {12.6, 13}, {97.4, 97}, {-2.449, -2.4}} {
		if got := TwoFigures(tc.v); math.Abs(got-tc.want) > 1e-9 {
			t.Errorf("TwoFigures(%v) = %v", tc.v, got)
		}
	}
}

// TestPairWords: who goes farther stands first, by how much is never negative,
// and no chance is certain.
func TestPairWords(t *testing.T) {
	chance := func(p float64) *float64 { return &p }
	for _, tc := range []struct {
		p           Pair
		words, odds string
	}{
		{Pair{Verdict: VerdictUnknown}, "kite and wren: the log does not tell.", ""},
		{Pair{Verdict: VerdictA, DifferenceKm: estimateOf(3, 1, 5), ProbabilityAFarther: chance(.99951)}, "kite goes farther than wren, by 3.0 km (1.0 to 5.0).", "over 99"},
		{Pair{Verdict: VerdictB, DifferenceKm: estimateOf(-3, -5, -1), ProbabilityAFarther: chance(0)}, "wren goes farther than kite, by 3.0 km (1.0 to 5.0).", "under 1"},
		{Pair{Verdict: VerdictB, DifferenceKm: estimateOf(-3, math.Inf(-1), -1)}, "wren goes farther than kite, by 3.0 km (1.0 or more).", ""},
		{Pair{Verdict: VerdictAlike, DifferenceKm: estimateOf(.4, -1, 2), ProbabilityAFarther: chance(.73)}, "kite and wren cannot be told apart: the difference is 0.4 km (-1.0 to 2.0).", "73"},
	} {
		if got := tc.p.Words("kite", "wren", units.Metric); got != tc.words || tc.p.Chance() != tc.odds {
			t.Errorf("%q, %q", got, tc.p.Chance())
		}
	}
}

// TestOneCell: the volts of one cell, given for those of a pack, are told from
// low volts of the pack.
func TestOneCell(t *testing.T) {
	pack := &logbook.Pack{Series: logbook.Some(10)}
	for _, tc := range []struct {
		v    logbook.Num
		p    *logbook.Pack
		fits bool
	}{
		{logbook.Some(38), pack, true}, {logbook.Some(3.8), pack, false}, {logbook.Some(380), pack, false}, {logbook.Some(20), pack, true},
		{logbook.Some(3.8), &logbook.Pack{}, true}, {logbook.Num{}, pack, true},
	} {
		if got := OneCell(tc.v, tc.p); (got == "") != tc.fits {
			t.Errorf("%v V: %q", tc.v.V, got)
		}
	}
}

// TestJoin: what is due or odd of a board that packs share is told once, the
// gravest reminder first.
func TestJoin(t *testing.T) {
	a := Reminder{UID: "a", Action: Retest}
	b := Reminder{UID: "b", Action: StopRiding}
	got := JoinReminders([][]Reminder{{a}, {b, a}, nil})
	if len(got) != 2 || got[0].UID != "b" || got[1].UID != "a" {
		t.Errorf("reminders %+v", got)
	}
	if JoinReminders(nil) == nil || JoinFindings(nil) == nil {
		t.Error("nothing is a list without elements, in JSON too")
	}
	x, y := Finding{Record: "ride-1", Pack: "kite-a", Field: "odometer_km", Code: "jumps"}, Finding{Record: "ride-1", Pack: "kite-a", Code: "overlaps"}
	again := x
	again.Pack = "kite-b"
	if found := JoinFindings([][]Finding{{x, y}, {again}}); len(found) != 2 || found[0].Pack != "kite-a" {
		t.Errorf("findings %+v", found)
	}
}

// TestEvery: a short outlook keeps its end.
func TestEvery(t *testing.T) {
	o := &Outlook{Points: make([]OutlookPoint, 6)}
	for i := range o.Points {
		o.Points[i].SohPct = estimateOf(float64(i), 0, 1)
	}
	var kept []float64
	for _, p := range o.Every(Quarter).Points {
		kept = append(kept, p.SohPct.Value)
	}
	if len(kept) != 3 || kept[0] != 0 || kept[1] != 3 || kept[2] != 5 || len(o.Points) != 6 {
		t.Errorf("kept %v of %d", kept, len(o.Points))
	}
}
