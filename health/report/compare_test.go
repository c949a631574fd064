package report

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// twoBoards are the invented boards whose riders go out together.
func twoBoards(t *testing.T, parted bool) []Known {
	t.Helper()
	all, _, err := simulate.Demo(time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	var out []Known
	for _, pack := range []string{"wren-pack", "otter-pack"} {
		records := make([]logbook.Record, len(all))
		for i, r := range all {
			records[i] = r
			if ride, ok := r.(*logbook.Ride); ok && parted && ride.Session != "" {
				alone := *ride
				alone.Session = "" // as if nobody had said that they rode together
				records[i] = &alone
			}
		}
		h, err := logbook.NewHistory(pack, records, time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, Known{h, model.FitHistory(h, nil)})
	}
	return out
}

// together finds one outing's rides of both packs.
func together(t *testing.T, packs []Known) []RideOf {
	t.Helper()
	for _, a := range packs[0].History.Rides {
		for _, b := range packs[1].History.Rides {
			if a.Stop == "limit" && b.Stop == "limit" && a.DistanceKm.OK && b.DistanceKm.OK && math.Abs(a.At.Sub(b.At).Hours()) < 12 {
				return []RideOf{{packs[0], a}, {packs[1], b}}
			}
		}
	}
	t.Fatal("no outing of both")
	return nil
}

// Two rides of one outing differ by less scatter than the same two rides
// would on days of their own; turned round, a comparison says the opposite.
func TestComparedRidesOfOneOuting(t *testing.T) {
	wide := func(p Pair) float64 { return *p.DifferenceKm.High - *p.DifferenceKm.Low }
	same, apart := twoBoards(t, false), twoBoards(t, true)
	paired := CompareRides(together(t, same), Overrides{}).Pairs[0]
	alone := CompareRides(together(t, apart), Overrides{}).Pairs[0]
	if !paired.Paired || alone.Paired {
		t.Fatalf("paired %v and %v", paired.Paired, alone.Paired)
	}
	if wide(paired) > 1.02*wide(alone) {
		t.Errorf("on one outing the difference spans %.2f km, on two days %.2f", wide(paired), wide(alone))
	}
	c, back := ComparePacks(same, Overrides{}), ComparePacks([]Known{same[1], same[0]}, Overrides{SpeedKmh: logbook.Some(25), RiderKg: logbook.Some(78), Route: "orchard round"})
	p, q := c.Pairs[0], back.Pairs[0]
	if math.Abs(p.DifferenceKm.Value+q.DifferenceKm.Value) > .02*math.Abs(p.DifferenceKm.Value) || math.Abs(*p.ProbabilityAFarther+*q.ProbabilityAFarther-1) > .01 {
		t.Errorf("%.2f km one way round, %.2f the other", p.DifferenceKm.Value, q.DifferenceKm.Value)
	}
	if p.Verdict != VerdictB || q.Verdict != VerdictA {
		t.Errorf("verdicts %s and %s", p.Verdict, q.Verdict)
	}
}

// A pack held against itself cannot be told apart, and a condition that it was
// never ridden at is said.
func TestComparedWithItself(t *testing.T) {
	packs := twoBoards(t, false)
	c := ComparePacks([]Known{packs[0], packs[0]}, Overrides{SpeedKmh: logbook.Some(45)})
	if p := c.Pairs[0]; p.Verdict != VerdictAlike || math.Abs(p.DifferenceKm.Value) > 1e-9 {
		t.Errorf("it differs from itself: %+v", p)
	}
	said := false
	for _, w := range c.Warnings {
		said = said || w.Code == "speed_extrapolated"
	}
	if !said {
		t.Error("45 km/h is not said to be beyond what was ridden")
	}
}

// Outings together take hardly more tests than days apart, even where the day
// adds little, and a smaller difference takes more.
func TestPlansOfTwoBoards(t *testing.T) {
	packs := twoBoards(t, false)
	plan := func(km float64, paired bool) *Plan { return PlanOf(packs, km, paired) }
	apart, paired, fine := plan(2, false), plan(2, true), plan(1, false)
	if paired.PairsUsed < 5 || *paired.TestsEach > *apart.TestsEach+3 || *fine.TestsEach <= *apart.TestsEach {
		t.Errorf("%d tests apart, %d paired from %d pairs, %d for half of it", *apart.TestsEach, *paired.TestsEach, paired.PairsUsed, *fine.TestsEach)
	}
	if at := apart.PowerAt(*apart.TestsEach); at < 90 || apart.PowerAt(*apart.TestsEach-1) >= 90 {
		t.Errorf("%d tests find it in %.1f %%", *apart.TestsEach, at)
	}
	for i := 1; i < len(apart.DetectableKm); i++ {
		if apart.DetectableKm[i].Km >= apart.DetectableKm[i-1].Km {
			t.Errorf("%d tests tell no less apart than %d", apart.DetectableKm[i].Tests, apart.DetectableKm[i-1].Tests)
		}
	}
	if e := apart.RepeatabilityKm; *e.Low >= e.Value || *e.High <= e.Value {
		t.Errorf("scatter %+v", e)
	}
}
