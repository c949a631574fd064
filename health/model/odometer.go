package model

import (
	"maps"
	"math"
	"slices"

	"packwane/health/logbook"
)

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
	missing := map[*logbook.Ride]missed{}
	for _, b := range slices.Sorted(maps.Keys(byBoard)) {
		list := byBoard[b]
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
		m.gaps(list, perKm, func(r *logbook.Ride, km, since float64) { missing[r] = missed{km * share, since} })
	}
	alone := len(byBoard) == 1 && len(m.h.OtherRides) == 0
	full := math.Inf(-1) // the day of the last charge that may have filled the pack
	for i := range m.events {
		e := &m.events[i]
		switch r := e.record.(type) {
		case *logbook.Charge:
			if e.full != logbook.No {
				full = e.endDay
			}
		case *logbook.Ride:
			gap, sure := missing[r]
			m.anyOdometer = m.anyOdometer || sure
			if e.unheld = r.OdometerKm.OK && (!sure || !known(gap.km)); !e.unheld {
				e.unloggedKm, e.odometer = gap.km, sure && alone
				e.lateDays = max(e.startDay-max(gap.since, full), 0)
				e.late = min(e.lateDays/max(e.startDay-gap.since, e.lateDays, 1e-9), 1)
			}
		}
	}
}

// missed is what an odometer shows beyond the logged rides, and the day since when.
type missed struct{ km, since float64 }

// mostAtOnce is the share of a full charge that unlogged riding takes between two charges,
// and unloggedKmh how fast it goes at most with its stops: common practice, no source.
const mostAtOnce, unloggedKmh = .6, 20

// chanceLate is how likely riding that is not logged, of so many full charges, was done
// after the last charge that may have filled the pack, and not before: it falls into the
// time at random and needs some.
func (e *event) chanceLate(charges float64) float64 {
	times := max(charges/mostAtOnce, 1)
	return min(e.late*times, e.lateDays*24*unloggedKmh*times/e.unloggedKm, 1)
}

// reading is one reading of an odometer, the rides since the one before, how much it
// moved and what they were logged as, km: NaN where there is none before, or some ride's
// distance is not known. What they are rounded by has variances, km².
type reading struct {
	rides               []*logbook.Ride // that it moved on for; the last is the one that was read after
	since               float64         // the day of the reading before
	moved, logged       float64
	movedVar, loggedVar float64
	readVar             float64 // of the reading's own part in that
}

// readings walks over the rides of one board and returns the readings of its
// odometer that are believed.
func (m *machine) readings(rides []*logbook.Ride, perKm float64) []reading {
	odometer := stepsOf(rides, func(r *logbook.Ride) logbook.Num { return r.OdometerKm })
	distance := stepsOf(rides, func(r *logbook.Ride) logbook.Num { return r.DistanceKm })
	var all []reading
	last, lastVar, next := math.NaN(), 0.0, reading{since: math.Inf(-1)}
	rounded := map[string]float64{} // those written alike are off by the same
	for i, r := range rides {
		next.rides = append(next.rides, r)
		if distance[i] > 0 {
			was := rounded[writtenName(r)]
			rounded[writtenName(r)] = was + distance[i]
			next.loggedVar += (square(was+distance[i]) - square(was)) / 12
		}
		next.logged += rideKm(r, perKm, m.chem.NominalV*m.series)
		if !r.OdometerKm.OK {
			continue
		}
		v := square(odometer[i]) / 12
		next.moved, next.movedVar = r.OdometerKm.V-last, v+lastVar
		all = append(all, next)
		next.readVar = v
		last, lastVar, next = r.OdometerKm.V, v, reading{since: dayOf(logbook.EndOf(r))}
		clear(rounded)
	}
	return believedReadings(all)
}

// stepsOf returns to which step a field of each ride was read; 0 where it is absent.
func stepsOf(rides []*logbook.Ride, field func(*logbook.Ride) logbook.Num) []float64 {
	steps := make([]float64, len(rides))
	var there []*float64
	for i, r := range rides {
		if steps[i] = step(field(r)); steps[i] > 0 {
			there = append(there, &steps[i])
		}
	}
	readTo(there, 10)
	return steps
}

// believedReadings leaves out the readings that those before and after contradict,
// and at either end of the log those that leap, which nothing confirms yet.
func believedReadings(all []reading) []reading {
	var legs []float64
	for _, r := range all {
		if known(r.moved) {
			legs = append(legs, r.moved)
		}
	}
	leap := max(leastLeapKm, leapLegs*median(legs))
	leaps := func(r reading) bool { return len(all) > leastReadings && math.Abs(r.moved) > leap }
	out := make([]reading, 0, len(all))
	for k, r := range all {
		last := k+1 == len(all)
		switch {
		case k == 0 && !last && leaps(all[1]): // whichever of the two: the log begins at the second
			all[1].moved, all[1].logged = math.NaN(), math.NaN()
		case k > 0 && !last && r.contradicted(all[k+1]):
			all[k+1].rides, all[k+1].since = append(r.rides, all[k+1].rides...), r.since
			all[k+1].moved += r.moved
			all[k+1].logged += r.logged
			all[k+1].loggedVar += r.loggedVar
			all[k+1].movedVar += r.movedVar - 2*r.readVar
		case last && leaps(r):
		default:
			out = append(out, r)
		}
	}
	return out
}

// contradicted reports whether a reading goes back where the next makes up for it,
// or the other way round, or lies off the logged distances by what the next then lies
// off them on the other side.
func (r reading) contradicted(next reading) bool {
	if r.moved+next.moved >= 0 && (r.moved < 0 || next.moved < 0) {
		return true
	}
	a, b := r.moved-r.logged, next.moved-next.logged
	least := min(math.Abs(a), math.Abs(b))
	return a*b < 0 && least > 1+.05*(r.logged+next.logged) && math.Abs(a+b) < 1+.1*least
}

// What an odometer must move on between two readings, in kilometres and as a
// multiple of what it mostly does, to be taken for a slip until the next reading.
const leastLeapKm, leapLegs = 60.0, 6.0

// leastReadings are needed to tell the wheel's kilometre from the rider's.
const leastReadings = 5

// wheelRatio is how many kilometres the odometer counts for one of the logged
// distances, which may come from another instrument: of the legs near the median
// one all together, so that neither rides that were not logged matter nor what
// each distance is rounded by; 1 where that makes no sense.
func wheelRatio(all []reading) float64 {
	var ratios []float64
	for _, r := range all {
		if r.logged > 0 && r.moved > 0 {
			ratios = append(ratios, r.moved/r.logged)
		}
	}
	mid := median(ratios)
	if len(ratios) < leastReadings || !(mid > .85 && mid < 1.15) {
		return 1
	}
	moved, logged := 0.0, 0.0
	for _, r := range all {
		if math.Abs(r.moved-mid*r.logged) <= r.noGap()+.05*r.logged {
			moved += r.moved
			logged += r.logged
		}
	}
	return orNum(positive(moved/logged), mid)
}

// noGap is how much an odometer may show beyond the logged rides without a ride
// beside them: a fiftieth, and what figures are rounded by at the most.
func (r *reading) noGap() float64 { return max(.3, .02*r.logged+3.5*math.Sqrt(r.movedVar+r.loggedVar)) }

// gaps tells, at each reading of a board's odometer, what it shows beyond the
// logged rides, and the day since when: NaN where that is what one of them was logged too
// short by.
func (m *machine) gaps(rides []*logbook.Ride, perKm float64, tell func(r *logbook.Ride, km, since float64)) {
	all := m.readings(rides, perKm)
	ratio := wheelRatio(all)
	for _, r := range all {
		gap := r.moved/ratio - r.logged
		least := r.noGap()
		if !(gap > -least && gap < 3000) {
			continue
		}
		last := r.rides[len(r.rides)-1]
		switch {
		case gap <= least:
			gap = 0
			if len(r.rides) == 1 && last.DistanceKm.OK {
				m.legs = append(m.legs, r)
			}
		case slices.ContainsFunc(r.rides, func(one *logbook.Ride) bool { return m.slips(one, gap, perKm) }):
			gap = math.NaN()
		}
		tell(last, gap, r.since)
	}
}

// slips reports whether what an odometer shows beyond some logged rides is what one of
// them was logged too short by. Its time at its speed decides that, where both are
// logged. What it drew may be half as much again for a fast, cold or hilly ride: it has
// to be twice as much, or the distance the same in another unit or with the decimal
// point elsewhere. Where nothing else tells, that alone will do.
func (m *machine) slips(r *logbook.Ride, gap, perKm float64) bool {
	if !r.DistanceKm.OK {
		return false
	}
	d, whole := r.DistanceKm.V, r.DistanceKm.V+gap
	timed, drew := *r, *r
	timed.DistanceKm, timed.DischargedAh, timed.DischargedWh = logbook.Num{}, logbook.Num{}, logbook.Num{}
	drew.DistanceKm, drew.MovingSpeedKmh = logbook.Num{}, logbook.Num{}
	by := func(r *logbook.Ride) float64 { return positive(rideKm(r, perKm, m.chem.NominalV*m.series)) }
	km, far := by(&timed), slipTimed
	if !known(km) {
		km, far = by(&drew), slipDrew
	}
	otherwise := false
	for _, factor := range []float64{kmPerMile, 10} {
		otherwise = otherwise || math.Abs(whole/(factor*d)-1) < slipNear
	}
	if !known(km) {
		return otherwise
	}
	if otherwise {
		far = slipTimed
	}
	off, left := math.Abs(math.Log(km/d)), math.Abs(math.Log(km/whole)) // d may be 0
	return off > far && left < min(off/2, slipLeft)
}

// How far, as logarithms, a distance must lie from what the ride's time or its draw
// amounts to, to be a slip, how near the odometer to that, and to another way to
// write the distance.
const slipTimed, slipDrew, slipLeft, slipNear = .3, .69, .35, .03

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
