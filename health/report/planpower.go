package report

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// planLevel and planPower are those of a plan: a two-sided test at 5 %, and a
// difference that is really there found nine times of ten.
const (
	planLevel = .05
	planPower = .90
	mostTests = 10000
)

// testPower is the power of Student's two-sided test with a difference of
// delta standard deviations: of two groups of n each, or, paired, of n
// differences whose standard deviation is the unit. n may be any number above
// 1. What the test would find in the wrong direction is not counted.
func testPower(n, delta float64, paired bool) float64 {
	nu, shift := 2*(n-1), delta*math.Sqrt(n/2)
	if paired {
		nu, shift = n-1, delta*math.Sqrt(n)
	}
	if nu <= 0 {
		return 0
	}
	at := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(1 - planLevel/2)
	return 1 - noncentralT(at, nu, shift)
}

// noncentralT is the distribution function of the noncentral t of nu degrees
// of freedom: the mean of Φ(t·u - shift) over u = √(χ²/nu), by Simpson's rule
// (error below 1e-6 for nu of 1 and more).
func noncentralT(t, nu, shift float64) float64 {
	logNorm := math.Ln2 + nu/2*math.Log(nu/2) - lnGamma(nu/2)
	density := func(u float64) float64 {
		if u <= 0 {
			if nu == 1 {
				return math.Exp(logNorm)
			}
			return 0
		}
		return math.Exp(logNorm + (nu-1)*math.Log(u) - nu*u*u/2)
	}
	width := 9 / math.Sqrt(2*nu)
	lo, hi := math.Max(1-width, 0), 1+math.Max(width, 1)
	if nu < 8 { // skew: go as far as the chi distribution reaches
		lo, hi = 0, 7/math.Sqrt(nu)+1
	}
	const steps = 800
	h := (hi - lo) / steps
	sum := 0.0
	for i := range steps + 1 {
		u := lo + float64(i)*h
		w := 2.0
		switch {
		case i == 0 || i == steps:
			w = 1
		case i%2 == 1:
			w = 4
		}
		sum += w * density(u) * .5 * math.Erfc(-(t*u-shift)/math.Sqrt2)
	}
	return math.Min(math.Max(sum*h/3, 0), 1)
}

func lnGamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// testsFor is the number of tests, not rounded, at which delta standard
// deviations are found with planPower; +Inf beyond mostTests.
func testsFor(delta float64, paired bool) float64 {
	if !(delta > 0) || testPower(mostTests, delta, paired) < planPower {
		return math.Inf(1)
	}
	lo, hi := 1.0, 2.0
	for testPower(hi, delta, paired) < planPower {
		lo, hi = hi, hi*2
	}
	for range 36 {
		if mid := (lo + hi) / 2; testPower(mid, delta, paired) < planPower {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// detectable is the difference, in standard deviations, that n tests find with
// planPower.
func detectable(n int, paired bool) float64 {
	lo, hi := 0.0, 1.0
	for testPower(float64(n), hi, paired) < planPower {
		if lo, hi = hi, hi*2; hi > 1e4 {
			return math.Inf(1)
		}
	}
	for range 36 {
		if mid := (lo + hi) / 2; testPower(float64(n), mid, paired) < planPower {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
