package model

import (
	"math"
	"slices"

	"packwane/health/law"
)

// pinned are the sums that the records pin down: the load of the rides that
// the log holds and the drop that trips the limit. Along the directions that the records
// leave open, sums of exponentials of the drawn numbers bend upwards; the draws
// are put back to where the straight line has them.
type pinned struct {
	fit          *Fit
	trips        []law.Trip // of the log, some of them
	load, drop   float64
	gLoad, gDrop []float64
}

func (fit *Fit) newPinned() *pinned {
	l := &pinned{fit: fit, trips: fit.m.someTrips()}
	var c cellState
	z := slices.Clone(fit.z)
	fit.m.decode(z, &c)
	l.load, l.drop = l.at(&c)
	l.gLoad, l.gDrop = make([]float64, numScalars), make([]float64, numScalars)
	const h = 1e-4
	for i := range numScalars {
		z[i] += h
		fit.m.decode(z, &c)
		load, drop := l.at(&c)
		l.gLoad[i], l.gDrop[i] = (load-l.load)/h, (drop-l.drop)/h
		z[i] = fit.z[i]
	}
	return l
}

// mostTrips is how many rides stand for those of the log.
const mostTrips = 12

// someTrips are trips spread over the log, or the usual one where no ride has a
// distance.
func (m *machine) someTrips() []law.Trip {
	all := 0
	has := func(e *event) bool { return e.kind == evRide && known(e.km) }
	for i := range m.events {
		if has(&m.events[i]) {
			all++
		}
	}
	if all == 0 {
		return []law.Trip{m.usualTrip()}
	}
	n := min(all, mostTrips)
	some := make([]law.Trip, 0, n)
	at := 0 // how many rides with a distance came before
	for i := range m.events {
		if e := &m.events[i]; has(e) {
			if k := len(some); k < n && at == (2*k+1)*all/(2*n) {
				some = append(some, e.trip)
			}
			at++
		}
	}
	return some
}

// at is the logarithm of the load, on average over the trips, and of the drop.
func (l *pinned) at(c *cellState) (load, drop float64) {
	for _, t := range l.trips {
		load += math.Log(c.road.WhPerKm(t))
	}
	return load / float64(len(l.trips)), math.Log(c.sustained + max(c.peak-1, .05-c.sustained))
}

func (l *pinned) straighten(z []float64, c *cellState) {
	load, drop := l.load, l.drop
	for i := range numScalars {
		load += l.gLoad[i] * (z[i] - l.fit.z[i])
		drop += l.gDrop[i] * (z[i] - l.fit.z[i])
	}
	loadIs, dropIs := l.at(c)
	f := math.Exp(load - loadIs)
	c.road.Rolling *= f
	c.road.DragAreaM2 *= f
	c.road.StandingW *= f
	g := math.Exp(drop - dropIs)
	c.peak = g*(c.sustained+c.peak-1) + 1 - c.sustained
}
