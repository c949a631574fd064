package model

import (
	"math"

	"packwane/health/law"
)

// wholeWarmSd is how far one ride's pack is from what its air says, K. Common
// practice, no source.
const wholeWarmSd = 3.0

// heat is the temperature of a pack over a discharge, °C: on average, and at
// its end, where the limit is met.
type heat struct{ mean, end float64 }

// even is the heat of a pack that keeps its temperature.
func even(packC float64) heat { return heat{packC, packC} }

// heatOn is the heat of a ride in that air: warm and room are the means over a
// whole charge, warm that of a pack at 25 °C.
func (c *cellState) heatOn(airC float64, ride law.Course) heat {
	rise, room := c.warm/c.whole.Risen.Mean, c.room/c.whole.Stood.Mean*(typicalIndoorC-airC)
	rise *= c.thermal.SelfWarmed(airC+float64(room*ride.Stood.Mean), float64(rise*ride.Risen.Mean))
	return heat{airC + float64(rise*ride.Risen.Mean) + float64(room*ride.Stood.Mean), airC + float64(rise*ride.Risen.End) + float64(room*ride.Stood.End)}
}

// heatOnWhole is the heat of a ride from full to the limit.
func (c *cellState) heatOnWhole(airC float64) heat { return c.heatOn(airC, c.whole) }

// heatOf is the heat of a ride of the log. A bench says nothing of how its
// temperature went on.
func (c *cellState) heatOf(e *event) heat {
	switch {
	case e.bench:
		return even(e.packC)
	case !known(e.packC):
		return c.heatOn(e.airC, e.course)
	}
	return c.heatOn(e.airC, e.course).at(e.packC)
}

// at is the heat moved to a mean that was measured.
func (t heat) at(mean float64) heat { return heat{mean, mean + t.end - t.mean} }

// packDoubt is how far one pack is from heatOn: nobody says whether it stood
// in a room or outdoors.
func (c *cellState) packDoubt(airC float64) float64 {
	return math.Hypot(wholeWarmSd, c.room*(typicalIndoorC-airC)/2)
}
