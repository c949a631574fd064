package model

import (
	"math"
	"slices"
)

// The mode is found with knots that are nearly free, the draws obey a fade: what
// else a fit says follows the knots from one to the other in straight lines. Where
// that is far, as in a log that bends its capacity from season to season to raise the
// resistance, it goes astray. Then the mode is found again with the knots held near
// where the draws have them. What holds them is taken out again, like the weak prior.
const (
	farShare   = .08 // of what a pack gives at reference conditions, between mode and draws
	heldNear   = 16  // times the precision of the weak prior
	mostNearer = 3
)

// strayed reports whether the draws lie where the mode does not tell of them.
func (fit *Fit) strayed() bool {
	if len(fit.m.events) == 0 {
		return false
	}
	shares := make([]float64, len(fit.draws))
	for i := range fit.draws {
		shares[i] = fit.draws[i].cell.builtShare(fit.m)
	}
	return math.Abs(median(shares)-fit.f.p.c.builtShare(fit.m)) > farShare
}

// nearer is the fit at a mode near its draws.
func (fit *Fit) nearer() *Fit {
	m, z := fit.m, slices.Clone(fit.z)
	middles := make([]float64, len(m.knots))
	for k := range middles {
		for i := range fit.draws {
			middles[k] += fit.draws[i].cell.lnC[k] / float64(len(fit.draws))
		}
		z[numScalars+k] = 0
	}
	m.hold(middles, heldNear)
	return settledFrom(m, z)
}

// hold gives the weak prior of the knots other middles and so many times its
// precision.
func (m *machine) hold(middles []float64, times float64) {
	for k, mid := range middles {
		m.params[numScalars+k].mean = mid
	}
	m.held = times
}
