package model

import (
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

// How many factors of one kind the log may bring into the fit; rides of the
// rest share none.
const (
	mostRoutes   = 12
	mostRiders   = 8
	mostSessions = 80
	mostMeters   = 6
)

// groupUp gives each meter, route, rider and session a factor of its own, in
// order of first appearance, and appends them to the parameters later.
func (m *machine) groupUp() {
	count := map[groupKind]map[string]int{groupRoute: {}, groupRider: {}, groupSession: {}}
	tests := false
	for i := range m.events {
		if r, ok := m.events[i].record.(*logbook.Ride); ok && known(m.events[i].km) {
			count[groupRoute][r.Route]++
			count[groupRider][r.Rider]++
			count[groupSession][r.Session]++
			tests = tests || r.Stop == "limit"
		}
	}
	most := map[groupKind]int{groupMeter: mostMeters, groupRoute: mostRoutes, groupRider: mostRiders, groupSession: mostSessions, groupMethod: 1, groupCasual: 1}
	index := map[groupKind]map[string]int{groupMeter: {}, groupRoute: {}, groupRider: {}, groupSession: {}, groupMethod: {}, groupCasual: {}}
	get := func(kind groupKind, name string) int {
		if g, ok := index[kind][name]; ok {
			return g
		}
		if name == "" || len(index[kind]) >= most[kind] {
			return -1
		}
		g := len(m.groupNames)
		index[kind][name] = g
		m.groupNames, m.groupKind = append(m.groupNames, name), append(m.groupKind, kind)
		if kind == groupMeter { // its drift stands next to it
			m.groupNames, m.groupKind = append(m.groupNames, name), append(m.groupKind, groupDrift)
		}
		return g
	}
	for i := range m.events {
		e := &m.events[i]
		switch r := e.record.(type) {
		case *logbook.Ride:
			e.meter = m.meterGroup(r.Meter, get)
			if !known(e.km) {
				break
			}
			e.effects = appendGroup(e.effects, get(groupRoute, r.Route))
			if len(count[groupRider]) > 1 {
				e.effects = appendGroup(e.effects, get(groupRider, r.Rider))
			}
			if tests && r.Stop != "limit" {
				e.effects = appendGroup(e.effects, get(groupCasual, "casual"))
			}
			if count[groupSession][r.Session] > 1 {
				e.effects = appendGroup(e.effects, get(groupSession, r.Session))
			}
		case *logbook.Charge:
			e.meter = m.meterGroup(r.Meter, get)
			if e.ac && e.meter < 0 {
				e.meter = get(groupMeter, "\x00wall") // a wall figure is never the pack's own count
			}
		case *logbook.Check:
			if e.acMethod {
				e.method = get(groupMethod, "ac")
			}
		}
	}
}

func (m *machine) meterGroup(name string, get func(groupKind, string) int) int {
	if name == "" || name == logbook.DefaultMeter {
		return -1
	}
	return get(groupMeter, name)
}

func appendGroup(list []int, g int) []int {
	if g < 0 {
		return list
	}
	return append(list, g)
}

// groupPrior returns the prior of one factor's logarithm.
func groupPrior(kind groupKind, name string) param {
	switch kind {
	case groupMeter:
		return param{name: "meter " + name, mean: 0, sd: sdMeter, log: true}
	case groupDrift:
		return param{name: "drift " + name, mean: 0, sd: sdDrift, log: true}
	case groupRoute:
		return param{name: "route " + name, mean: 0, sd: sdRoute, log: true}
	case groupRider:
		return param{name: "rider " + name, mean: 0, sd: sdRider, log: true}
	case groupCasual:
		return param{name: name, mean: 0, sd: sdCasual, log: true}
	case groupSession:
		return param{name: "session " + name, mean: 0, sd: sdSession, log: true}
	}
	return param{name: "method " + name, mean: math.Log(.6), sd: .25, log: true} // 1 kHz over 10 s, from memory
}

// unlogged works out from the odometer what was ridden between the rides of
// the log. A ride whose own distance is not known stands for what it drew.
func (m *machine) unlogged() {
	others := map[string]bool{}
	for _, r := range m.h.OtherRides {
		others[r.Board] = true
	}
	perKm := m.roughWhPerKm()
	byBoard := map[string][]*logbook.Ride{}
	for _, r := range m.h.Rides {
		b := m.h.RideBoard(r)
		byBoard[b] = append(byBoard[b], r)
	}
	missing := map[*logbook.Ride]float64{}
	for b, list := range byBoard {
		for _, r := range m.h.OtherRides {
			if r.Board == b {
				list = append(list, r)
			}
		}
		sortBy(list, func(r *logbook.Ride) float64 { return dayOf(logbook.EndOf(r)) })
		share := 1.0
		if others[b] {
			share = .5
		}
		m.gaps(list, perKm, func(r *logbook.Ride, km float64) { missing[r] = km * share })
	}
	alone := len(byBoard) == 1 && len(m.h.OtherRides) == 0
	for i := range m.events {
		if r, ok := m.events[i].record.(*logbook.Ride); ok {
			km, sure := missing[r]
			m.events[i].unloggedKm, m.events[i].odometer = km, sure && alone
		}
	}
}

// reading is one reading of an odometer that can be held against the one
// before: what it moved on, and the rides logged meanwhile.
type reading struct {
	ride          *logbook.Ride
	moved, logged float64 // km
}

// readings walks over the rides of one board and returns the readings of its
// odometer between which every ride has a distance, and its step.
func (m *machine) readings(rides []*logbook.Ride, perKm float64) (out []reading, odoStep float64) {
	for _, r := range rides {
		if s := step(r.OdometerKm); s > 0 && (odoStep == 0 || s < odoStep) {
			odoStep = s
		}
	}
	last, since, sure := math.NaN(), 0.0, true
	for _, r := range rides {
		km := rideKm(r, perKm, m.chem.NominalV*m.series)
		if known(km) {
			since += km
		} else {
			sure = false
		}
		if !r.OdometerKm.OK {
			continue
		}
		if known(last) && sure {
			out = append(out, reading{r, r.OdometerKm.V - last, since})
		}
		last, since, sure = r.OdometerKm.V, 0, true
	}
	return out, odoStep
}

// leastReadings are needed to tell the wheel's kilometre from the rider's.
const leastReadings = 5

// wheelRatio is how many kilometres the odometer counts for one of the logged
// distances, which may come from another instrument: the median, so that
// rides that were not logged do not matter; 1 where that makes no sense.
func wheelRatio(all []reading) float64 {
	var ratios []float64
	for _, r := range all {
		if r.logged > 0 && r.moved > 0 {
			ratios = append(ratios, r.moved/r.logged)
		}
	}
	if mid := median(ratios); len(ratios) >= leastReadings && mid > .85 && mid < 1.15 {
		return mid
	}
	return 1
}

// gaps tells, at each reading of a board's odometer, what it shows beyond the
// logged rides. Less than a fiftieth, or two steps of the odometer, is no gap;
// one as long as the ride would be in another unit is a slip of the distance.
func (m *machine) gaps(rides []*logbook.Ride, perKm float64, tell func(*logbook.Ride, float64)) {
	all, odoStep := m.readings(rides, perKm)
	ratio := wheelRatio(all)
	for _, r := range all {
		gap := r.moved/ratio - r.logged
		slip := r.ride.DistanceKm.OK && math.Abs(gap/r.ride.DistanceKm.V-(kmPerMile-1)) < .05
		least := max(.3, .02*r.logged, 2*odoStep)
		if slip || gap <= -least || gap >= 3000 {
			continue
		}
		if gap <= least {
			gap = 0
		}
		tell(r.ride, gap)
	}
}

// kmPerMile is exact (NIST SP 811).
const kmPerMile = 1.609344

// rideKm is the distance of a ride, or what its speed and time or its draw
// amount to; NaN where nothing tells.
func rideKm(r *logbook.Ride, perKm, volts float64) float64 {
	switch {
	case r.DistanceKm.OK:
		return r.DistanceKm.V
	case r.MovingSpeedKmh.OK && r.MovingMin.OK:
		return r.MovingSpeedKmh.V * r.MovingMin.V / 60
	case r.DischargedWh.OK:
		return (r.DischargedWh.V - r.RegenWh.Or(0)) / perKm
	case r.DischargedAh.OK:
		return (r.DischargedAh.V - r.RegenAh.Or(0)) * volts / perKm
	}
	return math.NaN()
}

// roughWhPerKm is the median consumption of the rides that show one.
func (m *machine) roughWhPerKm() float64 {
	var all []float64
	for _, r := range m.h.Rides {
		if wh := rideKm(&logbook.Ride{DischargedWh: r.DischargedWh, DischargedAh: r.DischargedAh, RegenWh: r.RegenWh, RegenAh: r.RegenAh}, 1, m.chem.NominalV*m.series); known(wh) && r.DistanceKm.OK && r.DistanceKm.V > 0 {
			all = append(all, wh/r.DistanceKm.V)
		}
	}
	return orNum(positive(median(all)), nominalWhPerKm)
}

func sortBy[T any](list []T, key func(T) float64) {
	for i := 1; i < len(list); i++ { // rides come nearly sorted
		for j := i; j > 0 && key(list[j]) < key(list[j-1]); j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
}

// share is a group's weight in the reference.
type share struct {
	group int
	w     float64
}

// reference is the contract's set of reference conditions.
type reference struct {
	trip      law.Trip
	bench     bool    // full cycles were discharged on a bench: no road
	packC     float64 // pack and air
	ampere    float64 // of bench cycles
	effects   []share // of routes and riders: ln Wh/km is their weighted sum
	limitV    float64
	fullV     float64
	knownTyre bool
}

// setReference works out the reference conditions by the contract.
func (m *machine) setReference() {
	p := m.h.Pack
	r := &m.ref
	r.packC = p.RefTempC.Or(logbook.DefaultRefTempC)
	limit, cutoff, full := m.perCell(p.LimitV), m.perCell(p.CutoffV), numOr(p.CellFullV)
	for _, s := range m.h.Setups {
		if s.Pack == p.ID {
			limit, cutoff, full = orNum(m.perCell(s.LimitV), limit), orNum(m.perCell(s.CutoffV), cutoff), orNum(numOr(s.CellFullV), full)
		}
	}
	r.limitV, _, r.fullV = m.limits(limit, cutoff, full)
	onRoad := 0
	for i := range m.events {
		if m.events[i].kind == evRide && known(m.events[i].km) {
			onRoad++
		}
	}
	r.bench = onRoad == 0
	r.ampere = orNum(m.usual.benchA, .5*m.ratedAh)
	mass, ref, _ := m.boardAt(p.Board, m.nowDay)
	r.knownTyre = known(ref)
	speed := p.RefSpeedKmh.Or(m.fullRideSpeedKmh()) / law.KmhPerMs
	rider := p.RefRiderKg.Or(m.fullRideRiderKg())
	r.trip = law.Trip{MassKg: orNum(mass, typicalBoardKg) + rider, AirC: r.packC, SpeedMs: speed}
	r.trip.SpeedVarMs2 = square(m.testUnsteadiness())
	r.effects = m.referenceEffects(p.RefRoute)
}

// referenceEffects weighs the named routes alike (or takes the reference
// route alone) and the riders by their rides to the limit, else by all.
func (m *machine) referenceEffects(refRoute string) []share {
	rides := map[int]float64{}
	riders, routes := 0.0, 0.0
	count := func(full bool) {
		for i := range m.events {
			for _, g := range m.events[i].effects {
				if m.groupKind[g] == groupRider && (!full || m.events[i].stop == "limit") {
					rides[g]++
					riders++
				}
			}
		}
	}
	if count(true); riders == 0 {
		count(false)
	}
	var out []share
	for g, kind := range m.groupKind {
		switch {
		case kind == groupRider && riders > 0:
			out = append(out, share{g, rides[g] / riders})
		case kind == groupRoute && (refRoute == "" || m.groupNames[g] == refRoute):
			out = append(out, share{g, 1})
			routes++
		}
	}
	for i := range out {
		if m.groupKind[out[i].group] == groupRoute {
			out[i].w /= routes
		}
	}
	return out
}

// fullCycles lists the rides on the road that went from full to the limit:
// right after a charge that finished, or in a log without charges. Where there
// is none, all that ended at the limit.
func (m *machine) fullCycles() []*logbook.Ride {
	var whole, ended []*logbook.Ride
	full := !m.anyCharge
	for i := range m.events {
		e := &m.events[i]
		switch r := e.record.(type) {
		case *logbook.Charge:
			full = e.full == logbook.Yes
		case *logbook.Ride:
			if r.Stop == "limit" && known(e.km) {
				ended = append(ended, r)
				if full {
					whole = append(whole, r)
				}
			}
			full = !m.anyCharge
		}
	}
	if len(whole) > 0 {
		return whole
	}
	return ended
}
