package model

import (
	"math"
	"testing"
)

// firstBelow is held against the roots of functions that have them in closed
// form: straight, bent at the root, flat before it, and steep behind.
func TestFirstBelow(t *testing.T) {
	for _, c := range []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		root   float64
	}{
		{"straight", func(x float64) float64 { return 300 - x }, 60, 1000, 300},
		{"a knee at the root", func(x float64) float64 { return min(1e-3*(500-x), 5*(500-x)) }, 60, 10957, 500},
		{"an exponential", func(x float64) float64 { return math.Exp(-x/900) - .7 }, 0, 10957, -900 * math.Log(.7)},
		{"a step", func(x float64) float64 { return .4 - math.Floor(x/777.7) }, 0, 900, 777.7},
		{"at the low end", func(x float64) float64 { return -x }, 0, 60, 0},
		{"a square root", func(x float64) float64 { return .2 - .01*math.Sqrt(x) }, 0, 10957, 400},
	} {
		calls := 0
		f := func(x float64) float64 { calls++; return c.f(x) }
		got := firstBelow(f, c.lo, c.hi, c.f(c.lo), c.f(c.hi))
		if math.Abs(got-c.root) > 1e-3 || c.f(got) >= 0 {
			t.Errorf("%s: %v after %d calls, want %v", c.name, got, calls, c.root)
		}
		t.Logf("%s: %d calls", c.name, calls)
	}
}
