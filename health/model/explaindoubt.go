package model

import (
	"math"
	"slices"

	"packwane/health/law"
	"packwane/health/logbook"
)

// What a careful record leaves open, as standard deviations: common practice,
// no source.
const (
	readAirC     = .9   // K
	readPackC    = 1.2  // K
	readPressure = .02  // of its logarithm
	readKg       = .8   // rider, gear and what the board carries
	readSpeed    = .010 // share
	readClimb    = .12  // share
	readRoute    = .012 // of ln Wh/km: its surface changes a little
	readWindMs   = .4   // m/s
	oneWayShare  = .25  // how many rides go one way, of those of which nobody says it
)

// How far the law of the road is from the road itself, as standard deviations
// of ln Wh/km: by speed, per logarithm of its ratio to the reference, and by
// air temperature, per kelvin from the reference. Set on one group of
// simulated packs and tested on another.
const (
	lawSpeed = .08
	lawLeast = .006
	lawCold  = .0012
	lawClimb = 2.0 // per metre of climb on a metre of way
)

// findDoubts lists what the ride's record leaves open, each with the spread
// that the rest of the log shows of it.
func (x *explainer) findDoubts() {
	x.doubtAir()
	x.doubtTyre()
	x.doubtRider()
	x.doubtSpeed()
	x.doubtWind()
	x.doubtClimb()
	if !x.onReferenceRoute() {
		x.quietly(causeRoute, func(c *conditions, z float64) { c.ln[causeRoute] += readRoute * z })
	}
	if len(x.effects[causeRoute]) == 0 && slices.Contains(x.fit.m.groupKind, groupRoute) {
		// others have names, so this one is another or a forgotten one
		x.add(causeRoute, false, math.NaN(), func(c *conditions, z float64) { c.ln[causeRoute] += sdRoute * z })
	}
}

// onReferenceRoute reports whether the ride's surface is the reference's.
func (x *explainer) onReferenceRoute() bool {
	routes, same := 0, true
	for _, e := range x.fit.m.ref.effects {
		if x.fit.m.groupKind[e.group] == groupRoute {
			routes++
			same = same && len(x.effects[causeRoute]) == 1 && x.effects[causeRoute][0].group == e.group
		}
	}
	return routes == len(x.effects[causeRoute]) && same
}

// quietly adds what a careful record leaves open too: nothing to mention.
func (x *explainer) quietly(cause int, move func(*conditions, float64)) {
	x.doubts = append(x.doubts, doubt{cause: cause, quiet: true, move: move})
}

func (x *explainer) add(cause int, rough bool, value float64, move func(*conditions, float64)) {
	x.doubts = append(x.doubts, doubt{cause: cause, rough: rough, value: value, move: move})
}

func (x *explainer) doubtAir() {
	law := lawCold * math.Abs(x.e.airC-x.fit.m.ref.trip.AirC)
	x.quietly(causeTemperature, func(c *conditions, z float64) { c.ln[causeTemperature] += law * z })
	x.quietly(causeTemperature, func(c *conditions, z float64) { c.packZ += z })
	if x.r.AmbientC.OK {
		x.quietly(causeTemperature, func(c *conditions, z float64) {
			c.trip.AirC += readAirC * z
		})
		return
	}
	sd := x.fit.m.season.sd
	x.add(causeTemperature, false, x.e.airC, func(c *conditions, z float64) { c.trip.AirC += sd * z })
}

func (x *explainer) doubtTyre() {
	m, u := x.fit.m, &x.fit.m.usual
	if m.h.BoardAt(m.h.RideBoard(x.r), x.r.At).Airless() {
		return
	}
	_, ref := m.boardAt(m.h.RideBoard(x.r), x.r.At)
	if plausiblePressure(x.r.TyreKpa, ref) {
		x.quietly(causeTyre, func(c *conditions, z float64) { c.trip.LogPressure += readPressure * z })
		return
	}
	value, sd := math.NaN(), pressureSd
	if known(positive(ref)) {
		value, sd = ref*math.Exp(u.logPressure), u.lpSd
	}
	x.add(causeTyre, false, value, func(c *conditions, z float64) { c.trip.LogPressure += sd * z })
}

func (x *explainer) doubtRider() {
	if x.r.RiderKg.OK {
		x.quietly(causeMass, func(c *conditions, z float64) { c.trip.MassKg = max(c.trip.MassKg+readKg*z, c.trip.MassKg/4) })
		return
	}
	m, u := x.fit.m, &x.fit.m.usual
	board, _ := m.boardAt(m.h.RideBoard(x.r), x.r.At)
	x.add(causeMass, false, x.e.trip.MassKg-orNum(board, typicalBoardKg), func(c *conditions, z float64) {
		c.trip.MassKg = max(c.trip.MassKg+u.riderSd*z, 25)
	})
}

func (x *explainer) doubtSpeed() {
	u := &x.fit.m.usual
	ride := func(sd float64) func(*conditions, float64) {
		return func(c *conditions, z float64) {
			v := max(c.trip.SpeedMs+sd*z, 1)
			c.trip.SpeedMs = v
		}
	}
	if !known(rideSpeedMs(x.r)) {
		x.add(causeSpeed, false, x.e.trip.SpeedMs*law.KmhPerMs, ride(u.speedSd))
		return
	}
	x.quietly(causeSpeed, ride(readSpeed*x.e.trip.SpeedMs))
	law := lawSpeed*math.Abs(math.Log(x.e.trip.SpeedMs/x.fit.m.ref.trip.SpeedMs)) + lawLeast
	x.quietly(causeSpeed, func(c *conditions, z float64) { c.ln[causeSpeed] += law * z })
}

// doubtClimb: a recorded climb holds its step and a share of itself, up and
// down apart; a way that ends where it began (see closeWay) has one figure.
func (x *explainer) doubtClimb() {
	r := x.r
	if !r.ClimbM.OK && (!r.DescentM.OK || r.Shape == "one_way") {
		_, sd := x.fit.m.unsaidClimb(r)
		x.add(causeClimb, false, math.NaN(), func(c *conditions, z float64) { c.ln[causeClimb] += sd * z })
		return
	}
	metres := x.e.km * 1000
	read := func(n logbook.Num, perM float64) float64 {
		return math.Hypot(readClimb*perM, max(step(n), 1)/math.Sqrt(12)/metres)
	}
	up, down := read(r.ClimbM, x.own.trip.ClimbPerM), read(r.DescentM, x.own.trip.DescentPerM)
	if closed(r) {
		x.quietly(causeClimb, func(c *conditions, z float64) {
			c.trip.ClimbPerM = max(c.trip.ClimbPerM+up*z, 0)
			c.trip.DescentPerM = c.trip.ClimbPerM
		})
	} else {
		x.quietly(causeClimb, func(c *conditions, z float64) { c.trip.ClimbPerM = max(c.trip.ClimbPerM+up*z, 0) })
		x.quietly(causeClimb, func(c *conditions, z float64) { c.trip.DescentPerM = max(c.trip.DescentPerM+down*z, 0) })
	}
	const most = .5 // of a climb that no road has
	law := min(lawClimb*(x.own.trip.ClimbPerM+x.own.trip.DescentPerM)/2, most)
	x.quietly(causeClimb, func(c *conditions, z float64) { c.ln[causeClimb] += law * z })
}

// closed reports whether a ride ended where it began.
func closed(r *logbook.Ride) bool { return r.Shape == "loop" || r.Shape == "out_back" }

// closeWay gives a ride that ended where it began as much descent as climb:
// two readings of one figure.
func (x *explainer) closeWay() {
	if t := &x.own.trip; closed(x.r) {
		t.ClimbPerM = (t.ClimbPerM + t.DescentPerM) / 2
		t.DescentPerM = t.ClimbPerM
	}
}

// doubtWind: a recorded wind is rough; an unrecorded one was about as strong
// as it usually is, from anywhere.
func (x *explainer) doubtWind() {
	r, t := x.r, &x.e.trip
	if !r.HeadwindKmh.OK && !r.WindKmh.OK {
		x.blows(false, t.CrossRoundMs*law.KmhPerMs, windUsualLn, -square(windUsualLn))
		x.mayBlowAlong(false)
		return
	}
	value := max(math.Abs(r.HeadwindKmh.V), r.WindKmh.V)
	x.blows(true, value, windRough, -square(windRough)/2)
	if r.HeadwindKmh.OK {
		x.add(causeWind, true, value, func(c *conditions, z float64) { c.trip.HeadwindMs += readWindMs * z })
		return
	}
	x.add(causeWind, true, value, func(c *conditions, z float64) {
		c.trip.CrossRoundMs = math.Abs(c.trip.CrossRoundMs + readWindMs*z)
	})
	x.mayBlowAlong(true)
}

// blows adds that the wind was as strong as assumed only within a factor.
func (x *explainer) blows(rough bool, value, sd, ln float64) {
	x.add(causeWind, rough, value, func(c *conditions, z float64) {
		f := math.Exp(sd*z + ln)
		c.trip.HeadwindMs *= f
		c.trip.CrossRoundMs *= f
	})
}

// mayBlowAlong adds that it may have blown along or against: on a way that
// went one way, and so far as one of which nobody says how it went may have.
func (x *explainer) mayBlowAlong(rough bool) {
	share := oneWayShare
	switch {
	case wentOneWay(x.r, 1000*x.e.km):
		share = 1
	case x.r.Shape != "":
		return
	}
	x.add(causeWind, rough, math.NaN(), func(c *conditions, z float64) { c.trip.HeadwindMs += .6 * math.Sqrt(share) * x.e.trip.CrossRoundMs * z })
}

// setGains works out what each doubt does to ln Wh/km at the mode.
func (x *explainer) setGains() {
	c := x.fit.f.p.c
	ln := func(d *doubt, z float64) float64 {
		moved := x.own
		d.move(&moved, z)
		sum := math.Log(c.road.WhPerKm(moved.trip))
		for _, l := range moved.ln {
			sum += l
		}
		return sum
	}
	for j := range x.doubts {
		d := &x.doubts[j]
		d.gain = (ln(d, 1) - ln(d, -1)) / 2
	}
}

// assumed lists the doubts with what each hides, as a share of the ride's way
// until explain turns it into kilometres. What the ride's own distance tells
// of them is taken off.
func (x *explainer) assumed() []Assumed {
	total := x.noise.road + x.noise.limit + x.noise.other
	for j := range x.doubts {
		total += square(x.doubts[j].gain)
	}
	var out []Assumed
	for _, d := range x.doubts {
		if d.quiet {
			continue
		}
		v := square(d.gain)
		if x.noise.seen {
			v *= 1 - v/total
		}
		hides := 1.645 * math.Sqrt(v)
		if k := len(out) - 1; k >= 0 && out[k].Cause == Causes[d.cause] {
			out[k].HidesKm = math.Hypot(out[k].HidesKm, hides)
			continue
		}
		out = append(out, Assumed{Cause: Causes[d.cause], Rough: d.rough, Value: d.value, HidesKm: hides})
	}
	return out
}
