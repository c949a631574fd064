package model

import (
	"math"

	"packwane/health/law"
)

// referencePoint is what a full cycle at reference conditions is at one age.
type referencePoint struct {
	ah, wh, km, whPerKm float64
	ampere              float64
}

// referenceAh returns the contract's capacity_ah for a whole capacity lnC at
// an age.
func (c *cellState) referenceAh(m *machine, lnC, years, cycles float64) float64 {
	return c.reference(m, lnC, years, cycles, even(m.ref.packC), &m.ref.trip).ah
}

// reference works out one full cycle to the limit with the pack as warm as t and,
// on the road, the trip's conditions: started full and balanced.
func (c *cellState) reference(m *machine, lnC, years, cycles float64, t heat, trip *law.Trip) referencePoint {
	var r referencePoint
	peak := 1.0
	if m.ref.bench {
		r.ampere = m.ref.ampere
		r.whPerKm = math.NaN()
	} else {
		peak = c.peak
		r.whPerKm = c.road.WhPerKm(*trip) * math.Exp(c.referenceEffect(m))
		r.ampere = r.whPerKm * trip.SpeedMs * law.KmhPerMs / (m.chem.NominalV * m.series)
	}
	r.ampere = min(r.ampere, 6*m.ratedAh)
	r.ah = c.deficitAtLimit(m, lnC, years, cycles, t.end, r.ampere, peak, m.ref.limitV, m.ref.fullV)
	capacity := math.Exp(lnC)
	full := m.fullSoc(c, m.ref.fullV)
	ohm := c.groupOhm(lnC, years, cycles) * c.thermal.Factor(t.mean)
	end := full - r.ah/capacity
	volts := c.curve.MeanV(full, end) - float64(r.ampere*ohm*c.sustained*law.MeanLowCharge(max(full, 0), max(end, 0), c.steepness))
	r.wh = r.ah * max(volts, .3*m.chem.NominalV) * m.series
	r.km = r.wh / r.whPerKm
	return r
}

// referenceEffect is ln of the factor that the reference route and riders put
// on the consumption.
func (c *cellState) referenceEffect(m *machine) float64 {
	sum := 0.0
	for _, e := range m.ref.effects {
		sum += float64(e.w * c.groups[e.group])
	}
	return sum
}
