package model

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

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

// How often, where and how sharply cells turn: of the twelve families of the
// library five do (UR18650E at 14 %, APR18650M1A from 7 %, 25 °C NCA at 11 %,
// CS2 at 13 %, 35 °C NCA mildly); 124 LFP cells did at 3 to 5 % (Fermín-Cueto
// et al. 2020). A shape that has its own knee gets another more seldom.
const (
	kneeShare, kneeAgain  = .45, .15
	kneeOnset, kneeSpread = .11, .45 // median and standard deviation of the logarithm
	kneeSteeper           = 2.8      // median
	kneeSteeperSpread     = .45
)

// drawKnee draws a knee that has not come by the share lost so far.
func drawKnee(shape *law.Shape, lost float64, rng *rand.Rand) knee {
	chance := kneeShare
	if shape.Loss[len(shape.Loss)-2] > .28 { // at 1.35 lives: a straight line is at 0.27
		chance = kneeAgain
	}
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
// cells of one family do from each other.
type fadePrior struct {
	mean, sd [4]float64
	q        float64
}

// lnRatedSd is how far the whole capacity of a new pack lies from its rating:
// common practice, no source (cells 2 to 4 %, packs of unknown make more).
const (
	lnRatedSd = .06
	warpSd    = .35
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
		sd:   [4]float64{lnRatedSd, m.chem.CyclesTo80Spread, warpSd, m.chem.CalendarSpread},
		q:    m.chem.CalendarExponent,
	}
}

// lnC returns ln C at an age, and its derivatives by lnC0, lnN, lnWarp, lnB.
func (f *fade) lnC(cycles, years float64) (float64, [4]float64) {
	d := [4]float64{1}
	loss := 0.0
	if cycles > 0 {
		lnX := math.Log(cycles) - f.lnN
		warp := math.Exp(f.lnWarp)
		x := math.Exp(min(warp*lnX, 5))
		var slope float64
		loss, slope = f.shape.LossAt(x)
		loss, slope = f.knee.bend(loss, slope)
		d[1] = -slope * x * warp
		d[2] = slope * x * warp * lnX
	}
	calendar := law.CalendarLoss(math.Exp(f.lnB), years, f.q)
	left := 1 - loss - calendar
	if left < leastLeft {
		return f.lnC0 + math.Log(leastLeft), d
	}
	d[1], d[2], d[3] = -d[1]/left, -d[2]/left, -calendar/left
	return f.lnC0 + math.Log(left), d
}

// evidence is what the records say of ln C at the knots, free of the knots'
// weak prior: a Gaussian likelihood of precision l and information vector h.
type evidence struct {
	cycles, years []float64 // of the knots
	l             *mat.SymDense
	h             []float64
}

// The departure of a pack from any fade: a stationary part that wanders with
// age and one of its own for each knot. Set on simulated packs and the given
// cells (see the tests of coverage).
const (
	wanderSd  = .009
	wanderAge = .15 // of the age at which 20 % is lost
	nuggetSd  = .0025
)

// departure is the covariance of the departures at the knots.
func (e *evidence) departure(life float64) *mat.SymDense {
	n := len(e.cycles)
	d := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			away := math.Abs(e.cycles[i]-e.cycles[j])/life + math.Abs(e.years[i]-e.years[j])/10
			v := square(wanderSd) * math.Exp(-away/wanderAge)
			if i == j {
				v += square(nuggetSd)
			}
			d.SetSym(i, j, v)
		}
	}
	return d
}

// candidate is one shape that a pack's fade may follow, with the prior of its
// numbers and its weight before the evidence.
type candidate struct {
	shape  *law.Shape
	prior  fadePrior
	weight float64
}

// candidates lists the shapes with their weights: families share theirs among
// their cells, those of the pack's own chemistry count double, and siblings,
// cells of the same make in the same hands, together twice as much as all the
// rest.
func candidates(prior fadePrior, chemistry string, shapes []law.Shape, siblings []Sibling) []candidate {
	size := map[string]int{}
	for i := range shapes {
		size[shapes[i].Family]++
	}
	var out []candidate
	total := 0.0
	for i := range shapes {
		w := 1 / float64(size[shapes[i].Family])
		if shapes[i].Chemistry == chemistry {
			w *= 2
		}
		total += w
		out = append(out, candidate{&shapes[i], prior, w})
	}
	for i := range siblings {
		s := &siblings[i]
		out = append(out, candidate{&s.Shape, s.prior(prior), 2 * total / float64(len(siblings))})
	}
	return out
}

// component is one candidate's part of the mixture.
type component struct {
	fade     fade // at its mode
	prior    fadePrior
	chol     mat.Cholesky // of the precision of its four numbers
	lnWeight float64
}

// mixture is the posterior over fades.
type mixture struct {
	e       *evidence
	life    float64
	parts   []component
	dInv    *mat.SymDense // inverse of the departures' covariance
	m       mat.Cholesky  // of l + dInv
	lnTotal float64
}

// weigh fits every candidate to the evidence and weighs it; life is the scale
// of age, in cycles, over which a pack departs from any fade.
func weigh(e *evidence, life float64, list []candidate) *mixture {
	mix := &mixture{e: e, life: life}
	n := len(e.cycles)
	d := e.departure(life)
	var dc mat.Cholesky
	if !dc.Factorize(d) {
		panic("model: the departures' covariance is not positive definite")
	}
	mix.dInv = mat.NewSymDense(n, nil)
	must(dc.InverseTo(mix.dInv))
	sum := mat.NewSymDense(n, nil)
	sum.AddSym(e.l, mix.dInv)
	if !mix.m.Factorize(sum) {
		panic("model: the evidence's precision is not positive definite")
	}
	// With the departures integrated out, a fade f has the log likelihood
	// -½·fᵀQf + fᵀv, Q = D⁻¹ - D⁻¹M⁻¹D⁻¹, v = D⁻¹M⁻¹h.
	var mInvD mat.Dense
	must(mix.m.SolveTo(&mInvD, mix.dInv))
	var q mat.Dense
	q.Mul(mix.dInv, &mInvD)
	q.Sub(mix.dInv, &q)
	v := mat.NewVecDense(n, nil)
	v.MulVec(mInvD.T(), mat.NewVecDense(n, e.h))
	best := math.Inf(-1)
	for _, l := range list {
		c := mix.fit(l, &q, v)
		c.lnWeight += math.Log(l.weight)
		best = max(best, c.lnWeight)
		mix.parts = append(mix.parts, c)
	}
	total := 0.0
	for i := range mix.parts {
		mix.parts[i].lnWeight -= best
		total += math.Exp(mix.parts[i].lnWeight)
	}
	mix.lnTotal = math.Log(total)
	return mix
}

func must(err error) {
	if err != nil {
		if _, ok := err.(mat.Condition); !ok {
			panic("model: " + err.Error())
		}
	}
}

func (f *fade) numbers() [4]float64 { return [4]float64{f.lnC0, f.lnN, f.lnWarp, f.lnB} }

func (f *fade) set(v [4]float64) { f.lnC0, f.lnN, f.lnWarp, f.lnB = v[0], v[1], v[2], v[3] }

// objective returns the log posterior of a fade, its gradient and the
// Gauss-Newton precision.
func (mix *mixture) objective(f *fade, prior *fadePrior, q *mat.Dense, v *mat.VecDense) (lp float64, g [4]float64, h [4][4]float64) {
	n := len(mix.e.cycles)
	value := make([]float64, n)
	slope := make([][4]float64, n)
	for i := range n {
		value[i], slope[i] = f.lnC(mix.e.cycles[i], mix.e.years[i])
	}
	at := f.numbers()
	for a := range 4 {
		z := (at[a] - prior.mean[a]) / prior.sd[a]
		lp -= z * z / 2
		g[a] = -z / prior.sd[a]
		h[a][a] = 1 / square(prior.sd[a])
	}
	for i := range n {
		qf := 0.0
		var qs [4]float64
		for j := range n {
			w := q.At(i, j)
			qf += w * value[j]
			for a := range 4 {
				qs[a] += w * slope[j][a]
			}
		}
		lp += value[i] * (v.AtVec(i) - qf/2)
		for a := range 4 {
			g[a] += slope[i][a] * (v.AtVec(i) - qf)
			for b := range 4 {
				h[a][b] += slope[i][a] * qs[b]
			}
		}
	}
	return lp, g, h
}

// fit finds the mode of one shape's four numbers by damped Newton steps from
// a few starting lives, and the logarithm of its share of the evidence by
// Laplace's approximation.
func (mix *mixture) fit(l candidate, q *mat.Dense, v *mat.VecDense) component {
	prior := &l.prior
	var best component
	bestLp := math.Inf(-1)
	for _, start := range []float64{-.7, .7} {
		f := fade{shape: l.shape, q: prior.q}
		at := prior.mean
		at[1] += start * prior.sd[1]
		f.set(at)
		lp, g, h := mix.objective(&f, prior, q, v)
		damp := 1e-3
		for range 40 {
			step, ok := solve4(h, g, damp)
			if !ok {
				damp *= 10
				continue
			}
			trial := f
			next := f.numbers()
			biggest := 0.0
			for a := range 4 {
				s := min(max(step[a], -.7), .7)
				next[a] += s
				biggest = max(biggest, math.Abs(s)/prior.sd[a])
			}
			trial.set(next)
			if tlp, tg, th := mix.objective(&trial, prior, q, v); tlp >= lp {
				f, lp, g, h = trial, tlp, tg, th
				damp = max(damp/10, 1e-9)
				if biggest < 1e-3 {
					break
				}
			} else if damp *= 10; damp > 1e8 {
				break
			}
		}
		if lp > bestLp {
			bestLp = lp
			best = component{fade: f, prior: l.prior}
			sym := mat.NewSymDense(4, nil)
			for a := range 4 {
				for b := a; b < 4; b++ {
					sym.SetSym(a, b, h[a][b])
				}
			}
			if !best.chol.Factorize(sym) {
				panic("model: a fade's precision is not positive definite")
			}
			best.lnWeight = lp - best.chol.LogDet()/2
		}
	}
	return best
}

func solve4(h [4][4]float64, g [4]float64, damp float64) (x [4]float64, ok bool) {
	sym := mat.NewSymDense(4, nil)
	for a := range 4 {
		for b := a; b < 4; b++ {
			sym.SetSym(a, b, h[a][b])
		}
		sym.SetSym(a, a, h[a][a]*(1+damp))
	}
	var chol mat.Cholesky
	var out mat.VecDense
	if !chol.Factorize(sym) || chol.SolveVecTo(&out, mat.NewVecDense(4, g[:])) != nil {
		return x, false
	}
	copy(x[:], out.RawVector().Data)
	return x, true
}
