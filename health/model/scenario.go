package model

import (
	"math"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

// scene is everything that decides how far one draw's pack goes: what the pack
// is at an age, how warm it is, what the road takes.
type scene struct {
	cell          *cellState
	curve         law.Aged
	capacity      float64 // Ah from full to empty
	mean, end     ohms    // of one group, at the pack's mean temperature and where the limit is met
	chill         chill
	full          float64 // charge level where a charge ends
	whPerKm       float64 // NaN on the bench
	uneven        float64 // law.Road.Unevenness
	ampere        float64
	limitV, fullV float64 // of a cell
	peak          float64
}

// still is what does not change between scenes of one draw at one age.
type still struct {
	capacity, ohm float64
	curve         law.Aged
}

func (c *cellState) still(m *machine, lnC, years, cycles float64) still {
	return still{math.Exp(lnC), c.groupOhm(lnC, years, cycles), c.curveAt(m, years, cycles)}
}

// sceneOn sets a pack on the road: consumption in Wh/km at a speed in m/s.
func (m *machine) sceneOn(c *cellState, s still, t heat, whPerKm, speedMs, limitV, fullV float64) scene {
	mean := c.ohmsAt(t.mean).times(s.ohm)
	return scene{
		cell: c, curve: s.curve, capacity: s.capacity, mean: mean, end: c.ohmsAt(t.end).times(s.ohm), chill: c.chillAt(t.end), full: m.fullSoc(c, fullV),
		whPerKm: whPerKm, ampere: c.amperes(m, whPerKm, speedMs, mean.long),
		limitV: limitV, fullV: fullV, peak: c.peak,
	}
}

// endAt is the deficit from full, a share of the capacity, at which the volts
// under load meet the limit.
func (s *scene) endAt() float64 {
	end := s.cell.curve.SocUnderLoad(s.limitV, s.end.drop(s.ampere, s.peak), s.cell.steepness)
	return max(s.chill.reach*(s.full-end), givesAtLeast)
}

// ah is what a share of the charge gives.
func (s *scene) ah(q float64) float64 { return q * s.capacity * s.chill.drawn }

// onward is what the pack gives from a deficit (share of the capacity, from
// full) to the limit; nothing where the deficit lies beyond it.
func (s *scene) onward(m *machine, deficit float64) (ah, wh, km float64) {
	q := s.endAt() - deficit
	if q <= 0 {
		return 0, 0, 0
	}
	ah = s.ah(q)
	wh = ah * s.loadV(m, deficit, q) * m.series
	return ah, wh, wh / s.whPerKm
}

// loadV is the mean volts of a cell under load while the share q flows.
func (s *scene) loadV(m *machine, deficit, q float64) float64 {
	a, b := s.full-deficit, s.full-deficit-q
	c := s.cell
	volts := c.curve.MeanV(a, b) - float64(s.ampere*(s.mean.long+float64(s.mean.pulse*s.uneven))*law.MeanLowCharge(max(a, 0), max(b, 0), c.steepness))
	return max(volts, .3*m.chem.NominalV)
}

// after returns the deficit once wh have been taken from a deficit on.
func (s *scene) after(m *machine, deficit, wh float64) float64 {
	q := wh / (m.chem.NominalV * m.series * s.ah(1))
	for range 4 { // the mean volts hardly depend on q
		q = wh / (s.loadV(m, deficit, q) * m.series * s.ah(1))
	}
	return deficit + q
}

// Way is how a full cycle is ridden; what is absent is as at reference
// conditions. The pack is as warm as the air where only one of them is given.
type Way struct {
	At                  time.Time // zero: the fit's as-of; not before it
	SetUpAt             time.Time // the board as it was set up then; zero: as at At
	PackC, AirC         logbook.Num
	SpeedKmh            logbook.Num
	SpeedSdKmh          logbook.Num // within the ride
	StopsSPerKm         logbook.Num // standing
	RiderKg             logbook.Num // with gear
	TyreKpa             logbook.Num // 0 is not a pressure
	HeadwindKmh         logbook.Num // along the way, + against
	ClimbMPerKm         logbook.Num
	DescentMPerKm       logbook.Num
	Board, Route, Rider string
	Warmed              bool // the pack is warmer than the air by what riding makes
	casual              bool // ridden as rides are, not as tests are
}

// Going is what a full cycle gives under way: draws aligned with those of the
// fit.
type Going struct{ CapacityAh, CapacityWh, RangeKm, WhPerKm Draws }

// Go returns draws of one full cycle ridden that way, on average: without the
// scatter of single rides.
func (fit *Fit) Go(w Way) Going {
	n := len(fit.draws)
	g := Going{make(Draws, n), make(Draws, n), make(Draws, n), make(Draws, n)}
	trip := fit.tripOf(w)
	for i := range fit.draws {
		d := &fit.draws[i]
		s := fit.sceneOf(d, w, &trip)
		g.CapacityAh[i], g.CapacityWh[i], g.RangeKm[i] = s.onward(fit.m, 0)
		g.WhPerKm[i] = s.whPerKm
	}
	return g
}

// setUp is when the board is set up as it is ridden.
func (w Way) setUp(fit *Fit) time.Time {
	if w.SetUpAt.IsZero() {
		return w.at(fit)
	}
	return w.SetUpAt
}

// at is when the way is ridden: now at the earliest.
func (w Way) at(fit *Fit) time.Time {
	if w.At.Before(fit.m.h.AsOf) {
		return fit.m.h.AsOf
	}
	return w.At
}

// TakesPressure reports whether a tyre pressure of the way tells anything: the
// board's reference pressure must be known, which it is held against.
func (fit *Fit) TakesPressure(w Way) bool {
	board := w.Board
	if board == "" {
		board = fit.m.refBoard()
	}
	_, ref := fit.m.boardAt(board, w.setUp(fit))
	return known(positive(ref))
}

// tripOf is the reference trip with what the way says instead.
func (fit *Fit) tripOf(w Way) law.Trip {
	m := fit.m
	t := m.ref.trip
	board := w.Board
	if board == "" {
		board = m.refBoard()
	}
	own, _ := m.boardAt(m.refBoard(), m.h.AsOf)
	mass, ref := m.boardAt(board, w.setUp(fit))
	rider := t.MassKg - orNum(own, typicalBoardKg)
	t.MassKg = orNum(mass, typicalBoardKg) + w.RiderKg.Or(rider)
	switch {
	case w.AirC.OK:
		t.AirC = w.AirC.V
	case w.PackC.OK:
		t.AirC = w.PackC.V
	}
	if w.SpeedKmh.OK && w.SpeedKmh.V > 0 {
		v := w.SpeedKmh.V / law.KmhPerMs
		t.SpeedVarMs2 *= square(v / t.SpeedMs) // as unsteady, for its speed
		t.SpeedMs = v
	}
	if w.SpeedSdKmh.OK {
		t.SpeedVarMs2 = square(w.SpeedSdKmh.V / law.KmhPerMs)
	}
	t.StoppedSPerM = w.StopsSPerKm.Or(1000*t.StoppedSPerM) / 1000
	if w.TyreKpa.OK && w.TyreKpa.V > 0 && known(positive(ref)) {
		// However soft: it is asked for, not read off a gauge in some unit.
		t.LogPressure = math.Log(w.TyreKpa.V / ref)
	}
	t.HeadwindMs, t.Met = w.HeadwindKmh.Or(0)/law.KmhPerMs, true
	t.ClimbPerM, t.DescentPerM = w.ClimbMPerKm.Or(0)/1000, w.DescentMPerKm.Or(0)/1000
	return t
}

// wayEffect is ln of the factor of the way's route, its rider, its board and how it
// is ridden on consumption.
func (fit *Fit) wayEffect(c *cellState, w Way) float64 {
	sum := 0.0
	for _, e := range fit.m.ref.effects {
		kind := fit.m.groupKind[e.group]
		if kind == groupRoute && w.Route != "" || kind == groupRider && w.Rider != "" || (kind == groupBoard || kind == groupTyres) && w.Board != "" {
			continue
		}
		sum += float64(e.w * c.groups[e.group])
	}
	for _, named := range []struct {
		kind groupKind
		name string
	}{{groupRoute, w.Route}, {groupRider, w.Rider}} {
		if g := fit.m.knownGroup(named.kind, named.name); g >= 0 && named.name != "" {
			sum += c.groups[g]
		}
	}
	if w.Board != "" {
		for kind, name := range fit.m.gear.on(fit.m.h, w.Board, w.setUp(fit)) {
			if g := fit.m.knownGroup(kind, name); g >= 0 {
				sum += c.groups[g]
			}
		}
	}
	if g := fit.m.knownGroup(groupCasual, casualName); w.casual && g >= 0 {
		sum += c.groups[g]
	}
	return sum
}

// sceneOf sets one draw on the way.
func (fit *Fit) sceneOf(d *draw, w Way, trip *law.Trip) scene {
	m, c := fit.m, &d.cell
	a := fit.ageAt(d, dayOf(w.at(fit)))
	s := c.still(fit.m, fit.lnCAhead(d, a), a.years, a.cycles)
	t := even(m.ref.packC)
	switch {
	case w.PackC.OK && w.AirC.OK && w.Warmed:
		t = c.heatOnWhole(w.AirC.V).at(w.PackC.V)
	case w.PackC.OK:
		t = even(w.PackC.V)
	case w.AirC.OK && w.Warmed:
		t = c.heatOnWhole(w.AirC.V)
	case w.AirC.OK:
		t = even(w.AirC.V)
	}
	whPerKm := c.road.WhPerKm(*trip) * math.Exp(fit.wayEffect(c, w))
	on := m.sceneOn(c, s, t, whPerKm, trip.SpeedMs, m.ref.limitV, m.ref.fullV)
	on.uneven = c.road.Unevenness(*trip)
	if m.ref.bench { // no road: as the bench discharged it
		on.ampere, on.peak, on.uneven = m.ref.ampere, 1, 0
	}
	return on
}

// ReferenceRiderKg is the rider's part of the mass at reference conditions.
func (fit *Fit) ReferenceRiderKg() float64 {
	board, _ := fit.m.boardAt(fit.m.h.Pack.Board, fit.m.h.AsOf)
	return fit.m.ref.trip.MassKg - orNum(board, typicalBoardKg)
}
