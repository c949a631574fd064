package model

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// mostLeverage bounds how far a residual is blown up for what its own figure
// pulled the fit towards it.
const mostLeverage = .8

// leverage returns, for each entry of the tape, how much of its figure the fit
// gives back: the diagonal of the hat matrix J·H⁻¹·Jᵀ, with the columns of the
// last jacobian.
func (f *fitter) leverage(hessian *mat.SymDense) func(row int) float64 {
	var chol mat.Cholesky
	if !chol.Factorize(hessian) {
		return func(int) float64 { return 0 }
	}
	u := chol.RawU().(mat.RawTriangular).RawTriangular()
	row := make([]float64, len(f.cols))
	return func(k int) float64 {
		for j := range f.cols {
			c := &f.cols[j]
			row[j] = 0
			if k >= c.lo && k < c.lo+len(c.d) {
				row[j] = c.d[k-c.lo]
			}
		}
		return min(lengthIn(u, row), mostLeverage)
	}
}

// lengthIn is xᵀ·(UᵀU)⁻¹·x, the square of the length of the y that solves
// Uᵀ·y = x; it writes y over x.
func lengthIn(u blas64.Triangular, x []float64) (sum float64) {
	for i, y := range x {
		row := u.Data[i*u.Stride:][:len(x)]
		y /= row[i]
		sum += float64(y * y)
		for j := i + 1; j < len(x); j++ {
			x[j] -= float64(y * row[j])
		}
	}
	return sum
}

// rescale estimates the noises from the residuals, each drawn towards its
// prior by so many readings; it reports whether one moved by a tenth. A
// residual is smaller than its noise by what its figure bent the fit.
func (f *fitter) rescale(hessian *mat.SymDense) bool {
	m := f.m
	leverage := f.leverage(hessian)
	const priorReadings = 5.0
	var road, limit []float64
	var roadOther, limitOther []float64
	for i := range f.p.tape {
		t := &f.p.tape[i]
		if t.event < 0 || t.rejected {
			continue
		}
		e := &m.events[t.event]
		switch {
		case t.kind == obDistance:
			road = append(road, t.resid*t.sd/math.Sqrt(1-leverage(i)))
			roadOther = append(roadOther, max(t.sd*t.sd-square(m.scale.consumption), 0))
		case t.kind == obAh && e.kind == evRide && e.stop == "limit", t.kind == obWh && e.kind == evRide && e.stop == "limit" && !known(e.ah):
			limit = append(limit, t.resid*t.sd/math.Sqrt(1-leverage(i)))
			limitOther = append(limitOther, max(t.sd*t.sd-square(m.scale.limit), 0))
		}
	}
	estimate := func(now, prior float64, resid, other []float64) float64 {
		if len(resid) == 0 {
			return now
		}
		mid := median(resid)
		s2 := square(robustSd(resid))
		if len(resid) < 4 {
			s2 = 0
			for _, r := range resid {
				s2 += square(r-mid) / float64(len(resid))
			}
		}
		n := float64(len(resid))
		s2 = max(s2-median(other), square(.2*prior))
		return math.Sqrt((n*s2 + priorReadings*prior*prior) / (n + priorReadings))
	}
	now := m.scale
	now.consumption = min(estimate(now.consumption, priorScales.consumption, road, roadOther), mostScale)
	now.limit = min(estimate(now.limit, priorScales.limit, limit, limitOther), mostScale)
	if math.Abs(math.Log(now.consumption/m.scale.consumption)) < .1 && math.Abs(math.Log(now.limit/m.scale.limit)) < .1 {
		return false
	}
	m.scale = now
	return true
}
