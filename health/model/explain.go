package model

import (
	"hash/fnv"
	"math"
	"math/bits"
	"math/rand/v2"

	"packwane/health/law"
	"packwane/health/logbook"
)

// Causes lists what can make a ride longer or shorter than a full charge as
// new at reference conditions, in the order of Explanation.Km.
var Causes = [...]string{"ageing", "temperature", "tyre_pressure", "rider_mass", "speed", "wind", "climb", "route", "start_charge"}

const (
	causeAgeing = iota
	causeTemperature
	causeTyre
	causeMass
	causeSpeed
	causeWind
	causeClimb
	causeRoute
	causeStart
	numCauses
)

// Explanation parts the difference between a ride and the reference. All draws
// are aligned: in each of them the causes and the unexplained add up to
// RideKm less ReferenceKm.
type Explanation struct {
	Ride          *logbook.Ride
	ReferenceKm   Draws // a full charge as new
	RideKm        Draws // from the ride's start charge to the limit, in its conditions
	Km            [numCauses]Draws
	UnexplainedKm Draws
	Assumed       []Assumed
	Measured      bool // RideKm is the ride's own distance: it ended at the limit
	Residual      bool // the ride's own distance told how it differed from the expected
	Doubted       bool // its distance was put aside as a misreading
}

// Assumed is a condition that the ride's record does not tell, or only
// roughly.
type Assumed struct {
	Cause   string
	Rough   bool    // recorded, but such records are rough
	Value   float64 // what was assumed, in Unit's terms; NaN where there is no single figure
	HidesKm float64 // half the width of the 90 % interval that this alone makes
}

// The assumptions of Assumed.Value: °C of the air, kPa of the tyre, kg of the
// rider, km/h of the ride, km/h of the wind at the weather station.

// Residual noises of a ride's distance, beside the road's scatter.
const (
	distanceNoise = .006 // of a measured way
	windRough     = .40  // of a recorded wind, as a standard deviation: see fillWind, and each way is sheltered in its own measure
	windUsualLn   = .50  // of the logarithm of an unrecorded wind about the usual
)

// conditions is a ride as the causes see it.
type conditions struct {
	trip  law.Trip
	packC float64            // as measured, NaN where it was not
	whole float64            // share of a full charge over which it was
	packZ float64            // standard normal of what is not known of it
	ln    [numCauses]float64 // added to ln Wh/km
}

// doubt is one unknown of a ride's conditions: move shifts them by z standard
// deviations.
type doubt struct {
	cause int
	rough bool
	quiet bool // as in every careful record
	value float64
	move  func(c *conditions, z float64)
	gain  float64 // change of ln Wh/km by one standard deviation
}

// mostOdd is how many standard deviations a condition that nobody wrote down may lie from
// the usual, and mostHeavy a rider's weight. Common practice, no source.
const mostOdd, mostHeavy = 4, 2

// Explain parts one ride of the log. False where the fit has no road rides or
// the ride is not of this life of the pack.
func (fit *Fit) Explain(r *logbook.Ride) (*Explanation, bool) {
	i := fit.eventOf(r)
	if i < 0 || fit.m.ref.bench || fit.m.events[i].bench {
		return nil, false
	}
	return fit.explainer(i).explain(), true
}

// eventOf returns the index of a ride's event, or -1.
func (fit *Fit) eventOf(r *logbook.Ride) int {
	for i := range fit.m.events {
		if e := &fit.m.events[i]; e.kind == evRide && e.id == r.ID {
			return i
		}
	}
	return -1
}

// explainer holds what the draws of one explanation share.
type explainer struct {
	fit     *Fit
	e       event // a copy, its trip filled in
	r       *logbook.Ride
	rng     *rand.Rand
	own     conditions
	doubts  []doubt
	effects [numCauses][]share // groups that come with mass, route and how it was ridden
	session []int              // groups of the day
	written []int              // groups of what its distance is rounded by
	noise   rideNoise
	x0, xSd float64
}

func (fit *Fit) explainer(i int) *explainer {
	m := fit.m
	x := &explainer{fit: fit, e: m.events[i]}
	x.r = x.e.record.(*logbook.Ride)
	seed := fnv.New64a()
	seed.Write([]byte(m.h.Pack.ID + "\x00" + x.r.ID))
	x.rng = rand.New(rand.NewPCG(seed.Sum64(), stream))
	if !known(x.e.km) {
		x.e.km = orNum(positive(rideKm(x.r, m.roughWhPerKm(), m.chem.NominalV*m.series)), 10)
		m.fillTrip(&x.e, x.r)
	}
	x.own = conditions{trip: x.e.trip, packC: x.e.packC}
	x.warmOn()
	x.closeWay()
	x.findEffects()
	x.findDoubts()
	x.x0, x.xSd = fit.startDeficit(i)
	x.noise = fit.rideNoise(i)
	x.setGains()
	return x
}

// warmOn says over how much of a full charge the pack's temperature was
// measured: a ride that ended before is too short to tell all of it.
func (x *explainer) warmOn() {
	switch {
	case !known(x.e.packC):
	case x.e.stop == "limit":
		x.own.whole = 1
	default:
		x.own.whole = min(x.e.km*x.fit.f.p.c.road.WhPerKm(x.e.trip)/(x.fit.m.ratedAh*x.fit.m.chem.NominalV*x.fit.m.series), 1)
	}
}

// findEffects parts the ride's groups by cause.
func (x *explainer) findEffects() {
	m := x.fit.m
	for _, g := range m.knownEffects(x.r) {
		switch m.groupKind[g] {
		case groupRoute:
			x.effects[causeRoute] = append(x.effects[causeRoute], share{g, 1})
		case groupRider:
			x.effects[causeMass] = append(x.effects[causeMass], share{g, 1})
		case groupBoard, groupTyres: // what rolls
			x.effects[causeTyre] = append(x.effects[causeTyre], share{g, 1})
		case groupCasual: // starts, stops and haste
			x.effects[causeSpeed] = append(x.effects[causeSpeed], share{g, 1})
		case groupSession:
			x.session = append(x.session, g)
		}
	}
	for _, g := range x.e.effects {
		if m.groupKind[g] == groupWritten {
			x.written = append(x.written, g)
		}
	}
}

// startDeficit is the deficit with which a ride began, as the filter came to
// believe, and its standard deviation: what was carried to it and what its
// rest voltage said.
func (fit *Fit) startDeficit(i int) (mean, sd float64) {
	m, e, carry := fit.m, &fit.m.events[i], &fit.f.p.carry[i]
	c := fit.f.p.c
	v := carry.start.p
	if carry.reset {
		v = square(.02)
		if known(e.startV) {
			v = square(.3)
		}
	}
	if known(e.startV) && !fit.f.p.rejected(i, obStartV) {
		volts, slope := c.curveAfter(m, e.usualLoss).OCV(m.fullSoc(c, e.fullV) - carry.x0)
		gap, read := volts+c.voltOffset-e.startV, e.voltVar+c.restVar(m, e)
		apart := square(gap) > 9*(v*square(slope)+read)
		v = 1 / (1/v + square(slope)/read)
		if apart { // what came before and the volts do not go together: it may be either
			v += min(square(gap/slope)/3, square(.3))
		}
	}
	return carry.x0, math.Sqrt(v)
}

// start draws the deficit with which the ride began: not above full, and with
// what the ride took still in the pack.
func (x *explainer) start() float64 {
	const overFull = .03
	least, most := -overFull, .95 // at which a limit is met, or so
	if x.e.stop != "limit" && x.e.stop != "cutoff" {
		most -= x.e.share
	}
	x0 := x.x0 + math.Hypot(x.xSd, fullDoubt)*x.rng.NormFloat64()
	if x.xSd > overFull && (x0 < least || x0 > most) {
		x0 = least + (most-least)*x.rng.Float64()
	}
	return x0
}

// weights of Shapley: of a set of k among the n-1 others, k!·(n-1-k)!/n!.
var shapleyWeights = func() (w [numCauses]float64) {
	w[0] = 1.0 / numCauses
	for k := 1; k < numCauses; k++ {
		w[k] = w[k-1] * float64(k) / float64(numCauses-k)
	}
	return w
}()

// shapley parts f over all sets of causes.
func shapley(f *[1 << numCauses]float64) (out [numCauses]float64) {
	for i := range numCauses {
		for set := range f {
			if set&(1<<i) == 0 {
				out[i] += shapleyWeights[bits.OnesCount(uint(set))] * (f[set|1<<i] - f[set])
			}
		}
	}
	return out
}

func (x *explainer) explain() *Explanation {
	n := len(x.fit.draws)
	mk := func() Draws { return make(Draws, n) }
	out := &Explanation{Ride: x.r, ReferenceKm: mk(), RideKm: mk(), UnexplainedKm: mk(), Assumed: x.assumed(), Measured: x.noise.atLimit && x.noise.seen, Residual: x.noise.seen, Doubted: x.noise.doubted}
	for i := range out.Km {
		out.Km[i] = mk()
	}
	var values [1 << numCauses]float64
	total := 0.0
	for i := range x.fit.draws {
		d := &x.fit.draws[i]
		told := x.tell(d)
		x.valuesOf(d, &told, &values)
		out.ReferenceKm[i] = values[0]
		for k, v := range shapley(&values) {
			out.Km[k][i] = v
		}
		full := values[len(values)-1]
		out.RideKm[i] = told.km(full)
		out.UnexplainedKm[i] = out.RideKm[i] - full
		total += out.RideKm[i] / float64(n)
	}
	for k := range out.Assumed {
		out.Assumed[k].HidesKm *= total
	}
	return out
}
