package model

import (
	"math"

	"packwane/health/law"
)

// rideAmpere is the mean current of a ride, by its count where that is to be
// believed; long is of one group at the pack's temperature.
func (c *cellState) rideAmpere(m *machine, e *event, counted bool, lnWhPerKm, long float64) float64 {
	usual := min(m.usual.cRate, mostRate) * m.ratedAh
	by := math.NaN()
	if counted && known(e.ah) && e.hours > 0 {
		by = min(e.ah/e.hours, mostRate*m.ratedAh)
	}
	switch {
	case !known(e.km):
		return orNum(by, usual)
	case by < 2*usual && by > usual/2:
		return by
	}
	ampere := c.amperes(m, math.Exp(lnWhPerKm), e.trip.SpeedMs, long)
	if known(by) && !far(by, ampere, farCurrent) {
		return by
	}
	return ampere // the charge or the time is a misreading, or there is none
}

// farCurrent is how far, as a factor, the current of a ride may lie from the usual one
// and from what its speed takes before its count is doubted.
const farCurrent = 3.0

// counted reports whether a ride's charge and time may tell its current.
func (p *pass) counted(i int, e *event) bool {
	return !p.rejected(i, obAh) && !(e.hoursByKm && p.rejected(i, obDistance))
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
