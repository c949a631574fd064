package model

import (
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

// A condition that lies far from all others of the log is a slip of the pen, in
// another unit or with its point misplaced: the fit takes it as not known. It is
// the conditions that decide nothing by themselves; the figures that are fitted
// are put aside by what the rest makes of them.

// leastAlike is how many values of a condition tell what is odd.
const leastAlike = 3

// How far values may lie from the middle of the log's, as factors.
const (
	oddSpeed = 3.0
	oddKg    = 2.0 // pounds as kilograms make it 2.2
	oddWind  = 5.0
	oddClimb = 6.0
)

// Winds and climbs that are never odd: near nothing a factor means nothing.
const (
	plainWindMs    = 60 / law.KmhPerMs
	plainClimbPerM = .02
)

// How warm a pack may be, °C, and how far beyond nine tenths of the log's readings.
const (
	leastPackC, mostPackC = -15.0, 45.0
	beyondPackK           = 15.0
)

// oddAirK is how far the air may lie from the season's, K, at least, and oddAirSds
// in standard deviations of the days of the log.
const oddAirK, oddAirSds = 15.0, 4.0

// believed returns the ride without the conditions that are odd in this log: the
// ride itself where none is.
func (m *machine) believed(r *logbook.Ride) *logbook.Ride {
	u := &m.usual
	out := r
	drop := func(field func(r *logbook.Ride) *logbook.Num) {
		if out == r {
			c := *r
			out = &c
		}
		*field(out) = logbook.Num{}
	}
	if v := rideSpeedMs(r); u.seen.speed >= leastAlike && far(v, u.speedMs, oddSpeed) {
		drop(func(r *logbook.Ride) *logbook.Num { return &r.MovingSpeedKmh })
		drop(func(r *logbook.Ride) *logbook.Num { return &r.MovingMin })
	}
	if u.seen.rider >= leastAlike && r.RiderKg.OK && far(r.RiderKg.V, m.massOf(r.Rider), oddKg) {
		drop(func(r *logbook.Ride) *logbook.Num { return &r.RiderKg })
	}
	if u.seen.wind >= leastAlike {
		if most := max(plainWindMs, oddWind*u.windMs) * law.KmhPerMs; math.Abs(r.WindKmh.V) > most {
			drop(func(r *logbook.Ride) *logbook.Num { return &r.WindKmh })
		} else if math.Abs(r.HeadwindKmh.V) > most {
			drop(func(r *logbook.Ride) *logbook.Num { return &r.HeadwindKmh })
		}
	}
	if m.oddClimb(r) {
		drop(func(r *logbook.Ride) *logbook.Num { return &r.ClimbM })
		drop(func(r *logbook.Ride) *logbook.Num { return &r.DescentM })
	}
	return out
}

// far reports whether v lies more than a factor from mid.
func far(v, mid, factor float64) bool { return math.Abs(math.Log(v/mid)) > math.Log(factor) }

func (m *machine) oddClimb(r *logbook.Ride) bool {
	if !saysClimb(r) || !(r.DistanceKm.V > 0) {
		return false
	}
	c := &m.usual.climbs
	usual, seen := c.all, c.seen
	if on, ok := c.byRoute[r.Route]; ok && c.seenOn[r.Route] >= leastAlike {
		usual, seen = on, c.seenOn[r.Route]
	}
	perM := max(r.ClimbM.V, r.DescentM.V) / (1000 * r.DistanceKm.V)
	return seen >= leastAlike && perM > max(plainClimbPerM, oddClimb*usual)
}

// setSides puts the meters of charges on the side of the charger where they are.
func (m *machine) setSides() {
	other := logbook.OnOtherSide(m.h.Charges)
	for i := range m.events {
		if c, ok := m.events[i].record.(*logbook.Charge); ok && other[c] {
			m.events[i].ac = !m.events[i].ac
		}
	}
}

// dropOddTemperatures takes those of packs and air that no pack or day of this log
// has as not known.
func (m *machine) dropOddTemperatures() {
	var packs, days, airs []float64
	for i := range m.events {
		e := &m.events[i]
		if known(e.packC) {
			packs = append(packs, e.packC)
		}
		if known(e.airC) {
			days, airs = append(days, e.startDay), append(airs, e.airC)
		}
	}
	low, high := leastPackC, mostPackC
	if len(packs) >= leastAlike {
		low, high = min(low, Quantile(packs, .1)-beyondPackK), max(high, Quantile(packs, .9)+beyondPackK)
	}
	s := fitSeason(days, airs)
	off := make([]float64, len(airs))
	for i, d := range days {
		off[i] = airs[i] - s.at(d)
	}
	mid, most := 0.0, math.Inf(1)
	if len(airs) >= leastAlike {
		mid, most = median(off), max(oddAirK, oddAirSds*robustSd(off))
	}
	for i := range m.events {
		e := &m.events[i]
		if known(e.packC) && len(packs) >= leastAlike && (e.packC < low || e.packC > high) {
			e.packC = math.NaN()
		}
		if known(e.airC) && math.Abs(e.airC-s.at(e.startDay)-mid) > most {
			e.airC = math.NaN()
		}
	}
}
