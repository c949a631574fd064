package model

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestLostBefore: how often a pack is taken to have been bought used, and what it had
// lost then, against sums over what may have been: a pack that is 20 % under its rating
// was used, one that is at it was likely new.
func TestLostBefore(t *testing.T) {
	m := &machine{ratedSd: .06}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, test := range []struct{ lnOverRated, leastUsed, mostUsed, leastLost, mostLost float64 }{
		{0, .05, .25, .01, .06},
		{math.Log(.8), .9, 1, .14, .22},
		{math.Log(1.1), 0, .1, 0, .05},
	} {
		used, lost, n := 0.0, 0.0, 4000.0
		for range int(n) {
			if l := m.lostBefore(test.lnOverRated, rng); l > 0 {
				used += 1 / n
				lost += l / n
			}
		}
		if used < test.leastUsed || used > test.mostUsed {
			t.Errorf("%.2f of the rating: used in %.2f, want %g to %g", math.Exp(test.lnOverRated), used, test.leastUsed, test.mostUsed)
		}
		if mean := lost / math.Max(used, 1e-9); used > .02 && (mean < test.leastLost || mean > test.mostLost) {
			t.Errorf("%.2f of the rating: used ones had lost %.3f, want %g to %g", math.Exp(test.lnOverRated), mean, test.leastLost, test.mostLost)
		}
	}
	if l := m.lostBefore(-3, rng); l < 0 || l > .6 {
		t.Errorf("far under the rating: %g", l)
	}
}
