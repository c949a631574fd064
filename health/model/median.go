package model

import (
	"math"
	"slices"
)

func square(x float64) float64 { return float64(x * x) }

// median is NaN where there are no values.
func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return middle(s)
}

// middle is the median of values in order; NaN where there are none.
func middle(s []float64) float64 {
	n := len(s)
	switch {
	case n == 0:
		return math.NaN()
	case n%2 == 0:
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[n/2]
}

// robustSd is 1.4826 times the median absolute deviation.
func robustSd(v []float64) float64 {
	mid := median(v)
	dev := make([]float64, len(v))
	for i, x := range v {
		dev[i] = math.Abs(x - mid)
	}
	slices.Sort(dev)
	return 1.4826 * middle(dev)
}
