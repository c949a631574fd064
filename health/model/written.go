package model

import (
	"maps"
	"math"
	"slices"
	"strconv"

	"packwane/health/logbook"
)

// A way of 7.6 km that is ridden daily and written as 8 km is off by the same each
// time: no number of rides averages that out. Rides of one route whose distance is
// written alike share what it is rounded by, where that is more than a hundredth of
// it, and the odometer tells how much it is.
const (
	alikeRides   = 3
	roundedMuch  = .01
	instrumentSd = .03 // ln of a wheel's kilometre over the rider's (from memory)
)

// legsOfOneBoard are the legs of the board that has most of them: another one has
// another wheel.
func (m *machine) legsOfOneBoard() []reading {
	count, most := map[string]int{}, ""
	board := func(leg reading) string { return m.h.RideBoard(leg.rides[0]) }
	for _, leg := range m.legs {
		count[board(leg)]++
	}
	for _, b := range slices.Sorted(maps.Keys(count)) {
		if count[b] > count[most] {
			most = b
		}
	}
	return slices.DeleteFunc(m.legs, func(leg reading) bool { return board(leg) != most })
}

// writtenName names the rides whose distance is rounded alike: of one route, or of
// none. What differs between ways of one name is left to each ride's own noise.
func writtenName(r *logbook.Ride) string {
	return r.Route + " " + strconv.FormatFloat(r.DistanceKm.V, 'g', -1, 64) + " km"
}

// rounding is what is known of a distance as it is written: of how many rides, the
// variance of ln of what it is rounded by, and on so many legs ln of the odometer's
// kilometres over it, with the variance that the odometer's own steps leave.
type rounding struct {
	rides           int
	km, priorVar    float64
	legs, moved     float64
	ratio, ratioVar float64
}

// findWritten looks for distances that are written again and again, and works out
// what each is rounded by, as far as the odometer says. The wheel's kilometre is
// common to all of them; the longest rides tell it best.
func (m *machine) findWritten() {
	all := map[string]*rounding{}
	for i := range m.events {
		e := &m.events[i]
		r, ok := e.record.(*logbook.Ride)
		if !ok || !known(e.km) {
			continue
		}
		name := writtenName(r)
		if all[name] == nil {
			all[name] = &rounding{km: e.km, priorVar: square(e.roundKm/e.km) / 12}
		}
		all[name].rides++
	}
	for _, leg := range m.legsOfOneBoard() {
		if r := all[writtenName(leg.rides[0])]; r != nil && leg.moved > 0 { // one that stands still tells no wheel
			r.legs++
			r.moved += leg.moved
			r.ratioVar += leg.movedVar
		}
	}
	weight, sum := 1/square(instrumentSd), 0.0
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if r := all[name]; r.legs > 0 {
			r.ratio = math.Log(r.moved / r.legs / r.km)
			r.ratioVar /= square(r.legs * r.km)
			w := 1 / (r.priorVar + r.ratioVar)
			weight += w
			sum += float64(w * r.ratio)
		}
	}
	m.written = map[string]param{}
	for name, r := range all {
		if r.rides < alikeRides || math.Sqrt(r.priorVar) < roundedMuch {
			continue
		}
		p := param{name: "written " + name, sd: math.Sqrt(r.priorVar), log: true}
		if r.legs > 0 {
			keep := r.priorVar / (r.priorVar + r.ratioVar)
			p.mean, p.sd = keep*(r.ratio-sum/weight), math.Sqrt(keep*r.ratioVar+square(keep)/weight)
		}
		m.written[name] = p
	}
}
