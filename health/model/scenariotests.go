package model

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

	"packwane/health/logbook"
)

// seeded returns chances that depend on the words alone.
func seeded(words ...string) *rand.Rand {
	h := fnv.New64a()
	for _, w := range words {
		h.Write([]byte(w))
		h.Write([]byte{0})
	}
	return rand.New(rand.NewPCG(h.Sum64(), stream))
}

// Apart returns draws in an order of the pack's own. The draws of every fit
// come in the order of the fade shapes; those of two packs that are held
// against each other index by index must not.
func (fit *Fit) Apart(d Draws) Draws {
	out := make(Draws, len(d))
	for i, k := range seeded(fit.m.h.Pack.ID, "apart").Perm(len(d)) {
		out[i] = d[k]
	}
	return out
}

// Outings is how a ride's scatter parts: what a day gives to every ride of one
// outing, and each ride's own, as shares of the variance. Common practice, no
// source: damp, air pressure and dirt are the day's, gusts and throttle are not.
const outingShare = .4

// mostTold bounds, as a logarithm, how far a ride may speak for another range
// than the model expects: beyond a factor of some 20 it is nonsense, and must
// not become an infinite one.
const mostTold = 3.0

// RideAs returns draws of the way that the board would go from full on average
// going that way, as this one ride tells: its distance times what the model
// expects there over what it expects of the ride, with the scatter of a single
// ride. Rides of one session share what the day gave to all of them, whatever
// their packs. False where the ride shows no distance or it was put aside.
// The order of the draws is that of Apart.
func (fit *Fit) RideAs(r *logbook.Ride, w Way) (Going, bool) {
	i := fit.eventOf(r)
	if i < 0 || fit.m.ref.bench || fit.m.events[i].bench {
		return Going{}, false
	}
	x := fit.explainer(i)
	if !x.noise.seen {
		return Going{}, false
	}
	x.session = nil // the day's share stays in the ride
	trip := fit.tripOf(w)
	n := len(fit.draws)
	g := Going{make(Draws, n), make(Draws, n), make(Draws, n), make(Draws, n)}
	wind := fit.sessionWind(r)
	for k := range fit.draws {
		d := &fit.draws[k]
		scene := fit.sceneOf(d, w, &trip)
		s := x.still(d)
		then := s.ohm / x.stillNow(d).ohm // the pack as it was on the ride
		scene.capacity, scene.curve, scene.mean, scene.end = s.capacity, s.curve, scene.mean.times(then), scene.end.times(then)
		ah, wh, km := scene.onward(fit.m, 0)
		g.CapacityAh[k], g.CapacityWh[k] = ah, wh
		moved := x.own
		for j := range x.doubts {
			z := x.rng.NormFloat64()
			if x.doubts[j].cause == causeWind && wind != nil {
				z = wind[k]
			}
			x.doubts[j].move(&moved, z)
		}
		told := x.surpriseIn(d, &moved, x.x0+x.xSd*x.rng.NormFloat64()) + math.Sqrt(x.noise.other)*x.rng.NormFloat64()
		g.RangeKm[k] = km * math.Exp(min(max(told, -mostTold), mostTold))
	}
	g.CapacityAh, g.CapacityWh, g.RangeKm = fit.Apart(g.CapacityAh), fit.Apart(g.CapacityWh), fit.Apart(g.RangeKm)
	day, own := x.scatter(r)
	for k := range n {
		g.RangeKm[k] *= math.Exp(day[k] + own[k])
		g.WhPerKm[k] = g.CapacityWh[k] / g.RangeKm[k]
	}
	return g, true
}

// sessionWind draws, in the order of the fit's own draws, how far the outing's
// wind was from its record: the same for all its rides. Nil for a ride alone.
func (fit *Fit) sessionWind(r *logbook.Ride) []float64 {
	if r.Session == "" {
		return nil
	}
	out := make([]float64, len(fit.draws))
	rng := seeded("session", r.Session, "wind")
	for _, k := range seeded(fit.m.h.Pack.ID, "apart").Perm(len(out)) {
		out[k] = rng.NormFloat64()
	}
	return out
}

// scatter draws what a day and one ride add to a distance.
func (x *explainer) scatter(r *logbook.Ride) (day, own Draws) {
	n := len(x.fit.draws)
	dayVar, ownVar := outingShare*x.noise.road, (1-outingShare)*x.noise.road+x.noise.limit
	for _, g := range x.fit.m.knownEffects(r) {
		if x.fit.m.groupKind[g] == groupSession { // the fit took the day out already
			dayVar, ownVar = square(sdSession), x.noise.road+x.noise.limit
		}
	}
	days := seeded("session", r.Session)
	if r.Session == "" {
		days = seeded("ride", x.fit.m.h.Pack.ID, r.ID, "day")
	}
	rides := seeded("ride", x.fit.m.h.Pack.ID, r.ID)
	day, own = make(Draws, n), make(Draws, n)
	for k := range n {
		day[k], own[k] = math.Sqrt(dayVar)*days.NormFloat64(), math.Sqrt(ownVar)*rides.NormFloat64()
	}
	return day, own
}

// stillNow is the draw's pack at the fit's as-of.
func (x *explainer) stillNow(d *draw) still {
	a := x.fit.ageAt(d, x.fit.m.nowDay)
	return d.cell.still(x.fit.m, x.fit.lnCAhead(d, a), a.years, a.cycles)
}

// Repeat is one range test of the log: how much farther it went than the model
// expects of it, as a logarithm, all known conditions taken off.
type Repeat struct {
	Ride *logbook.Ride
	Ln   float64
}

// Repeats lists the tests of the log: rides from full to the limit with a
// distance that was not put aside. How they scatter is how well a test can be
// repeated; the day's share is in them.
func (fit *Fit) Repeats() []Repeat {
	m := fit.m
	var out []Repeat
	for i := range m.events {
		e := &m.events[i]
		if e.kind != evRide || e.stop != "limit" || !known(e.km) || m.ref.bench || math.Abs(fit.f.p.carry[i].x0) > .03 || fit.f.p.rejected(i, obLimit) {
			continue
		}
		x := fit.explainer(i)
		if !x.noise.seen {
			continue
		}
		x.session = nil
		d := draw{cell: *fit.f.p.c}
		out = append(out, Repeat{x.r, x.surprise(&d, x.x0)})
	}
	return out
}

// PriorTestScatter is the standard deviation of the logarithm of one corrected
// test before any was ridden.
func PriorTestScatter() float64 { return math.Hypot(priorScales.consumption, priorScales.limit) }
