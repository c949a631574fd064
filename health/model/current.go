package model

import (
	"math"

	"packwane/health/law"
)

// rideAmpere is the mean current of a ride; long is of one group at the pack's
// temperature.
func (c *cellState) rideAmpere(m *machine, e *event, lnWhPerKm, long float64) float64 {
	switch {
	case known(e.ah) && known(e.hours) && e.hours > 0:
		return min(e.ah/e.hours, mostRate*m.ratedAh)
	case known(e.km):
		return c.amperes(m, math.Exp(lnWhPerKm), e.trip.SpeedMs, long)
	}
	return min(m.usual.cRate, mostRate) * m.ratedAh
}

// lnLoad is ln of the watt-hours per kilometre of a ride with a distance.
func (c *cellState) lnLoad(e *event) float64 {
	ln := math.Log(c.road.WhPerKm(e.trip))
	for _, g := range e.effects {
		ln += c.groups[g]
	}
	return ln
}

// unevenness is how much more than its mean the current of a ride lowers the
// volts.
func (c *cellState) unevenness(e *event) float64 {
	if !known(e.km) {
		return 0
	}
	return c.road.Unevenness(e.trip)
}

// mostRate is the largest current that is believed, full charges per hour.
const mostRate = 6

// amperes is the current that a consumption takes from the pack at a speed, on
// average over a full cycle: the more the volts sag, the more it takes. long is of
// one group at its temperature.
func (c *cellState) amperes(m *machine, whPerKm, speedMs, long float64) float64 {
	watts := whPerKm * speedMs * law.KmhPerMs
	drop := long * law.MeanLowCharge(1, law.EmptyAt, c.steepness)
	loaded := (c.meanV + math.Sqrt(max(square(c.meanV)-4*drop*watts/m.series, square(.2*c.meanV)))) / 2
	return min(watts/(loaded*m.series), mostRate*m.ratedAh)
}
