package model

import (
	"math"
	"math/rand/v2"

	"packwane/health/logbook"
)

// discrepancy is how far, as standard deviations of logarithms, figures read
// off the model lie from the truth even where the records pin its parameters
// down: no law here is exact, and errors that all records share do not average
// out. Set on one group of simulated packs and tested on another.
var discrepancy = struct{ capacity, road, brought, drop, tired, resistance, warmed, growth, lost, throughput float64 }{.0045, .007, .12, .05, .08, .022, .2, .02, .07, .003}

// roadDoubt is the standard deviation of ln Wh/km at reference conditions beside
// what the parameters leave open: a constant, and a share, brought, of what wind,
// climb, tyres, speed and air each make of the rides of the log, from which the
// figure is brought to reference conditions. What nobody wrote down of wind and
// climb was assumed for all rides alike.
func (fit *Fit) roadDoubt() float64 {
	road, ref, trips := &fit.f.p.c.road, &fit.m.ref.trip, fit.m.trips()
	level := math.Log(road.WhPerKm(*ref))
	sum := square(discrepancy.road)
	for _, cause := range [...]int{causeTemperature, causeTyre, causeSpeed, causeWind, causeClimb} {
		brought := 0.0
		for i := range trips {
			trip := mixTrip(ref, &trips[i], 1<<cause)
			brought += (math.Log(road.WhPerKm(trip)) - level) / float64(len(trips))
		}
		share := discrepancy.brought
		if cause == causeWind {
			share += usualWindDoubt * fit.m.unsaid(saysWind)
		}
		sum += square(share * brought)
	}
	climb := usualClimbDoubt * fit.m.unsaid(saysClimb)
	return math.Sqrt(sum + square(climb))
}

// resistanceDoubt is the standard deviation of ln R at 25 °C beside what the
// parameters leave open: a constant, and a share, warmed, of what temperature
// makes of the pulses that the checks of the log show, or, where there are none,
// of its rides.
func (fit *Fit) resistanceDoubt() float64 {
	thermal, sum, n := &fit.f.p.c.thermal, 0.0, 0.0
	for _, kind := range [...]eventKind{evCheck, evRide} {
		for i := range fit.m.events {
			if e := &fit.m.events[i]; e.kind == kind && (kind == evRide || known(e.ohm)) {
				sum += math.Log(thermal.Factor(orNum(e.packC, e.airC)))
				n++
			}
		}
		if n > 0 {
			break
		}
	}
	return math.Hypot(discrepancy.resistance, discrepancy.warmed*sum/max(n, 1))
}

// How far what winds take where nobody wrote them down is from what is usual,
// as a share of it, and how much climbs may take of the consumption where they
// are not written down. Common practice, no source.
const usualWindDoubt, usualClimbDoubt = .4, .02

func saysWind(r *logbook.Ride) bool  { return r.HeadwindKmh.OK || r.WindKmh.OK }
func saysClimb(r *logbook.Ride) bool { return r.ClimbM.OK || r.DescentM.OK }

// unsaid is the share of the rides with a distance that do not say something.
func (m *machine) unsaid(says func(*logbook.Ride) bool) float64 {
	rides, silent := 0, 0
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide && known(e.km) {
			rides++
			if !says(e.record.(*logbook.Ride)) {
				silent++
			}
		}
	}
	return float64(silent) / float64(max(rides, 1))
}

// doubt moves a draw by the discrepancy of road and resistance.
func (c *cellState) doubt(rng *rand.Rand, roadSd, ohmSd float64) {
	road := math.Exp(roadSd * rng.NormFloat64())
	c.road.Rolling *= road
	c.road.DragAreaM2 *= road
	c.road.StandingW *= road
	c.resistance *= math.Exp(ohmSd * rng.NormFloat64())
}
