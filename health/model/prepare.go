package model

import (
	"cmp"
	"math"
	"slices"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

// machine holds everything about one history that stays the same from pass to
// pass.
type machine struct {
	h          *logbook.History
	chem       law.Chemistry
	meanCurve  *law.Curve
	series     float64
	parallel   float64
	ratedAh    float64 // of the pack, or what stands in for it
	ratedSd    float64 // how far ln of the whole capacity may lie from that
	voltsKnown bool    // false where the number of series groups is unknown

	born         time.Time // in service, or cells replaced, or the first record
	bornKnown    bool
	before       float64 // equivalent full cycles before the log begins
	asNewAh      float64 // NaN where not measured
	recelled     bool    // its cells were replaced
	events       []event
	params       []param
	knots        []float64 // ages of the knots, in nominal units of age
	held         float64   // times the weak prior of the knots
	groupNames   []string
	groupKind    []groupKind
	gear         gear
	legs         []reading        // of one ride each, on which nothing else was ridden
	written      map[string]param // priors of what distances are rounded by
	season       season
	south        float64      // ln odds that the rider lives south of the equator, by the clock
	oddTemps     []Oddity     // that are taken as not known
	stepFrom     int          // the event from which on the capacity is changed at once; -1 where it never was
	roadBefore   *law.Road    // the road load of the prior, once it was asked for
	warming      *law.Warming // by riding at the usual current
	usual        usual
	ref          reference
	lastDay      float64 // of the log
	midDay       float64
	nowDay       float64 // as-of
	chargerSince float64 // the day from which on another charger is used; +Inf where none shows
	chargerStep  float64 // ln of how much more it then takes
	storedFrom   float64 // the day on which it was put away
	storedUntil  float64 // the day until which it is put away; 0 where it is not
	anyCharge    bool
	anyAh        bool    // some record counts charge
	bothRides    int     // with Ah and Wh
	bothCharges  int     // likewise
	leftOut      float64 // share of the times between two rides at which a charge was not logged, where that is the rider's way
	anyOdometer  bool    // two readings or more
	anyHold      bool
	anyPart      bool // a charge is said not to have finished
	anyFull      bool // or to have
	scale        scales
}

type groupKind uint8

const (
	groupMeter groupKind = iota
	groupDrift           // of the meter before it in the list, a year
	groupRoute
	groupRider
	groupBoard // another than the most ridden
	groupTyres // others than a board has mostly
	groupSession
	groupCasual // rides that were no test: not to the limit; one of the name casualName
	groupMethod
	groupWritten // what a distance is rounded by that is written again and again
)

// usual is what the log shows of conditions, to fill in what was not recorded.
type usual struct {
	speedMs, speedSd  float64 // of the rides means
	speedSdMs         float64 // within one ride
	stoppedSPerM      float64 // at stops, for each metre ridden
	logPressure, lpSd float64
	riderKg, riderSd  float64
	riders            map[string]float64 // mass of each rider that a ride names without one, kg
	winds             winds
	windMs            float64 // the middle of the readings
	climbs            climbs
	cRate             float64        // of the rides with a duration, per hour
	benchA            float64        // median current of bench discharges, A; NaN where none
	slips             [oddKinds]bool // where that is odd in a ride, it is a slip of the pen
	seen              struct{ speed, pressure, rider, wind int }
}

// scales are the noises that are estimated beside the parameters.
type scales struct {
	consumption float64 // of ln Wh/km of one ride
	limit       float64 // of the capacity that one full ride shows, share
	meter       float64 // of a meter on one day, share
}

var priorScales = scales{consumption: .03, limit: .008, meter: .004}

// prepare orders one history into events. It never fails: what is missing is
// replaced by its prior and marked.
func prepare(h *logbook.History) *machine {
	m := &machine{h: h, scale: priorScales, stepFrom: -1, held: 1}
	p := h.Pack
	m.chem, _ = law.ChemistryNamed(p.Chemistry)
	m.meanCurve = m.chem.MeanCurve()
	m.series, m.parallel = p.Series.Or(1), p.Parallel.Or(1)
	m.voltsKnown = p.Series.OK
	m.nowDay = dayOf(h.AsOf)
	m.asNewAh = numOr(p.AsnewAh)
	m.before = p.CyclesBefore.Or(0)
	m.born, m.bornKnown = p.InService, !p.InService.IsZero()
	for _, s := range h.Services {
		if s.What == "cells_replaced" && s.Pack == p.ID {
			m.born, m.bornKnown, m.before, m.asNewAh, m.recelled = s.At, true, 0, math.NaN(), true
		}
	}
	m.collect()
	m.guessSeries()
	m.setRated()
	m.south = southern(h)
	m.dropReckonedEnergy()
	m.countBoth()
	m.findUsual()
	m.fill()
	m.findCharger()
	m.groupUp()
	m.placeKnots()
	m.setReference()
	m.findStorage()
	for i := range m.events {
		m.events[i].feels = m.events[i].whatFeels()
	}
	return m
}

// findStorage notes until when the pack is put away, as far as it was not ridden since.
func (m *machine) findStorage() {
	for _, s := range m.h.Services {
		if s.What == "storage" && s.Pack == m.h.Pack.ID && !s.Until.IsZero() && dayOf(s.At) > m.lastRideDay()-1 {
			m.storedFrom, m.storedUntil = dayOf(s.At), dayOf(s.Until)
		}
	}
}

// lastRideDay is the day of the last ride; -Inf where there is none.
func (m *machine) lastRideDay() float64 {
	last := math.Inf(-1)
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide {
			last = max(last, e.startDay)
		}
	}
	return last
}

// guessSeries takes for the number of series groups, where the log does not give
// it, the volts of the deepest rides, Wh over Ah, in nominal volts of a cell: no
// whole number, so that it goes with the meters. Single voltages stay unused.
func (m *machine) guessSeries() {
	if m.voltsKnown {
		return
	}
	const deep = .7 // of the most that a ride took
	most := 0.0
	both := func(e *event) bool { return e.kind == evRide && e.ah > 0 && e.wh > 0 }
	for i := range m.events {
		if e := &m.events[i]; both(e) {
			most = max(most, e.ah)
		}
	}
	var volts []float64
	for i := range m.events {
		if e := &m.events[i]; both(e) && e.ah >= deep*most {
			volts = append(volts, e.wh/e.ah)
		}
	}
	if v := median(volts); known(v) {
		m.series = max(v/m.chem.NominalV, 1)
	}
}

// collect makes one event of each ride, charge and check of this life, in the
// order of their ends.
func (m *machine) collect() {
	alive := func(t time.Time) bool { return !m.bornKnown || !t.Before(m.born) || m.h.Pack.InService.Equal(m.born) }
	m.events = make([]event, 0, len(m.h.Rides)+len(m.h.Charges)+len(m.h.Checks))
	for _, r := range inOrderOfEnds(m.h) {
		if !alive(logbook.AtOf(r)) {
			continue
		}
		switch r := r.(type) {
		case *logbook.Ride:
			m.events = append(m.events, m.rideEvent(r))
		case *logbook.Charge:
			m.anyCharge = true
			m.anyHold = m.anyHold || r.HoldMin.OK
			m.anyPart, m.anyFull = m.anyPart || r.Full == logbook.No, m.anyFull || r.Full == logbook.Yes
			m.events = append(m.events, m.chargeEvent(r))
		case *logbook.Check:
			m.events = append(m.events, m.checkEvent(r))
		}
	}
	if len(m.events) > 0 {
		m.lastDay = m.events[len(m.events)-1].endDay
		if !m.bornKnown {
			m.born = timeOfDay(m.events[0].startDay)
		}
	} else {
		m.lastDay = m.nowDay
		if !m.bornKnown {
			m.born = m.h.AsOf
		}
	}
	for i := range m.events {
		e := &m.events[i]
		e.years = max(e.startDay-dayOf(m.born), 0) / yearDays
		if i > 0 {
			e.gapDays = max(e.startDay-m.events[i-1].endDay, 0)
		}
	}
	if len(m.events) > 0 {
		m.midDay = (m.events[0].endDay + m.lastDay) / 2
	}
	m.setSides()
	m.setLimits()
	m.unlogged()
	m.markBalanced()
}

// inOrderOfEnds lists the rides, charges and checks by their ends; of those
// that end together rides come first, then charges.
func inOrderOfEnds(h *logbook.History) []logbook.Record {
	type ending struct {
		day  float64
		kind eventKind
		r    logbook.Record
	}
	all := make([]ending, 0, len(h.Rides)+len(h.Charges)+len(h.Checks))
	for _, r := range h.Rides {
		all = append(all, ending{dayOf(logbook.EndOf(r)), evRide, r})
	}
	for _, c := range h.Charges {
		all = append(all, ending{dayOf(c.At), evCharge, c})
	}
	for _, c := range h.Checks {
		all = append(all, ending{dayOf(c.At), evCheck, c})
	}
	slices.SortStableFunc(all, func(a, b ending) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.kind, b.kind), cmp.Compare(logbook.HeadOf(a.r).ID, logbook.HeadOf(b.r).ID))
	})
	out := make([]logbook.Record, len(all))
	for i := range all {
		out[i] = all[i].r
	}
	return out
}

func newEvent(kind eventKind, r logbook.Record, start, end time.Time) event {
	nan := math.NaN()
	return event{kind: kind, record: r, id: logbook.HeadOf(r).ID, startDay: dayOf(start), endDay: dayOf(end), packC: nan, airC: nan, km: nan, hours: nan,
		holdMin: nan, startV: nan, endV: nan, restMin: nan, ah: nan, wh: nan, grossAh: nan, ohm: nan, soc: nan, meter: -1, method: -1}
}

func (m *machine) perCell(v logbook.Num) float64 {
	if !v.OK || !m.voltsKnown {
		return math.NaN()
	}
	return v.V / m.series
}

func (m *machine) rideEvent(r *logbook.Ride) event {
	e := newEvent(evRide, r, r.At, logbook.EndOf(r))
	e.packC, e.airC = numOr(r.PackC), numOr(r.AmbientC)
	e.km, e.stop = positive(numOr(r.DistanceKm)), r.Stop
	e.bench = !r.DistanceKm.OK && !r.MovingSpeedKmh.OK && !r.MovingMin.OK && !r.OdometerKm.OK && r.Board == ""
	switch {
	case r.MovingMin.OK && r.MovingMin.V > 0:
		e.hours = r.MovingMin.V / 60
	case r.MovingSpeedKmh.OK && known(e.km):
		e.hours, e.hoursByKm = e.km/r.MovingSpeedKmh.V, true
	case !r.End.IsZero() && r.End.After(r.At):
		e.hours = r.End.Sub(r.At).Hours()
	}
	e.startV, e.endV, e.restMin, e.minV = m.readV(r.StartRestV), m.readV(r.EndRestV), numOr(r.EndRestMin), m.readV(r.MinV)
	e.grossAh = positive(numOr(r.DischargedAh))
	e.ah = positive(numOr(r.DischargedAh) - r.RegenAh.Or(0))
	e.wh = positive(numOr(r.DischargedWh) - r.RegenWh.Or(0))
	e.ahRound, e.whRound = step(r.DischargedAh), step(r.DischargedWh)
	e.roundKm = step(r.DistanceKm)
	e.nowhere = r.DistanceKm.OK && !known(e.km) && !known(e.ah) && !known(e.wh) && !known(e.endV) && !e.atLimit()
	e.voltVar = m.stepVar(r.StartRestV, r.EndRestV)
	e.meterVar = meterVar(r.ErrorPct)
	return e
}

func (m *machine) chargeEvent(c *logbook.Charge) event {
	start := c.Start
	if start.IsZero() {
		start = c.At
	}
	e := newEvent(evCharge, c, start, c.At)
	e.packC, e.airC = numOr(c.PackC), numOr(c.AmbientC)
	e.full, e.holdMin, e.ac = c.Full, numOr(c.HoldMin), c.MeterSide == "ac"
	e.startV, e.endV, e.restMin = m.readV(c.StartRestV), m.readV(c.EndRestV), numOr(c.EndRestMin)
	e.ah, e.wh = positive(numOr(c.ChargedAh)), positive(numOr(c.ChargedWh))
	e.ahRound, e.whRound = step(c.ChargedAh), step(c.ChargedWh)
	e.voltVar = m.stepVar(c.StartRestV, c.EndRestV)
	e.meterVar = meterVar(c.ErrorPct)
	if !c.Start.IsZero() {
		e.hours = c.At.Sub(c.Start).Hours()
	}
	return e
}

// meterVar returns the variance of the logarithm of a meter's figure on one
// day; 0 stands for "not stated".
func meterVar(errorPct logbook.Num) float64 {
	if !errorPct.OK {
		return 0
	}
	e := errorPct.V / 100 // taken as a standard uncertainty
	return e*e + 1e-6
}

// setLimits gives each event the limits that held for it.
func (m *machine) setLimits() {
	for i := range m.events {
		e := &m.events[i]
		e.limitV, e.cutoffV, e.fullV = m.limitsAt(timeOfDay(e.startDay))
		if e.kind == evCharge && e.full == logbook.Absent && known(e.endV) && e.endV < e.fullV-m.chem.ShortOfFullV() {
			e.full = logbook.No // nobody says so, but it rests like a charge that ended on the way
		}
	}
}

// limitsAt returns the volts of a cell at which riding must stop, protection opens
// and charging ends, as the pack was set up at a time; by the chemistry what that
// does not say.
func (m *machine) limitsAt(t time.Time) (limit, cutoff, full float64) {
	return m.limitsOf(m.h.PackAt(t))
}

func (m *machine) limitsOf(p logbook.Pack) (limit, cutoff, full float64) {
	limit, full = orNum(m.perCell(p.LimitV), m.chem.LimitV), orNum(numOr(p.CellFullV), m.chem.FullV)
	if limit < logbook.LeastLimitCellV && p.Series.OK {
		limit = m.chem.LimitV // nobody rides down to that
	}
	cutoff = orNum(m.perCell(p.CutoffV), min(m.chem.CutoffV, limit))
	return max(limit, cutoff), cutoff, full // below the cut-off nobody rides
}

func orNum(v, other float64) float64 {
	if known(v) {
		return v
	}
	return other
}

// markBalanced notes balancing services between events.
func (m *machine) markBalanced() {
	for _, s := range m.h.Services {
		if s.What != "balance" || s.Pack != m.h.Pack.ID {
			continue
		}
		day := dayOf(s.At)
		for i := range m.events {
			if m.events[i].endDay >= day {
				m.events[i].balanced = true
				break
			}
		}
	}
}
