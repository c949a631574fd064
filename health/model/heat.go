package model

import (
	"math"

	"packwane/health/law"
)

// wholeWarmSd is how far one ride's pack is from what its air says, K. Common
// practice, no source.
const wholeWarmSd = 3.0

// fullTime is how many time constants of the pack a full charge takes to ride,
// in two hours.
const fullTime = 2 / law.CoolHours

// heat is the temperature of a pack over a discharge, °C: on average, and at
// its end, where the limit is met.
type heat struct{ mean, end float64 }

// even is the heat of a pack that keeps its temperature.
func even(packC float64) heat { return heat{packC, packC} }

// decay is what is left of where a pack stood: on average over a ride, and at
// its end.
type decay struct{ mean, end float64 }

// decayOver is the decay over a share of a full charge.
func decayOver(share float64) decay {
	return decay{law.MeanDecay(fullTime * share), math.Exp(-fullTime * share)}
}

// wholeCharge is the decay over a full charge.
var wholeCharge = decayOver(1)

// heatOn is the heat of a ride in that air: warm and room are the means over a
// whole charge.
func (c *cellState) heatOn(airC float64, d decay) heat {
	warm, room := c.warm/(1-wholeCharge.mean), c.room/wholeCharge.mean*(typicalIndoorC-airC)
	return heat{airC + float64(warm*(1-d.mean)) + float64(room*d.mean), airC + float64(warm*(1-d.end)) + float64(room*d.end)}
}

// heatOf is the heat of a ride of the log. A bench says nothing of how its
// temperature went on.
func (c *cellState) heatOf(e *event) heat {
	switch {
	case e.bench:
		return even(e.packC)
	case !known(e.packC):
		return c.heatOn(e.airC, e.decay)
	}
	return c.heatOn(e.airC, e.decay).at(e.packC)
}

// at is the heat moved to a mean that was measured.
func (t heat) at(mean float64) heat { return heat{mean, mean + t.end - t.mean} }

// packDoubt is how far one pack is from heatOn: nobody says whether it stood
// in a room or outdoors.
func (c *cellState) packDoubt(airC float64) float64 {
	return math.Hypot(wholeWarmSd, c.room*(typicalIndoorC-airC)/2)
}
