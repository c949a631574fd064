package model

import (
	"math"
	"slices"
)

// lnRatedSd is how far the whole capacity of a new pack lies from its rating:
// common practice, no source (cells 2 to 4 %, packs of unknown make more).
const (
	lnRatedSd    = .06
	lnRecelledSd = .20 // a builder seldom takes the same cells again
)

// What stands in where nobody says what the cells are rated: a full cycle as
// measured new, a ride to the limit, the most that one record took up or gave, of
// which a pack holds somewhat to several times as much, or nothing at all. Common
// practice, no source.
const (
	lnAsNewSd   = .10
	lnEmptiedSd = .15
	partDrawn   = 1.5 // a pack over the most that is usually taken of it
	lnPartSd    = .45
	unratedAh   = 10.0
	lnUnratedSd = 1.0
)

// setRated finds what the pack is rated, or what may stand in for it, and how far
// the whole capacity may lie from that.
func (m *machine) setRated() {
	p := m.h.Pack
	m.anyAh = slices.ContainsFunc(m.events, func(e event) bool { return known(e.ah) })
	switch {
	case p.CellCapacityAh.OK:
		m.ratedAh, m.ratedSd = p.CellCapacityAh.V*m.parallel, lnRatedSd
		if m.recelled { // nobody need have amended it
			m.ratedSd = lnRecelledSd
		}
		return
	case known(m.asNewAh):
		m.ratedAh, m.ratedSd = m.asNewAh, lnAsNewSd
		return
	}
	emptied, sd := m.emptied()
	part := m.mostOf(func(e *event) bool { return !e.atLimit() })
	switch {
	case emptied > 0 && emptied > part/partDrawn && !(part > 0 && emptied > 4*part):
		m.ratedAh, m.ratedSd = max(emptied, part), sd
	case part > 0:
		m.ratedAh, m.ratedSd = part*partDrawn, lnPartSd
	default:
		m.ratedAh, m.ratedSd = unratedAh, lnUnratedSd
	}
}

// roughAh is what a record took up or gave, Ah, without a fit: by its energy where it
// counts no charge; NaN where it tells neither, or where the number of groups is unknown
// beside records that count charge.
func (m *machine) roughAh(e *event) float64 {
	if known(e.ah) || !m.voltsKnown && m.series <= 1 && m.anyAh {
		return e.ah
	}
	ah := e.wh / (m.chem.NominalV * m.series)
	if e.ac {
		ah *= usualWall
	}
	return ah
}

// emptied is what brought the pack from full to the limit, Ah, on the median of such
// rides: each with those before it since the last charge. They may have begun with less
// where they differ much. 0 where no ride tells.
func (m *machine) emptied() (ah, sd float64) {
	var all, lns []float64
	sum := 0.0
	for i := range m.events {
		e := &m.events[i]
		if e.kind == evCharge || !m.anyCharge {
			sum = 0
		}
		if e.kind != evRide {
			continue
		}
		sum += orNum(m.roughAh(e), 0)
		if e.atLimit() {
			if sum > 0 {
				all, lns = append(all, sum), append(lns, math.Log(sum))
			}
			sum = 0
		}
	}
	if len(all) == 0 {
		return 0, lnPartSd
	}
	if len(lns) > 2 && robustSd(lns) > lnEmptiedSd {
		return median(all), lnPartSd
	}
	return median(all), lnEmptiedSd
}

// mostOf is the most that one of those events took up or gave, Ah. One that stands
// alone above the others by half is taken for a slip.
func (m *machine) mostOf(those func(*event) bool) float64 {
	var all []float64
	for i := range m.events {
		if e := &m.events[i]; those(e) {
			if ah := m.roughAh(e); known(ah) {
				all = append(all, ah)
			}
		}
	}
	slices.Sort(all)
	n := len(all)
	switch {
	case n == 0:
		return 0
	case n > 2 && all[n-1] > 1.5*all[n-2]:
		return all[n-2]
	}
	return all[n-1]
}

// lnLoose is how loosely the knots of the fit are held to the rating, as a
// standard deviation of ln C.
func (m *machine) lnLoose() float64 { return max(knotSd, 1.5*m.ratedSd) }
