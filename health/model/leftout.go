package model

import (
	"math"
	"slices"

	"packwane/health/logbook"
)

// leastLeftOut is from how many charges on that nobody logged a rider is taken to
// leave some out, and mostLogged how many of the times between two rides they must be.
// Common practice, no source.
const leastLeftOut, mostLogged = 3, .1

// chargeHours is how long a pack must stand for a charge that nobody logged to be as
// likely as not. Common practice, no source.
const chargeHours = 4.0

// frugal is what a kilometre takes at least, over the usual, where no meter says what it
// takes: a rider who goes far does not leave charges out. Common practice, no source.
const frugal = .5

// findLeftOut counts how often a pack must have been charged between two rides though
// the log, which holds charges, holds none there: after a ride to the limit, and where
// rides in a row took more than there is. Without it the rides between two logged
// charges are one discharge, and a rider who logs one charge in three goes three times
// as far with it.
func (m *machine) findLeftOut(whPerKm float64) {
	if !m.anyCharge || m.ratedSd > lnRecelledSd || !m.voltsKnown && m.series <= 1 {
		return
	}
	if !slices.ContainsFunc(m.events, func(e event) bool { return e.kind == evRide && known(m.roughAh(&e)) }) {
		whPerKm *= frugal
	}
	x, ridden := 0.0, false
	pairs, must := 0, 0
	for i := range m.events {
		e := &m.events[i]
		switch e.kind {
		case evCharge:
			took := m.roughAh(e) / m.ratedAh
			if x -= orNum(took, 1); e.full != logbook.No || x < 0 {
				x = 0
			}
			ridden = false
		case evRide:
			share := m.shareTaken(e, whPerKm)
			if ridden {
				pairs++
				if x+orNum(share, .1) > mostGone+.2 || x == 1 && share > .1 { // after the limit nobody rides far
					must++
					x = 0
				}
			}
			if x += orNum(share, .3); e.atLimit() {
				x = 1
			}
			x, ridden = math.Min(x, 1), true
		}
	}
	if must >= leastLeftOut && float64(must) > mostLogged*float64(pairs) {
		m.leftOut = (1 + float64(must)/float64(pairs)) / 2 // so many at least, and perhaps each time
	}
}

// mayBeCharged takes in that a pack which stood after a ride may have been charged
// though no charge is logged, where the log leaves some out.
func (p *pass) mayBeCharged(e *event, st *state) {
	if p.m.leftOut == 0 || st.charged || !st.any || e.gapDays <= 0 || known(e.startV) {
		return
	}
	chance := p.m.leftOut * (1 - math.Exp2(-24*e.gapDays/chargeHours))
	st.p += chance*(1-chance)*square(st.x) - chance*st.p
	st.x *= 1 - chance
}

// No ride or charge is more than a pack holds: by more than mostHeld, a share of the
// capacity, within heldSd. What is more than surelyWrong of it is a wrong figure. Common
// practice, no source.
const mostHeld, heldSd, surelyWrong = 1.02, .02, 1.5

// leastLarge is the share of the rating from which on a record is large enough to tell
// that. Common practice, no source.
const leastLarge = .55

// findLarge marks the records that may be more than the pack holds: none to the limit,
// for where that lies they say anyway.
func (m *machine) findLarge() {
	for i := range m.events {
		e := &m.events[i]
		share := m.roughAh(e) / m.ratedAh
		e.large = share > leastLarge && !e.atLimit()
	}
}

// seeHolds takes in that what flowed by one record is no more than the pack holds. Where
// several together are more, something was not logged between them.
func (p *pass) seeHolds(e *event, i int, u *unknowns, out []float64, cursor *int) {
	if !e.large {
		return
	}
	slope, over := [3]float64{}, 0.0
	if u.at[1] > mostHeld && u.at[1] < surelyWrong {
		slope[1], over = 1, mostHeld-u.at[1]
	}
	p.see(i, obHolds, u, over, slope, square(heldSd), out, cursor)
}
