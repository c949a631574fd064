package model

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// mostLeverage bounds how far a residual is blown up for what its own figure
// pulled the fit towards it.
const mostLeverage = .8

// toldRows are the figures that tell of a noise, with their rows of the Jacobian.
type toldRows struct {
	at   []int     // on the tape
	rows []float64 // one after the other
}

// noiseKind is one of the noises that are estimated beside the parameters.
type noiseKind uint8

const (
	noNoise noiseKind = iota
	ofRoad
	ofLimit
)

// noiseOf says of which noise an entry of the tape tells.
func (f *fitter) noiseOf(t *tapeEntry) noiseKind {
	if t.event < 0 || t.rejected {
		return noNoise
	}
	e := &f.m.events[t.event]
	switch {
	case t.kind == obDistance:
		return ofRoad
	case e.kind == evRide && e.stop == "limit" && (t.kind == obAh || t.kind == obWh && !known(e.ah)):
		return ofLimit
	}
	return noNoise
}

// leverage is how much of its figure the fit gives back to a reading: its entry
// on the diagonal of the hat matrix J·H⁻¹·Jᵀ. It writes over the row.
func leverage(u blas64.Triangular, row []float64) float64 {
	return min(lengthIn(u, row), mostLeverage)
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
	var chol mat.Cholesky
	if !chol.Factorize(hessian) {
		return false
	}
	u := chol.RawU().(mat.RawTriangular).RawTriangular()
	const priorReadings = 5.0
	var resid, other [ofLimit + 1][]float64
	scale := [...]float64{ofRoad: m.scale.consumption, ofLimit: m.scale.limit}
	n := len(f.cols)
	for k, at := range f.told.at {
		t := &f.p.tape[at]
		of := f.noiseOf(t)
		resid[of] = append(resid[of], t.resid*t.sd/math.Sqrt(1-leverage(u, f.told.rows[k*n:][:n])))
		other[of] = append(other[of], max(t.sd*t.sd-square(scale[of]), 0))
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
	now.consumption = min(estimate(now.consumption, priorScales.consumption, resid[ofRoad], other[ofRoad]), mostScale)
	now.limit = min(estimate(now.limit, priorScales.limit, resid[ofLimit], other[ofLimit]), mostScale)
	if math.Abs(math.Log(now.consumption/m.scale.consumption)) < .1 && math.Abs(math.Log(now.limit/m.scale.limit)) < .1 {
		return false
	}
	m.scale = now
	return true
}
