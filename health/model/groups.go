package model

import (
	"maps"
	"math"
	"slices"

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
	mostWritten  = 12
	mostGears    = 6
)

// groupUp gives each meter, route, rider and session a factor of its own, in
// order of first appearance, and appends them to the parameters later.
func (m *machine) groupUp() {
	count := map[groupKind]map[string]int{groupRoute: {}, groupRider: {}, groupSession: {}, groupBoard: {}}
	tyres := map[string]map[string]int{}
	tests := false
	m.findWritten()
	for i := range m.events {
		if r, ok := m.events[i].record.(*logbook.Ride); ok && known(m.events[i].km) {
			count[groupRoute][r.Route]++
			if r.Rider != "" { // who is not named is no other rider
				count[groupRider][r.Rider]++
			}
			count[groupSession][r.Session]++
			board := m.h.RideBoard(r)
			if count[groupBoard][board]++; tyres[board] == nil {
				tyres[board] = map[string]int{}
			}
			tyres[board][m.h.BoardAt(board, r.At).Tyre]++
			tests = tests || r.Stop == "limit"
		}
	}
	most := map[groupKind]int{groupMeter: mostMeters, groupRoute: mostRoutes, groupRider: mostRiders, groupSession: mostSessions, groupMethod: 1, groupCasual: 1, groupWritten: mostWritten, groupBoard: mostGears, groupTyres: mostGears}
	index := map[groupKind]map[string]int{groupMeter: {}, groupRoute: {}, groupRider: {}, groupSession: {}, groupMethod: {}, groupCasual: {}, groupWritten: {}, groupBoard: {}, groupTyres: {}}
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
	m.findGear(count[groupBoard], tyres)
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
			for kind, name := range m.gear.on(m.h, m.h.RideBoard(r), r.At) {
				e.effects = appendGroup(e.effects, get(kind, name))
			}
			if tests && r.Stop != "limit" {
				e.effects = appendGroup(e.effects, get(groupCasual, casualName))
			}
			if count[groupSession][r.Session] > 1 {
				e.effects = appendGroup(e.effects, get(groupSession, r.Session))
			}
			if _, ok := m.written[writtenName(r)]; ok {
				e.effects = appendGroup(e.effects, get(groupWritten, writtenName(r)))
			}
		case *logbook.Charge:
			if e.ac {
				e.meter = get(groupMeter, m.chargedBy(e, r.Meter))
			} else {
				e.meter = m.meterGroup(r.Meter, get)
			}
		case *logbook.Check:
			if e.acMethod {
				e.method = get(groupMethod, "ac")
			}
		}
	}
	for _, board := range slices.Sorted(maps.Keys(m.h.Boards)) {
		for kind, name := range m.gear.on(m.h, board, m.h.AsOf) {
			get(kind, name) // a board and tyres have their doubt before they are ridden
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

// casualName is the only name of its kind.
const casualName = "casual"

// groupPrior returns the prior of one factor's logarithm.
func (m *machine) groupPrior(kind groupKind, name string) param {
	switch kind {
	case groupWritten:
		return m.written[name]
	case groupMeter:
		return param{name: "meter " + name, mean: 0, sd: sdMeter, log: true}
	case groupDrift:
		return param{name: "drift " + name, mean: 0, sd: sdDrift, log: true}
	case groupRoute:
		return param{name: "route " + name, mean: 0, sd: sdRoute, log: true}
	case groupRider:
		return param{name: "rider " + name, mean: 0, sd: sdRider, log: true}
	case groupBoard:
		return param{name: "board " + name, mean: 0, sd: sdBoard, log: true}
	case groupTyres:
		return param{name: "tyres " + name, mean: 0, sd: sdTyres, log: true}
	case groupCasual:
		return param{name: name, mean: 0, sd: sdCasual, log: true}
	case groupSession:
		return param{name: "session " + name, mean: 0, sd: sdSession, log: true}
	}
	return param{name: "method " + name, mean: math.Log(.6), sd: .25, log: true} // 1 kHz over 10 s, from memory
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

	firstLimitV, firstFullV float64 // before any setup
}

// setReference works out the reference conditions by the contract.
func (m *machine) setReference() {
	p := m.h.Pack
	r := &m.ref
	r.packC = p.RefTempC.Or(logbook.DefaultRefTempC)
	r.limitV, _, r.fullV = m.limitsAt(m.h.AsOf)
	r.firstLimitV, _, r.firstFullV = m.limitsOf(m.h.FirstSetUp())
	onRoad := 0
	for i := range m.events {
		if m.events[i].kind == evRide && known(m.events[i].km) {
			onRoad++
		}
	}
	r.bench = onRoad == 0
	r.ampere = orNum(m.usual.benchA, .5*m.ratedAh)
	mass, ref := m.boardAt(m.refBoard(), m.h.AsOf)
	r.knownTyre = known(ref)
	speed := p.RefSpeedKmh.Or(m.fullRideSpeedKmh()) / law.KmhPerMs
	rider := p.RefRiderKg.Or(m.fullRideRiderKg())
	r.trip = law.Trip{MassKg: orNum(mass, typicalBoardKg) + rider, AirC: r.packC, SpeedMs: speed}
	unsteady, stopped := m.asTestsAreRidden()
	r.trip.SpeedVarMs2, r.trip.StoppedSPerM = square(unsteady), stopped
	r.effects = m.referenceEffects(p.RefRoute, p.RefRiderKg)
}

// A rider who weighs so many kilograms more or less than the reference is hardly
// the one that is meant, and one as heavy counts so much more than another.
const sameRiderKg, anotherRider = 5.0, .02

// referenceEffects weighs the named routes alike (or takes the reference
// route alone) and the riders by their rides to the limit, else by all, and by how
// near they come to the mass that the reference states: who is as heavy sits or
// stands as broad in the wind.
func (m *machine) referenceEffects(refRoute string, refKg logbook.Num) []share {
	rides := map[int]float64{}
	riders, routes := 0.0, 0.0
	count := func(full bool) {
		for i := range m.events {
			for _, g := range m.events[i].effects {
				if m.groupKind[g] != groupRider || full && m.events[i].stop != "limit" {
					continue
				}
				w := 1.0
				if refKg.OK {
					w = anotherRider + math.Exp(-square((m.massOf(m.groupNames[g])-refKg.V)/sameRiderKg)/2)
				}
				rides[g] += w
				riders += w
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
	for kind, name := range m.gear.on(m.h, m.refBoard(), m.h.AsOf) {
		if g := m.knownGroup(kind, name); g >= 0 {
			out = append(out, share{g, 1})
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
