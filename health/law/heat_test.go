package law

import (
	"math"
	"testing"
)

// The mean of a decay against the sum of many small steps.
func TestMeanDecay(t *testing.T) {
	for _, end := range []float64{0, 1e-9, 1e-5, .3, 1.5, 20} {
		const n = 100000
		sum := 0.0
		for i := range n {
			sum += math.Exp(-end*(float64(i)+.5)/n) / n
		}
		near(t, "mean of exp(-t)", MeanDecay(end), sum, 1e-9)
	}
}

// What riding warms a pack by, against a body of one heat capacity and one
// heat loss followed through the discharge in small steps.
func TestRidingWarmth(t *testing.T) {
	for _, name := range []string{"nmc", "lfp"} {
		c, _ := ChemistryNamed(name)
		last := 0.0
		for _, rate := range []float64{.1, .3, .5, 1, 2, 3} {
			watts := c.ResistanceAhOhm * SustainedShare * rate * rate // of 1 Ah
			loss := c.heatPerAh() / (CoolHours * 3600)
			const n = 100000
			step := 3600 / rate / n
			warm, sum := 0.0, 0.0
			for range n {
				warm += step * (watts - loss*warm) / c.heatPerAh()
				sum += warm / n
			}
			near(t, name, c.RidingWarmth(rate), sum, 1e-4*sum)
			if sum < last {
				t.Errorf("%s: %g K at rate %g, %g K below it", name, sum, rate, last)
			}
			last = sum
		}
	}
}
