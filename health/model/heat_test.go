package model

import (
	"math"
	"testing"

	"packwane/health/law"
	"packwane/health/simulate"
)

// Resistance follows the capacity lost without a bend wherever the capacity as
// new lies: a log in which resistance grows ever faster would else take the bend
// for its capacity as new, which no record of it tells.
func TestResistanceFollowsLossWithoutABend(t *testing.T) {
	c := cellState{resistance: .01, growthLoss: 1, lnC: []float64{0}}
	grows := func(lnC float64) float64 { // for each further hundredth of the capacity
		return math.Log(c.groupOhm(lnC-.01, 1, 50) / c.groupOhm(lnC, 1, 50))
	}
	for lnC := -.3; lnC < .2; lnC += .01 {
		if bend := grows(lnC)/grows(lnC+.01) - 1; math.Abs(bend) > .02 {
			t.Errorf("at %.2f of ln C over as new resistance turns by %.0f %%", lnC, 100*bend)
		}
	}
}

// A pack that rides in the cold warms itself more than the same one in summer,
// is warmer where the limit is met than on average, and the less the shorter it
// rides.
func TestHeatOfARide(t *testing.T) {
	_, fit := fitSimulated(t, simulate.Rich, 5)
	c := &fit.draws[0].cell
	c.room = 0
	warmth := func(airC, share float64) float64 { return c.heatOn(airC, fit.m.warming.Over(share)).mean - airC }
	for airC := -10.0; airC < 35; airC += 5 {
		if cold, warm := warmth(airC, 1), warmth(airC+5, 1); cold <= warm || cold > 1.5*warm {
			t.Errorf("riding warms by %.2f K at %g °C and by %.2f K at 5 more", cold, airC, warm)
		}
		if half, whole := warmth(airC, .5), warmth(airC, 1); half >= whole {
			t.Errorf("at %g °C half a charge warms by %.2f K, all of it by %.2f", airC, half, whole)
		}
		if h := c.heatOnWhole(airC); h.end <= h.mean {
			t.Errorf("at %g °C the pack ends at %.1f °C, no warmer than %.1f on average", airC, h.end, h.mean)
		}
	}
	if got := c.heatOn(25-c.warm, law.Course{Risen: c.whole.Risen}).mean; math.Abs(got-25) > .01 {
		t.Errorf("a pack that warms to 25 °C warms by the figure for 25 °C: ends at %.3f", got)
	}
}
