package model

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// column is one column of the Jacobian: the derivatives of the whitened
// residuals from row lo on. Rows outside are zero.
type column struct {
	lo int
	d  []float64
}

// normalSum adds up the normal matrix JᵀJ and the gradient Jᵀr of a Jacobian
// that comes in parts of some rows.
type normalSum struct {
	a *mat.SymDense
	g []float64
}

func newNormalSum(n int) *normalSum { return &normalSum{mat.NewSymDense(n, nil), make([]float64, n)} }

// add takes in the columns of some rows and their residuals.
func (s *normalSum) add(cols []column, r []float64) {
	n := len(cols)
	a := s.a.RawSymmetric()
	for i := range cols {
		ci := &cols[i]
		if len(ci.d) == 0 {
			continue
		}
		s.g[i] += overlap(ci, &column{d: r})
		row := a.Data[i*a.Stride:][:n]
		for j := i; j < n; j++ {
			row[j] += overlap(ci, &cols[j])
		}
	}
}

// overlap is the inner product of two columns.
func overlap(a, b *column) float64 {
	lo, hi := max(a.lo, b.lo), min(a.lo+len(a.d), b.lo+len(b.d))
	if lo >= hi {
		return 0
	}
	return floats.Dot(a.d[lo-a.lo:hi-a.lo], b.d[lo-b.lo:hi-b.lo])
}

// problem is a least-squares problem with a Gaussian prior: minimise
// cost(z) = Σ loss(r(z)) + ½·zᵀ·prior·z.
type problem interface {
	// cost evaluates the problem at z and makes it the point of the next normal.
	cost(z []float64) float64
	// normal returns the normal matrix and the gradient of the whitened residuals
	// at the last point, which z is.
	normal(z []float64) (*mat.SymDense, []float64)
	// prior returns the precision of z about 0.
	prior() *mat.SymDense
}

// Status says how a fit ended.
type Status string

// How a fit can end.
const (
	Converged Status = "converged"
	Stalled   Status = "stalled"    // no step made the cost smaller
	Stopped   Status = "stopped"    // the most iterations were made
	NoRecords Status = "no_records" // nothing to fit: the prior
)

// mostIterations is how many steps a fit may take, mostBefore before the misreadings are out.
const (
	mostIterations = 48
	mostBefore     = 12
)

// As many as stillSteps steps that together make the cost smaller by less than stillGain are
// the end, where it is within nearLeast of the least of all: the gradient holds gains and
// weights fixed, and what is left of it goes to and fro about a mode that is flat there.
const (
	stillSteps = 3
	stillGain  = .1
	nearLeast  = 1
)

// mayRise is by how much a step may raise the cost and still be taken: the
// gradient holds gains and weights fixed, so that near the end a good step may
// seem to climb by a fraction of what one standard deviation costs.
const mayRise = .2

// nearlyThere is the gain of a step that no longer matters: half a standard
// deviation in one direction.
const nearlyThere = .25

// minimise makes damped Gauss-Newton steps from z, which it changes, until a
// step gains less than enough (gᵀd, twice the gain of a whole step: 1 is one
// standard deviation of the posterior in one direction). It returns the
// precision there (JᵀJ + prior), the cost and how it ended. A step that
// raises the cost is tried again shorter. It makes no more than most steps.
func minimise(p problem, z []float64, enough float64, most int) (*mat.SymDense, float64, Status) {
	n := len(z)
	prior := p.prior()
	full := func(z []float64) float64 { return p.cost(z) + priorCost(prior, z) }
	cost := full(z)
	damp := 1e-6
	trial := make([]float64, n)
	var h *mat.SymDense
	last, whole := math.Inf(1), 1.0
	var costs []float64
	for range most {
		var g []float64
		h, g = p.normal(z)
		h.AddSym(h, prior)
		for i := range n {
			for j := range n {
				g[i] += prior.At(i, j) * z[j]
			}
		}
		moved, decrement, before := false, 0.0, cost
		for range 8 {
			d := newtonStep(h, g, damp)
			if d == nil {
				damp = max(damp*10, 1e-6)
				continue
			}
			decrement = 0
			for i := range n {
				step := whole * min(max(d[i], -2), 2)
				trial[i] = z[i] - step
				decrement += g[i] * step / whole
			}
			if now := full(trial); now < cost+mayRise {
				moved = true
				copy(z, trial)
				cost = now
				damp = max(damp/10, 1e-8)
				break
			}
			damp = max(damp*20, 1e-3)
		}
		switch {
		case !moved:
			cost = full(z)
			if decrement < 10*enough {
				return h, cost, Converged
			}
			return h, cost, Stalled
		case decrement < enough, last < decrement && decrement < nearlyThere: // or to and fro, within what no interval shows
			return h, cost, Converged
		}
		// share is how much of the gain came true that the gradient promised.
		switch share := (before - cost) / (decrement * whole * (1 - whole/2)); {
		case share < .25 && decrement > .8*last && decrement < 10:
			whole = max(whole/2, .25) // to and fro: meet in the middle
		case share > .75 || decrement < .5*last:
			whole = min(2*whole, 1)
		}
		last = decrement
		costs = append(costs, cost)
		if n := len(costs); n > stillSteps && costs[n-1-stillSteps]-cost < stillGain && cost < slices.Min(costs)+nearLeast {
			return h, cost, Converged
		}
	}
	if last < nearlyThere {
		return h, cost, Converged
	}
	return h, cost, Stopped
}

func priorCost(prior *mat.SymDense, z []float64) float64 {
	sum := 0.0
	for i := range z {
		for j := range z {
			sum += z[i] * prior.At(i, j) * z[j]
		}
	}
	return sum / 2
}

// newtonStep solves (h + damp·diag h)·d = g; nil where that is not positive
// definite.
func newtonStep(h *mat.SymDense, g []float64, damp float64) []float64 {
	n := len(g)
	a := mat.NewSymDense(n, nil)
	a.CopySym(h)
	for i := range n {
		a.SetSym(i, i, h.At(i, i)*(1+damp))
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&x, mat.NewVecDense(n, g)) != nil {
		return nil
	}
	return x.RawVector().Data
}
