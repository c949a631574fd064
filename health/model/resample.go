package model

import (
	"math"
	"math/rand/v2"
)

// Laplace's approximation of a fade's four numbers is a poor one where the
// records tell little of them: a warp that takes the loss to nothing fits as
// well as any, and one that takes it far does not. Importance sampling
// (A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 10.4) mends it:
// proposals from a Student distribution about the mode weigh what their
// posterior is over their density, and a draw is resampled from a few of them.
const (
	proposals       = 64 // that weigh a part of the mixture
	proposalsDraw   = 8  // of which a draw is taken
	proposalFreedom = 4
)

// proposal is one fade with the logarithm of its weight.
type proposal struct {
	fade     fade
	lnWeight float64
}

// propose draws a fade about the mode of a part.
func (mix *mixture) propose(c *component, rng *rand.Rand) proposal {
	var step [4]float64
	gaussian(c.chol(), rng, step[:])
	// the square of a Student's radius; chi-square of 4 degrees from two uniforms
	wide := math.Sqrt(proposalFreedom / (-2 * math.Log(max(rng.Float64()*rng.Float64(), 1e-12))))
	f := c.fade
	at := f.numbers()
	r2 := 0.0
	for a := range 4 {
		for b := range 4 {
			r2 += step[a] * c.at(a, b) * step[b]
		}
		at[a] += wide * step[a]
	}
	r2 *= square(wide)
	f.set(at)
	return proposal{f, mix.lnPosterior(&f, &c.prior) + (proposalFreedom+4)/2*math.Log1p(r2/proposalFreedom)}
}

// at is an entry of the precision, of which the upper half is held.
func (c *component) at(a, b int) float64 { return c.precision[min(a, b)][max(a, b)] }

// evidence is the logarithm of a part's share of the evidence, beside a
// constant that all parts have in common.
func (mix *mixture) evidence(c *component, rng *rand.Rand) float64 {
	var ln [proposals]float64
	most := math.Inf(-1)
	for i := range ln {
		ln[i] = mix.propose(c, rng).lnWeight
		most = max(most, ln[i])
	}
	sum := 0.0
	for _, l := range ln {
		sum += math.Exp(l - most)
	}
	return most + math.Log(sum/proposals) - c.chol().LogDet()/2
}

// resampled draws a fade of a part.
func (mix *mixture) resampled(c *component, rng *rand.Rand) fade {
	var tried [proposalsDraw]proposal
	most := math.Inf(-1)
	for i := range tried {
		tried[i] = mix.propose(c, rng)
		most = max(most, tried[i].lnWeight)
	}
	best, sum := 0, math.Exp(tried[0].lnWeight-most)
	for i := 1; i < len(tried); i++ { // over the heaviest: over the first, a poor one made all that come after alike
		w := math.Exp(tried[i].lnWeight - most)
		if sum += w; rng.Float64()*sum < w {
			best = i
		}
	}
	return tried[best].fade
}
