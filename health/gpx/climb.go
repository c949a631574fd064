package gpx

import (
	"math"
	"slices"
)

// Climb and descent of a noisy profile. Summing every rise would count the
// noise; a wide fixed average would flatten the hills. So:
//
//  1. The profile is smoothed as a height whose grade drifts at random, seen
//     through noise (a smoothing spline: G. Wahba 1978, J. R. Stat. Soc. B 40,
//     364), by a Kalman filter and the smoother of H. Rauch, F. Tung and C.
//     Striebel (1965, AIAA J. 3, 1445). How much is noise the data themselves
//     say: the ratio of the two that makes them likeliest (F. Schweppe 1965,
//     IEEE Trans. Inf. Theory 11, 61). A clean profile passes unchanged.
//  2. A turn counts only once the smoothed profile has come back by a threshold
//     that the uncertainty left after smoothing hardly ever reaches; then the
//     whole way from turn to turn counts, so that hills lose nothing to it.
//
// What smoothing cannot part from hills is a slow wander of more than that:
// Summary.ClimbM comes with a warning where much of it hangs on small turns.

const (
	// The kinetic head v²/2g of 22.5 km/h: a rise of less is rolled over on
	// momentum and asks nothing more of a pack.
	leastTurnM = 2.0
	// Heights that scatter come from satellites, not from a barometer, and
	// wander by metres over minutes too, which no smoothing shows: turns of up
	// to 5 m are not believed then (common practice, no source).
	wanderTurns = 10.0 // times the scatter
	mostWanderM = 5.0
	turnNoise   = 5.0 // times the standard deviation left after smoothing
	mostAtOnce  = 6.0 // points of one bin whose noise counts as independent
	// The fastest that the grade of a road drifts, (m/m)² a metre: 5 % within
	// 12 m. Common practice, no source.
	mostDrift = 2e-4
)

// The ratios of grade drift to noise that are tried, as powers of ten, in 1/m
// per m²: first whole ones, then halves beside the best.
const (
	leastPower = -8.0
	mostPower  = 1.0
)

// smoothProfile returns the smoothed heights at the bins, and the threshold.
func smoothProfile(bins []bin) (heights []float64, threshold float64) {
	heights = make([]float64, len(bins))
	if len(bins) < 4 {
		for i, b := range bins {
			heights[i] = b.heightM
		}
		return heights, leastTurnM
	}
	best, noise2 := likeliest(bins)
	left := smoothWith(bins, best, heights)
	wander := min(mostWanderM, wanderTurns*math.Sqrt(noise2))
	return heights, max(leastTurnM, wander, turnNoise*math.Sqrt(left*noise2))
}

// likeliest returns the ratio of drift to noise that makes the bins likeliest,
// and the variance of the noise that goes with it.
func likeliest(bins []bin) (drift, noise2 float64) {
	power, fit := leastPower, math.Inf(-1)
	try := func(p float64) {
		d := math.Pow(10, p)
		if f, n := likelihood(bins, d); f > fit && d*n <= mostDrift {
			power, drift, noise2, fit = p, d, n, f
		}
	}
	for p := leastPower; p <= mostPower; p++ {
		try(p)
	}
	if math.IsInf(fit, -1) { // no road drifts so; the least is nearest to one
		drift = math.Pow(10, leastPower)
		_, noise2 = likelihood(bins, drift)
		return drift, noise2
	}
	middle := power
	try(middle - 0.5)
	try(middle + 0.5)
	return drift, noise2
}

// state is what the filter knows of height and grade: means and covariances,
// the latter over the variance of the noise of one elevation.
type state struct {
	height, grade float64
	hh, hg, gg    float64
}

// vague is a variance that says nothing: (1000 m)², and grades of any kind.
const vague = 1e6

// ahead moves the state d metres on.
func (s state) ahead(d, drift float64) state {
	s.height += s.grade * d
	s.hh += 2*d*s.hg + d*d*s.gg + drift*d*d*d/3
	s.hg += d*s.gg + drift*d*d/2
	s.gg += drift * d
	return s
}

// seen updates the state with a bin; it returns the surprise and its variance.
func (s state) seen(b bin) (next state, surprise, variance float64) {
	surprise = b.heightM - s.height
	variance = s.hh + 1/min(b.n, mostAtOnce)
	kh, kg := s.hh/variance, s.hg/variance
	next = state{
		height: s.height + kh*surprise, grade: s.grade + kg*surprise,
		hh: s.hh - kh*s.hh, hg: s.hg - kh*s.hg, gg: s.gg - kg*s.hg,
	}
	return next, surprise, variance
}

func first(b bin) state { return state{height: b.heightM, hh: vague, gg: vague} }

// likelihood returns the logarithm of the likelihood of the bins (but for a
// constant), and the variance of the noise that makes it greatest. The first
// two bins only tell where the profile begins.
func likelihood(bins []bin, drift float64) (fit, noise2 float64) {
	s := first(bins[0])
	logs, product, n := 0.0, 1.0, 0
	for i, b := range bins {
		if i > 0 {
			s = s.ahead(b.metres-bins[i-1].metres, drift)
		}
		next, e, v := s.seen(b)
		if i >= 2 {
			noise2 += e * e / v
			if product *= v; product > 1e100 || product < 1e-100 { // fewer logarithms
				logs += math.Log(product)
				product = 1
			}
			n++
		}
		s = next
	}
	logs += math.Log(product)
	noise2 = max(noise2/float64(n), 1e-6) // a millimetre
	return -0.5 * (float64(n)*math.Log(noise2) + logs), noise2
}

// smoothWith fills in the smoothed heights and returns the median variance left.
func smoothWith(bins []bin, drift float64, heights []float64) float64 {
	filtered := make([]state, len(bins))
	s := first(bins[0])
	for i, b := range bins {
		if i > 0 {
			s = s.ahead(b.metres-bins[i-1].metres, drift)
		}
		s, _, _ = s.seen(b)
		filtered[i] = s
	}
	left := make([]float64, len(bins))
	for i := len(bins) - 1; i >= 0; i-- {
		if i < len(bins)-1 {
			s = back(filtered[i], s, bins[i+1].metres-bins[i].metres, drift)
		}
		heights[i], left[i] = s.height, s.hh
	}
	slices.Sort(left)
	return max(0, left[len(left)/2])
}

// back combines the filtered state with the smoothed one d metres on (Rauch,
// Tung and Striebel, eqs. 3.28 to 3.30).
func back(now, later state, d, drift float64) state {
	p := now.ahead(d, drift)
	det := p.hh*p.gg - p.hg*p.hg
	if det <= 0 {
		return now
	}
	// gain = cov(now) transposed move / cov(predicted)
	a, b := now.hh+d*now.hg, now.hg
	c, e := now.hg+d*now.gg, now.gg
	k11, k12 := (a*p.gg-b*p.hg)/det, (b*p.hh-a*p.hg)/det
	k21, k22 := (c*p.gg-e*p.hg)/det, (e*p.hh-c*p.hg)/det
	dh, dg := later.height-p.height, later.grade-p.grade
	v11, v12, v22 := later.hh-p.hh, later.hg-p.hg, later.gg-p.gg
	return state{
		height: now.height + k11*dh + k12*dg, grade: now.grade + k21*dh + k22*dg,
		hh: now.hh + k11*k11*v11 + 2*k11*k12*v12 + k12*k12*v22,
		hg: now.hg + k11*k21*v11 + (k11*k22+k12*k21)*v12 + k12*k22*v22,
		gg: now.gg + k21*k21*v11 + 2*k21*k22*v12 + k22*k22*v22,
	}
}
