package model

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"packwane/health/law"
)

// evidence is what the records say of ln C at the knots, free of the knots'
// weak prior: a Gaussian likelihood of precision l and information vector h.
type evidence struct {
	cycles, years []float64 // of the knots
	moments       []moment
	l             *mat.SymDense
	h             []float64
}

// The departure of a pack from any fade: a stationary part that wanders with
// age and one of its own for each knot. Set on simulated packs and the given
// cells (see the tests of coverage).
const (
	wanderSd  = .010
	wanderAge = .3 // of the age at which 20 % is lost
	nuggetSd  = .003
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
	knee   float64 // chance of one that the shape does not show
}

// candidates lists the shapes with their weights: families share theirs among
// their cells, and siblings, cells of the same make in the same hands, count
// together twice as much as all the rest. A cell of the pack's own chemistry
// counts no more than others: forecasts of measured cells are no better for it.
func candidates(prior fadePrior, shapes []law.Shape, siblings []Sibling) []candidate {
	size := map[string]int{}
	for i := range shapes {
		size[shapes[i].Family]++
	}
	var out []candidate
	total := 0.0
	for i := range shapes {
		w := 1 / float64(size[shapes[i].Family])
		total += w
		out = append(out, candidate{&shapes[i], prior, w, kneeChance(&shapes[i])})
	}
	for i := range siblings {
		s := &siblings[i]
		out = append(out, candidate{&s.Shape, s.prior(prior), 2 * total / float64(len(siblings)), kneeLent})
	}
	return out
}

// component is one candidate's part of the mixture.
type component struct {
	fade      fade // at its mode
	prior     fadePrior
	knee      float64       // chance of one that the shape does not show
	precision [4][4]float64 // of its four numbers
	lnWeight  float64

	factor *mat.Cholesky // of the precision, once a draw asked for it
}

// chol is the factor of the precision of the component's four numbers.
func (c *component) chol() *mat.Cholesky {
	if c.factor == nil {
		c.factor = new(mat.Cholesky)
		if !c.factor.Factorize(symmetric(&c.precision)) {
			panic("model: a fade's precision is not positive definite")
		}
	}
	return c.factor
}

// mixture is the posterior over fades.
type mixture struct {
	e       *evidence
	life    float64
	parts   []component   // the library's first, then the siblings'
	dInv    *mat.SymDense // inverse of the departures' covariance
	m       mat.Cholesky  // of l + dInv
	gain    mat.Dense     // M⁻¹D⁻¹: what the capacities at the knots take from a fade
	base    mat.VecDense  // M⁻¹h: and from the records
	q       []float64     // of objective, n by n
	v       []float64
	lnTotal float64
}

// newMixture is a mixture without parts; life is the scale of age, in cycles,
// over which a pack departs from any fade.
func newMixture(e *evidence, life float64) *mixture {
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
	must(mix.m.SolveTo(&mix.gain, mix.dInv))
	must(mix.m.SolveVecTo(&mix.base, mat.NewVecDense(n, e.h)))
	var q mat.Dense
	q.Mul(mix.dInv, &mix.gain)
	q.Sub(mix.dInv, &q)
	v := mat.NewVecDense(n, nil)
	v.MulVec(mix.gain.T(), mat.NewVecDense(n, e.h))
	mix.q, mix.v = q.RawMatrix().Data, v.RawVector().Data
	return mix
}

// add fits every candidate to the evidence and weighs it.
func (mix *mixture) add(list []candidate) {
	for i, l := range list {
		c := mix.fit(l)
		c.lnWeight = mix.evidence(&c, rand.New(rand.NewPCG(uint64(i), stream))) + math.Log(l.weight)
		mix.parts = append(mix.parts, c)
	}
}

// total sums up the weights of the parts.
func (mix *mixture) total() {
	best := math.Inf(-1)
	for i := range mix.parts {
		best = max(best, mix.parts[i].lnWeight)
	}
	sum := 0.0
	for i := range mix.parts {
		sum += math.Exp(mix.parts[i].lnWeight - best)
	}
	mix.lnTotal = best + math.Log(sum)
}

func must(err error) {
	if err != nil {
		if _, ok := err.(mat.Condition); !ok {
			panic("model: " + err.Error())
		}
	}
}

// lnPosterior is the logarithm of a fade's posterior. With the departures
// integrated out, a fade f has the log likelihood -½·fᵀQf + fᵀv,
// Q = D⁻¹ - D⁻¹M⁻¹D⁻¹, v = D⁻¹M⁻¹h.
func (mix *mixture) lnPosterior(f *fade, prior *fadePrior) float64 {
	lp := 0.0
	for a, at := range f.numbers() {
		lp -= square((at-prior.mean[a])/prior.sd[a]) / 2
	}
	n := len(mix.v)
	var room [mostKnots + 1]float64
	value := room[:n]
	for i := range value {
		value[i], _ = f.lnCAt(mix.e.moments[i])
		sum := float64(mix.q[i*n+i]*value[i]) / 2
		for j, w := range mix.q[i*n : i*n+i] {
			sum += float64(w * value[j])
		}
		lp += value[i] * (mix.v[i] - sum)
	}
	return lp
}

// objective returns lnPosterior, its gradient and the Gauss-Newton precision.
func (mix *mixture) objective(f *fade, prior *fadePrior) (lp float64, g [4]float64, h [4][4]float64) {
	n := len(mix.e.cycles)
	var room [mostKnots + 1]float64
	var slopes [mostKnots + 1][4]float64
	value, slope := room[:n], slopes[:n]
	for i := range n {
		value[i], slope[i] = f.lnCAt(mix.e.moments[i])
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
			w := mix.q[i*n+j]
			qf += w * value[j]
			for a := range 4 {
				qs[a] += w * slope[j][a]
			}
		}
		lp += value[i] * (mix.v[i] - qf/2)
		for a := range 4 {
			g[a] += slope[i][a] * (mix.v[i] - qf)
			for b := range 4 {
				h[a][b] += slope[i][a] * qs[b]
			}
		}
	}
	return lp, g, h
}

// fit finds the mode of one shape's four numbers by damped Newton steps from
// a few starting lives.
func (mix *mixture) fit(l candidate) component {
	prior := &l.prior
	var newton solver4
	var best component
	bestLp := math.Inf(-1)
	for _, start := range []float64{-.7, .7} {
		f := fade{shape: l.shape, q: prior.q}
		at := prior.mean
		at[1] += start * prior.sd[1]
		f.set(at)
		lp, g, h := mix.objective(&f, prior)
		damp := 1e-3
		for range 40 {
			step, ok := newton.solve(h, g, damp)
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
			if tlp, tg, th := mix.objective(&trial, prior); tlp >= lp {
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
			best = component{fade: f, prior: l.prior, knee: l.knee, precision: h}
		}
	}
	return best
}

// symmetric is the matrix of which h holds the upper half.
func symmetric(h *[4][4]float64) *mat.SymDense {
	sym := mat.NewSymDense(4, nil)
	for a := range 4 {
		for b := a; b < 4; b++ {
			sym.SetSym(a, b, h[a][b])
		}
	}
	return sym
}

// solver4 solves for four unknowns, in the same room each time.
type solver4 struct {
	chol mat.Cholesky
	sym  *mat.SymDense
	x    mat.VecDense
}

// solve solves (h + damp·diag h)·x = g; not ok where that is not positive definite.
func (s *solver4) solve(h [4][4]float64, g [4]float64, damp float64) (x [4]float64, ok bool) {
	if s.sym == nil {
		s.sym = mat.NewSymDense(4, nil)
	}
	for a := range 4 {
		h[a][a] *= 1 + damp
		for b := a; b < 4; b++ {
			s.sym.SetSym(a, b, h[a][b])
		}
	}
	if !s.chol.Factorize(s.sym) || s.chol.SolveVecTo(&s.x, mat.NewVecDense(4, g[:])) != nil {
		return x, false
	}
	copy(x[:], s.x.RawVector().Data)
	return x, true
}
