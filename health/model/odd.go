package model

import (
	"math"
	"slices"

	"packwane/health/law"
	"packwane/health/logbook"
)

// A condition that lies far from nearly all others of the log is a slip of the pen, in
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

// oddKind is one way in which a ride's conditions may lie far from the log's.
type oddKind int

const (
	oddFast oddKind = iota
	oddSlow
	oddHeavy
	oddLight
	oddWindy
	oddAgainst
	oddSteep
	oddKinds
)

// forget are what is dropped of a ride.
var forget = [oddKinds]func(r *logbook.Ride){
	oddFast:    forgetSpeed,
	oddSlow:    forgetSpeed,
	oddHeavy:   func(r *logbook.Ride) { r.RiderKg = logbook.Num{} },
	oddLight:   func(r *logbook.Ride) { r.RiderKg = logbook.Num{} },
	oddWindy:   func(r *logbook.Ride) { r.WindKmh = logbook.Num{} },
	oddAgainst: func(r *logbook.Ride) { r.HeadwindKmh = logbook.Num{} },
	oddSteep:   func(r *logbook.Ride) { r.ClimbM, r.DescentM = logbook.Num{}, logbook.Num{} },
}

func forgetSpeed(r *logbook.Ride) { r.MovingSpeedKmh, r.MovingMin = logbook.Num{}, logbook.Num{} }

// slipOf is one in how many figures may be a slip at most: what more of them show,
// and at least leastAlike, is how this log is ridden (a slow mode and a fast one, a
// second rider, a holiday in the mountains).
const slipOf = 50

// areSlips reports whether so many odd values of all that were seen are few enough to
// be slips of the pen.
func areSlips(odd, seen int) bool { return odd < leastAlike || odd*slipOf < seen }

// oddities tells which kinds are slips in this log, where they occur.
func (m *machine) oddities() (are [oddKinds]bool) {
	var count [oddKinds]int
	for i := range m.events {
		if r, ok := m.events[i].record.(*logbook.Ride); ok {
			for kind, is := range m.oddOf(r) {
				if is {
					count[kind]++
				}
			}
		}
	}
	u := &m.usual
	seen := [oddKinds]int{
		oddFast: u.seen.speed, oddSlow: u.seen.speed, oddHeavy: u.seen.rider, oddLight: u.seen.rider,
		oddWindy: u.seen.wind, oddAgainst: u.seen.wind, oddSteep: u.climbs.seen,
	}
	for kind := range are {
		are[kind] = areSlips(count[kind], seen[kind])
	}
	return are
}

// oddOf tells which conditions of a ride lie far from those of the log.
func (m *machine) oddOf(r *logbook.Ride) (is [oddKinds]bool) {
	u := &m.usual
	if v := rideSpeedMs(r); u.seen.speed >= leastAlike && far(v, u.speedMs, oddSpeed) {
		is[oddFast], is[oddSlow] = v > u.speedMs, v < u.speedMs
	}
	if kg := m.massOf(r.Rider); u.seen.rider >= leastAlike && r.RiderKg.OK && far(r.RiderKg.V, kg, oddKg) {
		is[oddHeavy], is[oddLight] = r.RiderKg.V > kg, r.RiderKg.V < kg
	}
	if u.seen.wind >= leastAlike {
		is[oddWindy], is[oddAgainst] = u.oddWind(r.WindKmh.V/law.KmhPerMs), u.oddWind(r.HeadwindKmh.V/law.KmhPerMs)
	}
	is[oddSteep] = m.oddClimb(r)
	return is
}

// oddWind reports whether a wind, m/s, lies far from those of the log.
func (u *usual) oddWind(ms float64) bool { return math.Abs(ms) > max(plainWindMs, oddWind*u.windMs) }

// believed returns the ride without the conditions that are odd in this log: the
// ride itself where none is.
func (m *machine) believed(r *logbook.Ride) *logbook.Ride {
	out := r
	for kind, is := range m.oddOf(r) {
		if !is || !m.usual.slips[kind] {
			continue
		}
		if out == r {
			c := *r
			out = &c
		}
		forget[kind](out)
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
		usual, seen = max(on.up, on.down), c.seenOn[r.Route]
	}
	perM := max(r.ClimbM.V, r.DescentM.V) / (1000 * r.DistanceKm.V)
	return seen >= leastAlike && tooSteep(perM, usual)
}

func tooSteep(perM, usual float64) bool { return perM > max(plainClimbPerM, oddClimb*usual) }

// setSides puts the meters of charges on the side of the charger where they are.
func (m *machine) setSides() {
	other := logbook.OnOtherSide(m.h.Charges)
	for i := range m.events {
		if c, ok := m.events[i].record.(*logbook.Charge); ok && other[c] {
			m.events[i].ac = !m.events[i].ac
		}
	}
}

// Watt-hours that are reckoned from ampere-hours at one voltage: so many figures as are
// fine enough to tell, of so different sizes, all but one in twenty at the same volts.
// Measured volts of rides of different depth lie percents apart.
const (
	leastReckoned       = 6
	fineRatio, fineFlat = .01, .003 // of Wh over Ah, by the steps of both; on a flat curve
	otherDepths         = 2.0       // the largest charge over the smallest
	allReckoned         = .95
)

// dropReckonedEnergy forgets the watt-hours of rides, and of charges, that only
// repeat the ampere-hours: taken for a measured voltage they bend the curve and the capacity.
func (m *machine) dropReckonedEnergy() {
	most := fineRatio
	if m.chem.Plateau() {
		most = fineFlat
	}
	for _, kind := range [...]eventKind{evRide, evCharge} {
		var volts, fine, ah []float64
		for i := range m.events {
			e := &m.events[i]
			if e.kind != kind || !known(e.ah) || !known(e.wh) || e.ah <= 0 || e.wh <= 0 {
				continue
			}
			if tells := (e.ahRound/e.ah+e.whRound/e.wh)/2 + .0005; tells < most {
				volts, fine, ah = append(volts, math.Log(e.wh/e.ah)), append(fine, tells), append(ah, e.ah)
			}
		}
		if len(volts) < leastReckoned || slices.Max(ah) < otherDepths*slices.Min(ah) {
			continue
		}
		one, same := median(volts), 0.0
		for i, v := range volts {
			if math.Abs(v-one) <= fine[i] {
				same++
			}
		}
		if same < allReckoned*float64(len(volts)) {
			continue
		}
		for i := range m.events {
			if e := &m.events[i]; e.kind == kind && known(e.ah) {
				e.wh = math.NaN()
			}
		}
	}
}
