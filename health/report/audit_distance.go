package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
)

// A distance can be off what its energy goes for two reasons: it was written
// down wrong, or the ride was unlike the others in a way that the record does
// not tell. Its other figures, which know nothing of energy, tell these apart.

const (
	// ownShare is how near a distance must come to what the odometer moved, or
	// to speed times time, to be borne out: those are read to a hundredth or
	// two. Common practice, no source.
	ownShare = .06
	mostLegs = 5 // rides between two odometer readings, for their distances add up errors

	// A rider who types miles for kilometres types mph for km/h too: beside a
	// speed that is so far from the usual one, speed times time bears nothing
	// out.
	ownSpeed = .3 // logarithm
)

// distance files what is wrong with a distance that the fit put aside; it files
// nothing where the ride's own figures bear it out.
func (a *audit) distance(r *logbook.Ride, m model.Misreading, f logbook.Field) {
	if a.told(r, m.Field) {
		return
	}
	own := a.ownKm(r)
	for _, km := range own {
		if math.Abs(math.Log(m.Figure/km)) < ownShare {
			return
		}
	}
	partner := a.partner(r, m.Field)
	if agree(m.Figure, partner) {
		return
	}
	name := func(k *slipKind) {
		a.add(r, m.Field, k.code, say(a.off(m, f), ": "+k.what), say("if so, ", k.mend(r, f, k.meant(a, m.Figure))))
	}
	for _, km := range own {
		if k := a.explain(m.Field, m.Figure, km, 1); k != nil && k.brings(a, m.Figure, km) < ownShare && k.brings(a, m.Figure, m.Expected) < math.Abs(math.Log(m.Figure/m.Expected)) {
			name(k)
			return
		}
	}
	unsaid, enough := a.unsaid(r, m)
	k := a.explain(m.Field, m.Figure, partner, nearSds)
	if k == nil {
		k = a.explain(m.Field, m.Figure, m.Expected, m.Surprise)
	}
	switch {
	case k != nil && (k.code == codeShifted || !enough && a.farLikelier(k, m)):
		name(k)
	case enough:
		why := ": nothing is logged of its " + unsaid + ", which may explain it"
		if k != nil {
			why += "; or " + k.what
		}
		a.add(r, m.Field, codeUnlike, say(a.off(m, f), why), say("add what you know of that; hold the distance against a map or the odometer before you change it"))
	default:
		a.add(r, m.Field, codeUnlike, a.off(m, f), say("look at your notes or the meter's picture of that day; where it cannot be put right, take it out: "+amend(r, m.Field, "")))
	}
}

// brings is how far (in its logarithm) from the expected one the figure is that
// the slip makes of figure.
func (k *slipKind) brings(a *audit, figure, expected float64) float64 {
	return math.Abs(math.Log(k.meant(a, figure) / expected))
}

// A factor of 1.6 is hardly more than an unusual ride may be off by: a slip of
// it is only named where the distance surprises by as much as puts a figure
// aside, and the distance meant lies well within what is expected.
const (
	sureSds = 4.
	wellSds = 1.5
)

// farLikelier reports whether a slip explains a distance far better than an
// unusual ride does.
func (a *audit) farLikelier(k *slipKind, m model.Misreading) bool {
	sd := math.Abs(math.Log(m.Figure/m.Expected)) / m.Surprise
	return m.Surprise > sureSds && k.brings(a, m.Figure, m.Expected) < max(wellSds*sd, ownShare)
}

// ownKm are the distances that the ride's other figures tell: its route, the
// odometer, and speed and time.
func (a *audit) ownKm(r *logbook.Ride) []float64 {
	var out []float64
	for _, km := range []float64{a.routeKm(r), a.movedKm(r), a.pacedKm(r)} {
		if km > 0 {
			out = append(out, km)
		}
	}
	return out
}

// pacedKm is speed times time; 0 where it is not known, or may be in miles as
// the distance may.
func (a *audit) pacedKm(r *logbook.Ride) float64 {
	if !(r.MovingSpeedKmh.V > 0) || !r.MovingMin.OK {
		return 0
	}
	var usual []float64
	for _, o := range a.h.Rides {
		if o.MovingSpeedKmh.V > 0 {
			usual = append(usual, o.MovingSpeedKmh.V)
		}
	}
	if math.Abs(math.Log(r.MovingSpeedKmh.V/middle(usual))) > ownSpeed {
		return 0
	}
	return r.MovingSpeedKmh.V * r.MovingMin.V / 60
}

// movedKm is how far the odometer moved in a ride: from the reading before it to
// the one after, without the rides between them; 0 where they do not tell.
func (a *audit) movedKm(r *logbook.Ride) float64 {
	legs := a.legsOf(a.h.RideBoard(r))
	read := func(l leg) bool { return l.ride.OdometerKm.OK && l.ride.OdometerKm.V == l.km }
	at := -1
	for i, l := range legs {
		if l.ride == r {
			at = i
		}
	}
	from, to := at-1, at
	for from >= 0 && !read(legs[from]) {
		from--
	}
	for to >= 0 && to < len(legs) && !read(legs[to]) {
		to++
	}
	if from < 0 || to >= len(legs) || to-from > mostLegs {
		return 0
	}
	km := legs[to].km - legs[from].km
	for i := from + 1; i <= to; i++ {
		switch o := legs[i].ride; {
		case o == r:
		case !o.DistanceKm.OK || a.aside.of(o, "distance_km"):
			return 0
		default:
			km -= o.DistanceKm.V
		}
	}
	return max(km, 0)
}

// legsOf are the rides on a board with its odometer.
func (a *audit) legsOf(board string) []leg {
	if a.legs == nil {
		a.legs = map[string][]leg{}
	}
	legs, ok := a.legs[board]
	if !ok {
		legs = (&duty{h: a.h}).legs(board)
		a.legs[board] = legs
	}
	return legs
}
