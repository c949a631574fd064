package model

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"packwane/health/law"
	"packwane/health/logbook"
	"packwane/health/simulate"
)

// Shapley's axioms (L. S. Shapley 1953, A value for n-person games): the
// shares add up, a cause that changes nothing gets nothing, two that do the
// same get the same; and a game of unanimity is shared alike by its members.
func TestShapleyAxioms(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var f, g [1 << numCauses]float64
	for set := range f {
		f[set] = rng.NormFloat64()
		if set&0b111 == 0b111 { // the first three together make one
			g[set] = 1
		}
	}
	sum := 0.0
	for _, v := range shapley(&f) {
		sum += v
	}
	if math.Abs(sum-(f[len(f)-1]-f[0])) > 1e-12 {
		t.Errorf("shares add up to %g, want %g", sum, f[len(f)-1]-f[0])
	}
	for i, v := range shapley(&g) {
		want := 0.0
		if i < 3 {
			want = 1.0 / 3
		}
		if math.Abs(v-want) > 1e-12 {
			t.Errorf("cause %d of a game of three gets %g, want %g", i, v, want)
		}
	}
}

func fitSimulated(t *testing.T, style simulate.Style, seed uint64) (*logbook.History, *Fit) {
	t.Helper()
	log, err := simulate.Run(simulate.Preset(style, seed))
	if err != nil {
		t.Fatal(err)
	}
	h, err := logbook.NewHistory("pack", log.Records, log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	return h, FitHistory(h, nil)
}

// In every draw the causes and the unexplained add up, and asking twice gives
// the same.
func TestExplanationAddsUp(t *testing.T) {
	h, fit := fitSimulated(t, simulate.Messy, 3)
	for k := 3; k < len(h.Rides); k += len(h.Rides) / 5 {
		x, ok := fit.Explain(h.Rides[k])
		if !ok {
			t.Fatal("ride not explained")
		}
		again, _ := fit.Explain(h.Rides[k])
		for i := range x.RideKm {
			sum := x.ReferenceKm[i] + x.UnexplainedKm[i]
			for c := range x.Km {
				sum += x.Km[c][i]
			}
			if math.Abs(sum-x.RideKm[i]) > 1e-9*x.RideKm[i] {
				t.Fatalf("draw %d: the parts make %.9f km, the ride %.9f", i, sum, x.RideKm[i])
			}
			if x.RideKm[i] != again.RideKm[i] || x.Km[causeWind][i] != again.Km[causeWind][i] {
				t.Fatal("asked again it says something else")
			}
		}
	}
}

// A tyre 30 % under its pressure costs 8 to 13 % of the range: common practice,
// no source. The model's prior, a pressure exponent of 0.48 (Grappe et al.
// 1999) on the rolling part, is held against it, not made to fit: rolling is
// somewhat more than half of what a light board takes.
func TestSoftTyreAgainstCommonPractice(t *testing.T) {
	road := law.Road{Rolling: .016, TyreExponent: .48, DragAreaM2: .50, Efficiency: .78, StandingW: 8}
	trip := law.Trip{MassKg: 95, AirC: 25, SpeedMs: 24 / 3.6, SpeedVarMs2: .4}
	soft := trip
	soft.LogPressure = math.Log(.7)
	lost := 100 * (1 - road.WhPerKm(trip)/road.WhPerKm(soft))
	t.Logf("the priors give %.1f %% less range", lost)
	if lost < 6 || lost > 14 {
		t.Errorf("30 %% less pressure costs %.1f %% of the range, common practice says 8 to 13", lost)
	}
}

// A full cycle by the scene is the reference's to the last digits.
func TestSceneIsTheReference(t *testing.T) {
	_, fit := fitSimulated(t, simulate.Rich, 5)
	g, now := fit.Go(Way{}), fit.At(fit.m.h.AsOf)
	for i := range g.RangeKm {
		if math.Abs(g.RangeKm[i]/now.RangeKm[i]-1) > 1e-9 || math.Abs(g.CapacityWh[i]/now.CapacityWh[i]-1) > 1e-9 {
			t.Fatalf("draw %d: %.6f km by the scene, %.6f by the reference", i, g.RangeKm[i], now.RangeKm[i])
		}
	}
}

// Where a log leaves the scale of energy open, as a wall meter does, a way out
// with a meter tells it: one that took less for each kilometre than the draws
// expect speaks for those whose packs hold less too, and what is left is known
// better.
func TestAWayOutTellsTheScale(t *testing.T) {
	unknown, known := 0.0, 0.0
	for seed := uint64(5); seed < 13; seed++ {
		_, fit := fitSimulated(t, simulate.WallOnly, seed)
		fit.draw(8 * DefaultDraws) // log 11 tells most of the scale itself: what is left is less than the chance of few weighed draws
		usual := Quantile(fit.Go(Way{}).WhPerKm, .5)
		ask := func(share float64) (leftWh, halfWh float64) { // of the usual, on the way out; 0 where that was not noted
			// The air is said: else a dear way out speaks for a colder day, on which a pack gives less.
			s := Standing{UsedWh: logbook.Some(9 * usual), Risk: .05, Way: Way{AirC: logbook.Some(fit.m.ref.trip.AirC)}}
			if share > 0 {
				s.OutKm = logbook.Some(9 / share)
			}
			left := fit.Reach(s).RemainingWh
			return Quantile(left, .5), (Quantile(left, .95) - Quantile(left, .05)) / 2
		}
		dear, halfDear := ask(1.05)
		cheap, halfCheap := ask(.95)
		if dear <= cheap {
			t.Errorf("log %d: a dear way out leaves %.0f ± %.0f Wh, a cheap one %.0f ± %.0f", seed, dear, halfDear, cheap, halfCheap)
		}
		_, half := ask(0)
		unknown, known = unknown+half, known+max(halfDear, halfCheap)
		t.Logf("log %d: %.1f %.1f of %.1f", seed, halfDear, halfCheap, half)
	}
	if known > .9*unknown {
		t.Errorf("over all logs a way out leaves ± %.0f Wh, none ± %.0f", known, unknown)
	}
}

// More headwind, cold, rider or climb leaves less; more charge leaves more;
// a wider risk lets one go farther out.
func TestReachGoesTheRightWay(t *testing.T) {
	_, fit := fitSimulated(t, simulate.Rich, 5)
	some := logbook.Some
	volts := 3.8 * fit.m.series
	base := Standing{RestV: some(volts), RestedMin: some(60), OutKm: some(5), Risk: .05, Way: Way{AirC: some(15)}}
	ask := func(change func(*Standing)) *Reach {
		s := base
		change(&s)
		return fit.Reach(s)
	}
	mid := func(r *Reach) float64 { return Quantile(r.RemainingKm, .5) }
	at := fit.Reach(base)
	for name, worse := range map[string]*Reach{
		"wind": ask(func(s *Standing) { s.Way.HeadwindKmh = some(15) }), "cold": ask(func(s *Standing) { s.Way.AirC = some(-5) }), "rider": ask(func(s *Standing) { s.Way.RiderKg = some(120) }),
		"climb": ask(func(s *Standing) { s.ClimbM = 100 }), "lower": ask(func(s *Standing) { s.RestV = some(volts - .05*fit.m.series) }), "soft tyre": ask(func(s *Standing) { s.Way.TyreKpa = some(240) }),
	} {
		if name != "soft tyre" && mid(worse) >= mid(at) {
			t.Errorf("%s: %.2f km left, no less than %.2f", name, mid(worse), mid(at))
		}
	}
	fromHome := func(kmh float64) float64 {
		return ask(func(s *Standing) { s.OutKm, s.Way.HeadwindKmh = some(0), some(kmh) }).TurnBackKm
	}
	for _, kmh := range []float64{-25, -15, -8, 8, 15, 25} { // out and back any wind costs
		if windy, calm := fromHome(kmh), fromHome(0); windy > calm {
			t.Errorf("in %g km/h of wind one turns after %.2f km, in none after %.2f", kmh, windy, calm)
		}
	}
	takes := func(share float64) float64 { // of the usual, on the way out
		usual := Quantile(at.OutWhPerKm, .5)
		return 1 + Quantile(ask(func(s *Standing) { s.RestV, s.OutKm, s.UsedWh = logbook.Num{}, some(6), some(6*usual*share) }).DayPct, .5)/100
	}
	if dear := takes(2.2); dear < 1.9 {
		t.Errorf("a way out that took 2.2 times the usual leaves the day at %.2f times", dear)
	}
	if cheap := takes(.5); cheap < .6 {
		t.Errorf("a way out that took half of the usual leaves the day at %.2f times", cheap)
	}
	if bold := ask(func(s *Standing) { s.Risk = .3 }); bold.TurnBackKm < at.TurnBackKm {
		t.Errorf("at 30 %% risk one turns after %.2f km, at 5 %% after %.2f", bold.TurnBackKm, at.TurnBackKm)
	}
	if fresh := ask(func(s *Standing) { s.RestedMin = some(1) }); mid(fresh) <= mid(at) {
		t.Error("the same volts a minute after load mean more charge than after an hour")
	}
	home := Quantile(at.FarthestKm, .05)
	if at.TurnBackKm > 0 && math.Abs(home-at.TurnBackKm) > 1e-9 {
		t.Errorf("turn after %.3f km, but home is reached with 95 %% from %.3f", at.TurnBackKm, home)
	}
	if used := ask(func(s *Standing) { s.UsedWh = some(5000) }); Quantile(used.RemainingWh, .5) > 1 {
		t.Error("more used than the pack holds passes unnoticed")
	} else if !math.IsNaN(used.TurnBackV) {
		t.Errorf("nothing is left: turn at %.2f V", used.TurnBackV)
	}
}

// Readings that do not go together: the one that leaves least is taken.
func TestReadingsThatDisagree(t *testing.T) {
	_, fit := fitSimulated(t, simulate.Rich, 3)
	some := logbook.Some
	full := Quantile(fit.Go(Way{}).CapacityWh, .5)
	usedAh := some(.4 * Quantile(fit.Go(Way{}).CapacityAh, .5))
	usedWh := full - Quantile(fit.Reach(Standing{UsedAh: usedAh, Way: Way{AirC: some(25)}}).RemainingWh, .5)
	wh := func(used float64) Standing { return Standing{UsedWh: some(used), Risk: .05} }
	for name, c := range map[string]struct {
		ask, least Standing
		disagree   bool
	}{
		"Ah and Wh of one ride":  {Standing{UsedAh: usedAh, UsedWh: some(usedWh), Risk: .05}, Standing{}, false},
		"Ah and a tenth of Wh":   {Standing{UsedAh: usedAh, UsedWh: some(usedWh / 10), Risk: .05}, Standing{UsedAh: usedAh, Risk: .05}, true},
		"half empty, full volts": {Standing{RestV: some(fit.m.ref.fullV * fit.m.series), UsedWh: some(full / 2), Risk: .05}, wh(full / 2), true},
	} {
		r := fit.Reach(c.ask)
		if disagree := len(r.Apart) == 2; disagree != c.disagree {
			t.Errorf("%s: do not go together: %v, want %v", name, disagree, c.disagree)
		}
		if c.disagree && Quantile(r.RemainingWh, .5) != Quantile(fit.Reach(c.least).RemainingWh, .5) {
			t.Errorf("%s: %.0f Wh are left, want %.0f by the reading that leaves least", name, Quantile(r.RemainingWh, .5), Quantile(fit.Reach(c.least).RemainingWh, .5))
		}
	}
}

// After riding that nobody logged a ride's start is told roughly: it was not
// above full, and what the ride took was in the pack. No draw goes farther than
// a full pack can, or hardly as far as the ride went.
func TestExplainedRidesFitThePack(t *testing.T) {
	h, fit := fitSimulated(t, simulate.Messy, 2312)
	for _, id := range []string{"pack-ride-0041", "pack-ride-0152"} {
		k := slices.IndexFunc(h.Rides, func(r *logbook.Ride) bool { return r.ID == id })
		r := h.Rides[k]
		x, ok := fit.Explain(r)
		if !ok {
			t.Fatal("ride not explained", r.ID)
		}
		for i, km := range x.RideKm {
			if km < .4*r.DistanceKm.V || km > 2*x.ReferenceKm[i] {
				t.Fatalf("%s went %.1f km: a draw has %.1f km to the limit, where a full charge as new goes %.1f", r.ID, r.DistanceKm.V, km, x.ReferenceKm[i])
			}
		}
	}
}

// A ride that ended where it began climbed as much as it came down: which of
// the two figures holds an error does not matter.
func TestClosedWayHasOneClimb(t *testing.T) {
	log, err := simulate.Run(simulate.Preset(simulate.Rich, 3))
	if err != nil {
		t.Fatal(err)
	}
	var r *logbook.Ride
	for _, rec := range log.Records {
		if ride, ok := rec.(*logbook.Ride); ok && ride.Shape == "loop" && ride.ClimbM.OK && ride.DescentM.OK && ride.DistanceKm.OK {
			r = ride
		}
	}
	mean := func(climb, descent float64, shape string) float64 {
		r.ClimbM, r.DescentM, r.Shape = logbook.Some(climb), logbook.Some(descent), shape
		h, err := logbook.NewHistory("pack", log.Records, log.Truth.End)
		if err != nil {
			t.Fatal(err)
		}
		x, ok := FitHistory(h, nil).Explain(r)
		if !ok {
			t.Fatal("ride not explained")
		}
		sum := 0.0
		for i, km := range x.Km[causeClimb] {
			sum += km / x.ReferenceKm[i] / float64(len(x.Km[causeClimb]))
		}
		return 100 * sum
	}
	if a, b := mean(70, 60, "loop"), mean(60, 70, "loop"); math.Abs(a-b) > .05 {
		t.Errorf("70 m up and 60 down cost %.2f %% of the range, 60 up and 70 down %.2f", a, b)
	}
	if a, b := mean(70, 60, "one_way"), mean(60, 70, "one_way"); a > b-.5 {
		t.Errorf("one way, 70 m up and 60 down cost %.2f %% of the range, 60 up and 70 down %.2f", a, b)
	}
}
