package model

import (
	"math"

	"packwane/health/law"
)

// referencePoint is what a full cycle at reference conditions is at one age.
type referencePoint struct {
	ah, wh, km, whPerKm float64
	ampere              float64
	ohm                 float64 // of one group at 25 °C and mid charge
}

// cycle is what of a full cycle does not depend on the pack's age: started
// full and balanced, to the limit, the pack as warm as it says.
type cycle struct {
	whPerKm     float64 // 0 on the bench
	speedMs     float64 // likewise
	peak        float64
	mean, limit ohms // what the temperature makes of the resistance, over the ride and where the limit is met
	chill       chill
	full        float64 // the level when full
	limitV      float64 // of a cell
}

// cycle prepares full cycles with the pack as warm as t and, on the road, the
// trip's conditions.
func (c *cellState) cycle(m *machine, t heat, trip *law.Trip) cycle {
	k := cycle{peak: 1, mean: c.ohmsAt(t.mean), chill: c.chillAt(t.end), full: m.fullSoc(c, m.ref.fullV), limitV: m.ref.limitV}
	if k.limit = k.mean; t.end != t.mean {
		k.limit = c.ohmsAt(t.end)
	}
	if !m.ref.bench {
		k.peak = c.peak
		k.whPerKm = c.road.WhPerKm(*trip) * math.Exp(c.referenceEffect(m))
		k.speedMs = trip.SpeedMs
	}
	return k
}

// loads is the current of a full cycle, and the resistance of one group, at an age.
func (c *cellState) loads(m *machine, k *cycle, lnC float64, a age) (ampere, ohm float64) {
	ohm = c.groupOhm(lnC, a.years, a.cycles)
	if m.ref.bench {
		return m.ref.ampere, ohm
	}
	return c.amperes(m, k.whPerKm, k.speedMs, ohm*k.mean.long), ohm
}

// shareAtLimit is what a full cycle gives, as a share of the whole capacity.
func (k *cycle) shareAtLimit(m *machine, c *cellState, ampere, ohm float64) float64 {
	return k.chill.whole() * (k.full - c.curve.SocUnderLoad(k.limitV, k.limit.times(ohm).drop(ampere, k.peak), c.steepness))
}

// cycleAh is the charge that a full cycle gives for a whole capacity lnC at an age.
func (c *cellState) cycleAh(m *machine, k *cycle, lnC float64, a age) (ah, ampere, ohm float64) {
	ampere, ohm = c.loads(m, k, lnC, a)
	return math.Exp(lnC) * max(k.shareAtLimit(m, c, ampere, ohm), givesAtLeast), ampere, ohm
}

// firstAh is cycleAh as new, down to the limit that the pack had then.
func (c *cellState) firstAh(m *machine, k cycle) float64 {
	k.limitV, k.full = m.ref.firstLimitV, m.fullSoc(c, m.ref.firstFullV)
	ah, _, _ := c.cycleAh(m, &k, c.lnC[0], age{})
	return ah
}

// referenceAh returns the contract's capacity_ah for a whole capacity lnC at
// an age.
func (c *cellState) referenceAh(m *machine, lnC, years, cycles float64) float64 {
	k := c.cycle(m, even(m.ref.packC), &m.ref.trip)
	ah, _, _ := c.cycleAh(m, &k, lnC, age{years, cycles})
	return ah
}

// builtShare is how much of what a pack would give down to its limit without load
// it gives at reference conditions at the end of the log.
func (c *cellState) builtShare(m *machine) float64 {
	lnC, a := c.lnC[0], age{}
	if n := len(m.events); n > 0 {
		e := &m.events[n-1]
		lnC, a = c.lnRested(e), age{e.years, e.cycles}
	}
	k := c.cycle(m, even(m.ref.packC), &m.ref.trip)
	ampere, ohm := c.loads(m, &k, lnC, a)
	return k.shareAtLimit(m, c, ampere, ohm) / max(k.shareAtLimit(m, c, 0, ohm), givesAtLeast)
}

// reference works out one full cycle to the limit with the pack as warm as t and,
// on the road, the trip's conditions: started full and balanced.
func (c *cellState) reference(m *machine, lnC, years, cycles float64, t heat, trip *law.Trip) referencePoint {
	k := c.cycle(m, t, trip)
	return c.through(m, &k, lnC, age{years, cycles})
}

// through works out one full cycle for a whole capacity lnC at an age.
func (c *cellState) through(m *machine, k *cycle, lnC float64, a age) referencePoint {
	ah, ampere, ohm := c.cycleAh(m, k, lnC, a)
	end := k.full - ah/math.Exp(lnC)/k.chill.drawn
	volts := c.curve.MeanV(k.full, end) - float64(ampere*ohm*k.mean.long*law.MeanLowCharge(max(k.full, 0), max(end, 0), c.steepness))
	r := referencePoint{ah: ah, wh: ah * max(volts, .3*m.chem.NominalV) * m.series, whPerKm: k.whPerKm, ampere: ampere, ohm: ohm}
	if m.ref.bench {
		r.whPerKm = math.NaN()
	}
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
