package model

import (
	"math"
	"math/rand/v2"

	"packwane/health/law"
)

// A fade is one way in which the pack's capacity may run, its whole capacity
//
//	ln C(n, t) = ln C0 + ln(1 - S((n/N)^γ) - b·t^q)
//
// for n equivalent full cycles and t years, with S the measured shape of one
// cell (law.Shapes), N the cycles at which that alone costs 20 %, γ a warp and
// b the loss by time.
type fade struct {
	shape  *law.Shape
	lnC0   float64
	lnN    float64
	lnWarp float64
	lnB    float64
	q      float64
	knee   knee

	warp, b float64 // exp of lnWarp and lnB, by set
}

// A knee is a turn for the worse that no record foretells: from a lost share
// on, each further loss comes so many times as fast.
type knee struct{ onset, steeper float64 } // onset 0: none

func (k knee) bend(loss, slope float64) (float64, float64) {
	if k.onset == 0 || loss <= k.onset {
		return loss, slope
	}
	return k.onset + (loss-k.onset)*k.steeper, slope * k.steeper
}

// How often, where and how sharply cells turn: of the eight cell models of the
// library four do (UR18650E at 14 %, APR18650M1A from 7 %, NCA at 11 % where it is
// kept at 25 °C, CS2 at 13 %), and all of 124 LFP cells did, at 3 to 5 %
// (Fermín-Cueto et al. 2020). They lose 7, 3, 2.4 and 6 times as fast from there on as in the
// middle of their lives. A shape that has its own knee gets another more
// seldom, and one that a sibling lends, which says what such cells do, hardly.
const (
	kneeLent              = .1
	kneeShare, kneeAgain  = .65, .3
	kneeOnset, kneeSpread = .11, .45 // median and standard deviation of the logarithm
	kneeSteeper           = 4.5      // median
	kneeSteeperSpread     = .45
)

// kneeChance is how likely a shape of the library turns where it did not.
func kneeChance(shape *law.Shape) float64 {
	if shape.Loss[len(shape.Loss)-2] > .28 { // at 1.35 lives: a straight line is at 0.27
		return kneeAgain
	}
	return kneeShare
}

// drawKnee draws a knee that has not come by the share lost so far; chance is
// that of one at all.
func drawKnee(chance, lost float64, rng *rand.Rand) knee {
	u, v, w := rng.Float64(), rng.Float64(), rng.NormFloat64()
	// the chance that it is still to come, given that it has not
	late := 1 - gaussCdf((math.Log(max(lost, 1e-4))-math.Log(kneeOnset))/kneeSpread)
	toCome := chance * late / (chance*late + 1 - chance)
	if u >= toCome {
		return knee{}
	}
	z := gaussQuantile(1 - late*(1-v))
	return knee{onset: min(kneeOnset*math.Exp(kneeSpread*z), .9), steeper: 1 + (kneeSteeper-1)*math.Exp(kneeSteeperSpread*w)}
}

func gaussCdf(z float64) float64 { return .5 * math.Erfc(-z/math.Sqrt2) }

func gaussQuantile(p float64) float64 {
	return math.Sqrt2 * math.Erfinv(2*min(max(p, 1e-9), 1-1e-9)-1)
}

// squareRoot is the fade by the square root of throughput that Schmalstieg et
// al. 2014 (J. Power Sources 257, 325) found for NMC cycled at moderate rates:
// a shape of its own beside the measured ones, since few cells of the library
// were used as gently as most packs are.
var squareRoot = func() law.Shape {
	s := law.Shape{Family: "square_root_law", Chemistry: ""}
	for i, x := range law.ShapeX {
		s.Loss[i] = .2 * math.Sqrt(x)
	}
	return s
}()

// The prior of a fade's four numbers. The warp lets a shape bend as far as
// forecasts of measured cells, their own model left out, ask for.
type fadePrior struct {
	mean, sd [4]float64
	q        float64
}

const (
	warpSd    = .45
	leastLeft = .02 // of the capacity, so that its logarithm exists
)

// depthLife is how the charge that a cell gives in its life grows as its cycles
// get shallower, as an exponent: Schmalstieg et al. 2014 lost 9 % by cycles of
// half depth where full ones cost 15.5 %, and 4 % where they cost 7 %.
const depthLife = .8

// depth is the usual depth of a discharge, each weighed by its charge: the
// cells that the lives come from were cycled in full.
func (m *machine) depth() float64 {
	sum, squares := .5, .5 // as half a full cycle
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide {
			sum, squares = sum+e.share, squares+square(e.share)
		}
	}
	return min(max(squares/sum, .2), 1)
}

func (m *machine) fadePrior() fadePrior {
	return fadePrior{
		mean: [4]float64{math.Log(m.ratedAh), math.Log(m.chem.CyclesTo80) - depthLife*math.Log(m.depth()), 0, math.Log(m.chem.CalendarPerYear)},
		sd:   [4]float64{m.ratedSd, m.chem.CyclesTo80Spread, warpSd, m.chem.CalendarSpread},
		q:    m.chem.CalendarExponent,
	}
}

// moment is an age with what every fade asks of it.
type moment struct {
	lnCycles float64 // -Inf for none
	yearsQ   float64 // years^q
}

func momentOf(cycles, years, q float64) moment {
	return moment{math.Log(max(cycles, 0)), law.CalendarLoss(1, years, q)}
}

// lnC returns ln C at an age, and its derivatives by lnC0, lnN, lnWarp, lnB.
func (f *fade) lnC(cycles, years float64) (float64, [4]float64) {
	return f.lnCAt(momentOf(cycles, years, f.q))
}

func (f *fade) lnCAt(t moment) (float64, [4]float64) {
	d := [4]float64{1}
	loss := 0.0
	if lnX := t.lnCycles - f.lnN; lnX > math.Inf(-1) {
		x := math.Exp(min(f.warp*lnX, 5))
		var slope float64
		loss, slope = f.shape.LossAt(x)
		loss, slope = f.knee.bend(loss, slope)
		d[1] = -slope * x * f.warp
		d[2] = slope * x * f.warp * lnX
	}
	calendar := f.b * t.yearsQ
	left := 1 - loss - calendar
	if left < leastLeft {
		return f.lnC0 + math.Log(leastLeft), d
	}
	d[1], d[2], d[3] = -d[1]/left, -d[2]/left, -calendar/left
	return f.lnC0 + math.Log(left), d
}

func (f *fade) numbers() [4]float64 { return [4]float64{f.lnC0, f.lnN, f.lnWarp, f.lnB} }

func (f *fade) set(v [4]float64) {
	f.lnC0, f.lnN, f.lnWarp, f.lnB = v[0], v[1], v[2], v[3]
	f.warp, f.b = math.Exp(f.lnWarp), math.Exp(f.lnB)
}
