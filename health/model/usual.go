package model

import (
	"math"
	"slices"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

// What a rider and a board usually are where the log says nothing: from
// memory, with spreads wide enough to be true of most.
const (
	typicalRiderKg, typicalRiderSd = 82, 5 // the spread of one log's rides, not of riders
	typicalBoardKg                 = 15
	typicalSpeedMs, typicalSpeedSd = 5.5, .4 // likewise: where no speed is known, that of the log is the reference
	typicalWindMs                  = 3.5     // at 10 m height
	typicalIndoorC                 = 19
	steadySdMs                     = .6  // within a ride meant to be steady
	pressureSd                     = .12 // of ln p over its reference, unknown
)

// findUsual looks through the log for the conditions that are usual in it.
func (m *machine) findUsual() {
	m.dropOddTemperatures()
	u := &m.usual
	column := func() []float64 { return make([]float64, 0, len(m.events)) }
	rates, bench := column(), column()
	speed, within, stopped, pressure, rider, wind := column(), column(), column(), column(), column(), column()
	for i := range m.events {
		e := &m.events[i]
		if known(e.hours) && e.hours > 0 && known(e.ah) && e.kind == evRide {
			rates = append(rates, e.ah/e.hours/m.ratedAh)
			if e.bench {
				bench = append(bench, e.ah/e.hours)
			}
		}
		r, ok := e.record.(*logbook.Ride)
		if !ok {
			continue
		}
		if v := rideSpeedMs(r); known(v) {
			speed = append(speed, v)
		}
		if s := stoppedSPerM(r); known(s) {
			stopped = append(stopped, s)
		}
		if r.SpeedSdKmh.OK {
			within = append(within, r.SpeedSdKmh.V/law.KmhPerMs)
		}
		if ref := m.refTyre(r, e); plausiblePressure(r.TyreKpa, ref) {
			pressure = append(pressure, math.Log(r.TyreKpa.V/ref))
		}
		if r.RiderKg.OK {
			rider = append(rider, r.RiderKg.V)
		}
		if r.WindKmh.OK {
			wind = append(wind, r.WindKmh.V/law.KmhPerMs)
		}
	}
	u.seen.speed, u.seen.pressure, u.seen.rider, u.seen.wind = len(speed), len(pressure), len(rider), len(wind)
	u.speedMs, u.speedSd = usualOf(speed, m.h.Pack.RefSpeedKmh.Or(typicalSpeedMs*law.KmhPerMs)/law.KmhPerMs, typicalSpeedSd)
	u.speedSdMs = orNum(median(within), steadySdMs)
	u.stoppedSPerM = orNum(median(stopped), 0)
	u.logPressure, u.lpSd = usualOf(pressure, 0, pressureSd)
	u.riderKg, u.riderSd = usualOf(rider, m.h.Pack.RefRiderKg.Or(typicalRiderKg), typicalRiderSd)
	u.windMs = orNum(median(wind), 0)
	u.climbs = m.findClimbs()
	u.slips = m.oddities()
	if u.slips[oddSteep] {
		u.climbs.leaveOutOdd()
	}
	u.winds = windsOf(slices.DeleteFunc(wind, func(w float64) bool { return len(wind) >= leastAlike && u.slips[oddWindy] && u.oddWind(w) }))
	u.cRate = median(rates) // else fill finds it
	u.benchA = median(bench)
	days, airs := m.airs(true)
	m.season = fitSeason(days, airs, m.south) // the room where a pack is charged says nothing of the winter
}

// usualOf returns the median of the values and their spread, drawn towards
// the typical ones as three readings of those would.
func usualOf(v []float64, typical, typicalSd float64) (mid, sd float64) {
	if len(v) == 0 {
		return typical, typicalSd
	}
	mid = median(v)
	s := 0.0
	if len(v) > 2 {
		s = robustSd(v)
	}
	n := float64(len(v))
	return mid, math.Sqrt((n*s*s + 3*typicalSd*typicalSd*.25) / (n + 3))
}

func rideSpeedMs(r *logbook.Ride) float64 {
	switch {
	case r.MovingSpeedKmh.OK:
		return r.MovingSpeedKmh.V / law.KmhPerMs
	case r.DistanceKm.OK && r.MovingMin.OK && r.MovingMin.V > 0 && r.DistanceKm.V > 0:
		return r.DistanceKm.V * 1000 / (r.MovingMin.V * 60)
	}
	return math.NaN()
}

// boardAt returns the mass and reference pressure of a board as it was set up at a
// time; NaN where the log does not say.
func (m *machine) boardAt(id string, at time.Time) (massKg, refKpa float64) {
	b := m.h.BoardAt(id, at)
	return numOr(b.MassKg), numOr(b.RefTyreKpa)
}

func (m *machine) refTyre(r *logbook.Ride, e *event) float64 {
	_, ref := m.boardAt(m.h.RideBoard(r), r.At)
	return positive(ref)
}

// fill completes every event from the usual conditions and keeps what that
// leaves uncertain.
func (m *machine) fill() {
	m.shareSteps()
	perKm := m.roughWhPerKm()
	for i := range m.events {
		e := &m.events[i]
		m.fillTemperature(e)
		e.share = m.roughShare(e, perKm)
		if r, ok := e.record.(*logbook.Ride); ok && known(e.km) {
			m.fillTrip(e, r)
		}
	}
	if !known(m.usual.cRate) {
		m.usual.cRate = m.roughRate()
	}
	m.warming = m.chem.Warming(m.usual.cRate)
	for i := range m.events {
		m.events[i].course = m.warming.Over(m.events[i].share)
	}
	m.tire()
	m.findLeftOut(perKm)
	m.findLarge()
}

// roughRate is the usual current in full charges per hour where no meter tells
// it: by the shares of rides that took a known time.
func (m *machine) roughRate() float64 {
	var rates []float64
	for i := range m.events {
		e := &m.events[i]
		hours := e.hours
		if !known(hours) && known(e.km) {
			hours = e.km / (e.trip.SpeedMs * law.KmhPerMs)
		}
		if e.kind == evRide && hours > 0 {
			rates = append(rates, e.share/hours)
		}
	}
	return orNum(median(rates), .5)
}

// roughShare is the share of a full charge that a ride took, as far as its
// record tells without a fit.
func (m *machine) roughShare(e *event, whPerKm float64) float64 {
	if e.atLimit() {
		return 1
	}
	return min(max(orNum(m.shareTaken(e, whPerKm), .5), .02), 1)
}

// shareTaken is roughShare as far as a meter or the distance tells; NaN where neither
// does.
func (m *machine) shareTaken(e *event, whPerKm float64) float64 {
	whole := m.ratedAh * m.chem.NominalV * m.series
	switch {
	case known(e.ah):
		return e.ah / m.ratedAh
	case known(e.wh):
		return e.wh / whole
	}
	return e.km * whPerKm / whole
}

// indoorSd is how far a pack that stands indoors may be from typicalIndoorC.
const indoorSd = 5.0

func (m *machine) fillTemperature(e *event) {
	e.airSeen = known(e.airC)
	if known(e.packC) {
		if !known(e.airC) {
			e.airC, e.tempVar = m.season.at(e.startDay), 0
		}
		return
	}
	if !known(e.airC) {
		if e.onRoad() {
			e.airC, e.tempVar = m.season.at(e.startDay), m.season.sd*m.season.sd
		} else { // charged, checked or cycled indoors
			e.airC, e.tempVar = typicalIndoorC, indoorSd*indoorSd
		}
	}
	if !e.onRoad() {
		e.packC = e.airC
		e.tempVar += 9
	}
}

// mostTripVar bounds the variance of ln Wh/km by what was filled in: beyond a
// factor of e either way a ride says nothing, and readings out of all sense
// must not blow its scatter up.
const mostTripVar = 1.0

// fillTrip works out the ride as the road sees it. The sensitivities that
// turn a spread of a condition into one of ln Wh/km are round figures for a
// light board (drag a third to a half of the load): they only widen.
func (m *machine) fillTrip(e *event, r *logbook.Ride) {
	u := &m.usual
	r = m.believed(r)
	t := law.Trip{AirC: e.airC, SpeedMs: rideSpeedMs(r)}
	v := 0.0
	if !known(t.SpeedMs) {
		t.SpeedMs = u.speedMs
		v += square(.9 * u.speedSd / u.speedMs)
	}
	t.SpeedVarMs2 = square(r.SpeedSdKmh.Or(u.speedSdMs*law.KmhPerMs) / law.KmhPerMs)
	board, ref := m.boardAt(m.h.RideBoard(r), r.At)
	rider := numOr(r.RiderKg)
	if !known(rider) {
		rider = u.riderKg
		if r.Rider != "" {
			rider = m.massOf(r.Rider)
		}
		v += square(.6 * u.riderSd / (u.riderKg + typicalBoardKg))
	}
	t.MassKg = orNum(board, typicalBoardKg) + rider
	switch {
	case plausiblePressure(r.TyreKpa, ref):
		t.LogPressure = math.Log(r.TyreKpa.V / ref)
	case known(positive(ref)):
		t.LogPressure = u.logPressure
		v += square(.25 * u.lpSd)
	}
	metres := e.km * 1000
	v += m.fillWind(&t, r, metres)
	v += m.fillClimb(&t, r, metres)
	t.StoppedSPerM = orNum(stoppedSPerM(r), u.stoppedSPerM)
	if e.tempVar > 0 {
		v += square(.006) * e.tempVar
	}
	e.trip, e.lever = t, m.leverOf(t)
	e.tripVar = min(v*square(e.lever), mostTripVar)
}

// mostLever bounds leverOf; up to leastLever climbs and descents are read no better, and
// the scatter that the log shows has it. Common practice, no source.
const mostLever, leastLever = 8, 1.3

// leverOf is how much more, as a share, a change of the load on the level is of what a
// way takes that mostly goes down, where the hill does most of the work.
func (m *machine) leverOf(t law.Trip) float64 {
	if t.DescentPerM <= t.ClimbPerM {
		return 1
	}
	if m.roadBefore == nil {
		m.roadBefore = m.usualRoad()
	}
	level, road := t, m.roadBefore
	level.ClimbPerM, level.DescentPerM = 0, 0
	return min(max(road.WhPerKm(level)/road.WhPerKm(t)/leastLever, 1), mostLever)
}

// plausiblePressure reports whether a tyre pressure can be what it says: a
// board does not ride at half of its reference or at twice it, a figure in
// another unit lies beyond.
func plausiblePressure(kpa logbook.Num, ref float64) bool {
	return known(positive(ref)) && kpa.OK && kpa.V > .5*ref && kpa.V < 2*ref
}

// massOf is riderMass, worked out once for each rider.
func (m *machine) massOf(name string) float64 {
	kg, ok := m.usual.riders[name]
	if !ok {
		if kg = m.riderMass(name); m.usual.riders == nil {
			m.usual.riders = map[string]float64{}
		}
		m.usual.riders[name] = kg
	}
	return kg
}

// riderMass is the median of what a rider weighed in the log, else the usual.
func (m *machine) riderMass(name string) float64 {
	var kg []float64
	for i := range m.events {
		if r, ok := m.events[i].record.(*logbook.Ride); ok && r.Rider == name && r.RiderKg.OK {
			kg = append(kg, r.RiderKg.V)
		}
	}
	return orNum(median(kg), m.usual.riderKg)
}

// asTestsAreRidden is how unsteady a ride to the limit usually is, as the standard
// deviation of its speed in m/s, and how long it stands for each metre, s; else
// any ride.
func (m *machine) asTestsAreRidden() (speedSdMs, standsSPerM float64) {
	var unsteady, stopped []float64
	for _, r := range m.fullCycles() {
		if r.SpeedSdKmh.OK {
			unsteady = append(unsteady, r.SpeedSdKmh.V/law.KmhPerMs)
		}
		if s := stoppedSPerM(r); known(s) {
			stopped = append(stopped, s)
		}
	}
	return orNum(median(unsteady), m.usual.speedSdMs), orNum(median(stopped), m.usual.stoppedSPerM)
}

// fullRideRiderKg is the usual mass of who rode to the limit, else of anyone.
func (m *machine) fullRideRiderKg() float64 {
	var kg []float64
	for _, r := range m.fullCycles() {
		if r.RiderKg.OK {
			kg = append(kg, r.RiderKg.V)
		}
	}
	return orNum(median(kg), m.usual.riderKg)
}

// fullRideSpeedKmh is the usual speed of the rides that ended at the limit,
// else of all.
func (m *machine) fullRideSpeedKmh() float64 {
	var full []float64
	for _, r := range m.fullCycles() {
		if v := rideSpeedMs(r); known(v) {
			full = append(full, v)
		}
	}
	return orNum(median(full), m.usual.speedMs) * law.KmhPerMs
}
