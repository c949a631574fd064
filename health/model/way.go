package model

import (
	"maps"
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

// winds is what the log's readings of the wind show of the winds that were met.
type winds struct {
	rmsMs          float64 // root mean square
	meanLn, spread float64 // of the logarithm of the winds that blew, m/s
}

// A reading misses the wind that blew by readWindLn, as a standard deviation of
// its logarithm (from memory: forecasts and guesses); windLn is how much winds
// vary by themselves (Rayleigh's distribution: π/√24). Below leastWindMs all
// are calm. A log's own readings are drawn towards typicalReadings of the typical
// wind.
const (
	readWindLn      = .2
	windLn          = .64
	leastWindMs     = .5
	typicalReadings = 3.0
)

func windsOf(readMs []float64) winds {
	n := float64(len(readMs)) + typicalReadings
	square2 := typicalReadings * typicalWindMs * typicalWindMs
	mean := typicalReadings * math.Log(typicalWindMs)
	for _, w := range readMs {
		square2 += w * w
		mean += math.Log(max(w, leastWindMs))
	}
	mean /= n
	spread := typicalReadings * square(windLn)
	for _, w := range readMs {
		spread += square(math.Log(max(w, leastWindMs)) - mean)
	}
	return winds{
		rmsMs: math.Sqrt(square2 / n), meanLn: mean,
		spread: max(spread/n-square(readWindLn), square(readWindLn)),
	}
}

// met is the wind that a reading stands for, m/s, as its square lies on
// average: the highest readings are high by chance too. Taken as they stand they
// would make wind seem to cost little, and calm air much.
func (w winds) met(readMs float64) float64 {
	share := w.spread / (w.spread + square(readWindLn))
	blew := w.meanLn + share*(math.Log(max(readMs, leastWindMs))-w.meanLn) + share*square(readWindLn)
	return math.Exp(blew) * min(readMs/leastWindMs, 1)
}

// climbs is how much a ride climbs for each metre, in the middle of those that
// say so: of all, and of each route, which may end higher than it begins.
type climbs struct {
	all     float64
	byRoute map[string]slope
	seen    int // rides that say so, and on each route
	seenOn  map[string]int
}

// slope is how much a way goes up and down for each metre.
type slope struct{ up, down float64 }

// slopeOf is that of a ride of so many metres that says one or both. A ride that ends
// where it began comes down as far as it climbs, and where only one is said it is
// taken to.
func slopeOf(r *logbook.Ride, metres float64) slope {
	up, down := numOr(r.ClimbM), numOr(r.DescentM)
	switch oneWay := r.Shape == "one_way"; {
	case known(up) && !known(down):
		if down = up; oneWay {
			down = 0
		}
	case known(down) && !known(up):
		if up = down; oneWay {
			up = 0
		}
	}
	return slope{up / metres, down / metres}
}

// findClimbs looks through the log for them.
func (m *machine) findClimbs() climbs {
	var all []float64
	type sides struct{ up, down []float64 }
	byRoute := map[string]*sides{}
	for i := range m.events {
		e := &m.events[i]
		r, ok := e.record.(*logbook.Ride)
		if !ok || !known(e.km) || !saysClimb(r) {
			continue
		}
		all = append(all, r.ClimbM.Or(r.DescentM.V)/(1000*e.km))
		if r.Route == "" {
			continue
		}
		on := byRoute[r.Route]
		if on == nil {
			on = &sides{}
			byRoute[r.Route] = on
		}
		way := slopeOf(r, 1000*e.km)
		on.up, on.down = append(on.up, way.up), append(on.down, way.down)
	}
	c := climbs{all: orNum(median(all), 0), byRoute: map[string]slope{}, seen: len(all), seenOn: map[string]int{}}
	for route, on := range byRoute {
		c.byRoute[route], c.seenOn[route] = slope{median(on.up), median(on.down)}, len(on.up)
	}
	return c
}

// leaveOutOdd leaves out the routes that only odd climbs tell of.
func (c *climbs) leaveOutOdd() {
	maps.DeleteFunc(c.byRoute, func(route string, way slope) bool {
		return c.seen >= leastAlike && c.seenOn[route] < leastAlike && tooSteep(max(way.up, way.down), c.all)
	})
}

// Spreads of ln Wh/km where a ride's climb is not known: none was read on its
// route, or others were.
const climbUnseen, climbOfRoute = .03, .015

// unsaidClimb is the slope of a ride that says none, and the standard deviation of ln
// Wh/km that this leaves. A way that ends where it began falls as far as it climbs.
func (m *machine) unsaidClimb(r *logbook.Ride) (slope, float64) {
	way, sd := slope{m.usual.climbs.all, m.usual.climbs.all}, climbUnseen
	if on, ok := m.usual.climbs.byRoute[r.Route]; ok {
		way, sd = on, climbOfRoute
	}
	if closed(r) {
		way.up = (way.up + way.down) / 2
		way.down = way.up
	}
	return way, sd
}

// fillClimb puts the metres up and down into the trip and returns the variance
// of ln Wh/km that their being guessed brings. A ride without a climb has that
// of its route, else that of the log.
func (m *machine) fillClimb(t *law.Trip, r *logbook.Ride, metres float64) float64 {
	way, sd := m.unsaidClimb(r)
	if saysClimb(r) {
		way, sd = slopeOf(r, metres), 0
	}
	t.ClimbPerM, t.DescentPerM = way.up, way.down
	return square(sd)
}

// elsewhere is the climb less the descent, over the way, of a ride that ended where it
// did not begin: common practice, no source.
const elsewhere = .005

// wentOneWay reports whether a ride says that it did, or ended higher or lower than it began.
func wentOneWay(r *logbook.Ride, metres float64) bool {
	return r.Shape == "one_way" || r.Shape == "" && math.Abs(numOr(r.ClimbM)-numOr(r.DescentM)) > elsewhere*metres
}

// acrossAlone is the wind from all sides in turn that costs as much as half the square of
// one across the way alone, over that: √(½/¾). readHeadMs is what a head wind is read to at
// best (common practice, no source).
const acrossAlone, readHeadMs = .816, .4

// fillWind sets the wind of the trip and returns the variance of ln Wh/km
// that its record leaves. A recorded wind is rough: gusts, shelter, the
// distance to the station.
func (m *machine) fillWind(t *law.Trip, r *logbook.Ride, metres float64) float64 {
	oneWay := wentOneWay(r, metres)
	const rough = .35 // of the recorded speed, as a standard deviation
	felt := func(w float64) float64 { return .6 * w / max(t.SpeedMs, 1) }
	switch {
	case r.HeadwindKmh.OK && !r.WindKmh.OK:
		// What came from the side was not noted: as much, but no more than usual.
		t.HeadwindMs, t.Met = r.HeadwindKmh.V/law.KmhPerMs, true
		t.CrossRoundMs = acrossAlone * min(math.Abs(t.HeadwindMs), m.usual.winds.rmsMs/math.Sqrt2)
		return square(.7*.8/max(t.SpeedMs, 1))*(square(.3*t.HeadwindMs)+square(readHeadMs)) + square(.4*.75*square(felt(t.CrossRoundMs)))
	case r.HeadwindKmh.OK: // as a track reckons it from the wind
		t.HeadwindMs = r.HeadwindKmh.V / law.KmhPerMs
		across := square(m.usual.winds.met(r.WindKmh.V/law.KmhPerMs)) - square(t.HeadwindMs)
		t.CrossRoundMs = math.Sqrt(max(across, 0))
		return square(.7*.3*felt(math.Abs(t.HeadwindMs))) + square(.4*.75*2*rough*square(felt(t.CrossRoundMs)))
	case r.WindKmh.OK && !oneWay:
		t.CrossRoundMs = m.usual.winds.met(r.WindKmh.V / law.KmhPerMs)
		return square(.4 * .75 * 2 * rough * square(felt(t.CrossRoundMs)))
	case r.WindKmh.OK:
		t.CrossRoundMs = m.usual.winds.met(r.WindKmh.V / law.KmhPerMs)
		return square(.5 * felt(t.CrossRoundMs))
	case oneWay:
		t.CrossRoundMs = m.usual.winds.rmsMs
		return square(.5 * felt(t.CrossRoundMs))
	}
	t.CrossRoundMs = m.usual.winds.rmsMs
	return square(.4 * .75 * square(felt(m.usual.winds.rmsMs)))
}

// cityStopsSPerM is how long two or three lights for each kilometre make a ride
// stand, s a metre: more is a rest on the way, or a distance typed too short.
const cityStopsSPerM = .06

// stoppedSPerM is how long a ride stood at stops for each metre ridden, s; NaN where it
// does not say, or stood for longer than stops take.
func stoppedSPerM(r *logbook.Ride) float64 {
	v := rideSpeedMs(r)
	if r.End.IsZero() || !known(v) || v <= 0 || !(r.DistanceKm.V > 0) {
		return math.NaN()
	}
	stopped := r.End.Sub(r.At).Seconds()/(1000*r.DistanceKm.V) - 1/v
	if stopped > cityStopsSPerM {
		return math.NaN()
	}
	return max(stopped, 0)
}
