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
	case e.kind == evRide && e.stop == "limit" && !f.p.rejected(int(t.event), obLimit) && (t.kind == obAh || t.kind == obWh && !known(e.ah)):
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
	var told [ofLimit + 1]noisy
	scale := [...]float64{ofRoad: m.scale.consumption, ofLimit: m.scale.limit}
	n := len(f.cols)
	for k, at := range f.told.at {
		t := &f.p.tape[at]
		of := f.noiseOf(t)
		times := 1.0
		if of == ofRoad {
			times = m.events[t.event].lever
		}
		told[of].add(t, scale[of], times, leverage(u, f.told.rows[k*n:][:n]))
	}
	now := m.scale
	now.consumption = min(told[ofRoad].scale(priorScales.consumption), mostScale)
	now.limit = min(told[ofLimit].scale(priorScales.limit), mostScale)
	if math.Abs(math.Log(now.consumption/m.scale.consumption)) < .1 && math.Abs(math.Log(now.limit/m.scale.limit)) < .1 {
		return false
	}
	m.scale = now
	return true
}

// noisy are residuals that share one noise beside others of their own.
type noisy struct{ square, other []float64 }

// add takes a residual in which the shared noise, believed to be now, counts so many times.
func (n *noisy) add(t *tapeEntry, now, times, leverage float64) {
	n.square = append(n.square, square(t.resid*t.sd/times)/(1-leverage))
	n.other = append(n.other, max(square(t.sd/times)-square(now), 0))
}

// priorReadings is how many readings the prior of a noise counts as.
const priorReadings = 5.0

// scale is the shared noise with which half of the residuals lie within what
// half of a normal distribution does, drawn towards the prior. A residual whose
// other noise is large tells little and counts for little. Up to three
// residuals have no middle: their mean square counts.
func (n *noisy) scale(prior float64) float64 {
	const half = .454936 // of a squared standard normal number lie below
	low, high := square(.2*prior), square(2*mostScale)
	weight := make([]float64, len(n.square))
	count, mean := 0.0, 0.0
	for i, s := range n.square {
		weight[i] = square(prior) / (square(prior) + n.other[i])
		count += weight[i]
		mean += weight[i] * (s - n.other[i])
	}
	if count == 0 {
		return prior
	}
	if len(n.square) < 4 {
		low = max(mean/count, low)
		high = low
	}
	for range 24 {
		mid, within := math.Sqrt(low*high), 0.0
		for i, s := range n.square {
			if s < half*(n.other[i]+mid) {
				within += weight[i]
			}
		}
		if within < count/2 {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Sqrt((count*high + priorReadings*prior*prior) / (count + priorReadings))
}
