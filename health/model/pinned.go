package model

import (
	"math"
	"slices"

	"packwane/health/law"
)

// pinned are the sums that the records pin down: the load of the rides that
// the log holds, the drop that trips the limit, and what rides to the limit
// gave. Along the directions that the records leave open, sums of exponentials
// of the drawn numbers bend; the draws are put back to where the straight line
// has them.
type pinned struct {
	fit   *Fit
	trips []law.Trip // of the log, some of them
	ends  []*event   // rides to the limit, some of them; perhaps none

	mode     sums
	gradient []sums // by each parameter
}

// sums are logarithms: of the load and of what a ride to the limit gave, both
// on average, and of the drop.
type sums struct{ load, drop, given float64 }

func (fit *Fit) newPinned() *pinned {
	l := &pinned{fit: fit, trips: fit.m.someTrips(), ends: fit.someEnds()}
	var c cellState
	z := slices.Clone(fit.z)
	fit.m.decode(z, &c)
	l.mode = l.at(&c)
	l.gradient = make([]sums, len(z))
	const h = 1e-4
	for i := range z {
		z[i] += h
		fit.m.decode(z, &c)
		s := l.at(&c)
		l.gradient[i] = sums{(s.load - l.mode.load) / h, (s.drop - l.mode.drop) / h, (s.given - l.mode.given) / h}
		z[i] = fit.z[i]
	}
	return l
}

// How many rides stand for those of the log.
const mostTrips, mostEnds = 12, 6

// someTrips are trips spread over the log, or the usual one where no ride has a
// distance.
func (m *machine) someTrips() []law.Trip {
	var some []law.Trip
	for _, e := range m.some(mostTrips, func(_ int, e *event) bool { return known(e.km) }) {
		some = append(some, e.trip)
	}
	if some == nil {
		return []law.Trip{m.usualTrip()}
	}
	return some
}

// trips are all of them: of a way up in the morning and down in the evening a few
// spread over the log may be all one or the other.
func (m *machine) trips() []law.Trip {
	var all []law.Trip
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide && known(e.km) {
			all = append(all, e.trip)
		}
	}
	if all == nil {
		return []law.Trip{m.usualTrip()}
	}
	return all
}

// someEnds are rides to the limit spread over the log, none that a figure was
// put aside of.
func (fit *Fit) someEnds() []*event {
	aside := map[int]bool{}
	for k := range fit.f.p.reject {
		aside[int(k.event)] = true
	}
	return fit.m.some(mostEnds, func(i int, e *event) bool { return e.stop == "limit" && !aside[i] })
}

// some are rides of a kind spread over the log, most of them at most: one of each part of
// it, in no step that goes with the ways there and back (by the golden ratio).
func (m *machine) some(most int, kind func(i int, e *event) bool) []*event {
	all := 0
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide && kind(i, e) {
			all++
		}
	}
	n := min(all, most)
	some := make([]*event, 0, n)
	at := 0 // how many of the kind came before
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide && kind(i, e) {
			k := len(some)
			if _, within := math.Modf(float64(k+1) * math.Phi); k < n && at >= int((float64(k)+within)*float64(all)/float64(n)) {
				some = append(some, e)
			}
			at++
		}
	}
	return some
}

func (l *pinned) at(c *cellState) sums { return sums{l.load(c), l.drop(c), l.given(c)} }

func (l *pinned) load(c *cellState) (sum float64) {
	for _, t := range l.trips {
		sum += math.Log(c.road.WhPerKm(t)) / float64(len(l.trips))
	}
	return sum
}

func (l *pinned) drop(c *cellState) float64 {
	return math.Log(c.sustained + max(c.peak-1, .05-c.sustained))
}

func (l *pinned) given(c *cellState) (sum float64) {
	for _, e := range l.ends {
		t, lnC, load := c.heatOf(e), c.lnCapacity(e), 0.0
		if known(e.km) {
			load = c.lnLoad(e)
		}
		ampere := c.rideAmpere(l.fit.m, e, true, load, c.groupOhm(lnC, e.years, e.cycles)*c.ohmsAt(t.mean).long)
		peak := c.peak
		if e.bench {
			peak = 1
		}
		ah := c.toLimitAh(l.fit.m, lnC, e.years, e.cycles, t.end, ampere, peak, e.limitV, e.fullV)
		sum += math.Log(ah) / float64(len(l.ends))
	}
	return sum
}

// straighten puts a draw back; moved is what that adds to the logarithm of its
// capacities.
func (l *pinned) straighten(z []float64, c *cellState) (moved float64) {
	want := l.mode
	for i, g := range l.gradient {
		d := z[i] - l.fit.z[i]
		want.load += g.load * d
		want.drop += g.drop * d
		want.given += g.given * d
	}
	f := math.Exp(want.load - l.load(c))
	c.road.Rolling *= f
	c.road.DragAreaM2 *= f
	c.road.StandingW *= f
	c.sag(math.Exp(want.drop - l.drop(c)))
	if len(l.ends) == 0 {
		return 0
	}
	moved = min(max(want.given-l.given(c), -.1), .1)
	for k := range c.lnC {
		c.lnC[k] += moved
	}
	return moved
}

// sag multiplies the drop that trips the limit.
func (c *cellState) sag(f float64) { c.peak = f*(c.sustained+c.peak-1) + 1 - c.sustained }
