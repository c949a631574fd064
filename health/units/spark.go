package units

import (
	"math"
	"strings"
)

var sparks = []rune("▁▂▃▄▅▆▇█")

// Spark draws a line of blocks, one a value, the smallest lowest and the
// largest highest; where all are equal they stand in the middle. What is absent
// (NaN, or not finite) is a space.
func Spark(values []float64) string {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if finite(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	span := high/2 - low/2 // halves, so that it stays finite
	var b strings.Builder
	for _, v := range values {
		switch {
		case !finite(v):
			b.WriteByte(' ')
		case span == 0:
			b.WriteRune(sparks[len(sparks)/2-1])
		default:
			share := (v/2 - low/2) / span
			b.WriteRune(sparks[min(int(share*float64(len(sparks))), len(sparks)-1)])
		}
	}
	return b.String()
}

// Shrink returns at most width values: the means of neighbours, in runs as equal
// as can be. Absent ones (NaN) are left out of a mean; a run of nothing else is
// absent. A width below 1 gives nil.
func Shrink(values []float64, width int) []float64 {
	if width < 1 {
		return nil
	}
	if len(values) <= width {
		return values
	}
	out := make([]float64, width)
	for i := range out {
		from, to := i*len(values)/width, (i+1)*len(values)/width
		sum, n := 0.0, 0.0
		for _, v := range values[from:to] {
			if finite(v) {
				sum, n = sum+v, n+1
			}
		}
		out[i] = sum / n // NaN where n is 0
	}
	return out
}
