package model

import "math"

// felt is what an event feels of the parameters alone, whatever the state.
type felt struct {
	lnC, capacity float64 // from full to empty, Ah
	full, gain    float64 // charge level when full; ln of what its meter counts more
	ohm           float64 // of one series group at the pack's temperature

	// A ride.
	heat              heat
	warmC             float64 // how warm the pack may be expected to be
	ampere, lnWhPerKm float64
	limit             float64 // deficit where it meets the limit, as a share; NaN where it did not
}

// feel works out what event e feels, as far as that was moved.
func (p *pass) feel(e *event, f *felt, moved parts) {
	c, m := p.c, p.m
	if moved&(partCapacity|partTired) != 0 {
		f.lnC = c.lnCapacity(e)
		f.capacity = math.Exp(f.lnC)
	}
	if moved&partCurve != 0 {
		f.full = m.fullSoc(c, e.fullV)
	}
	if moved&partGain != 0 {
		f.gain = c.gain(m, e)
	}
	if e.kind == evRide {
		p.feelRide(e, f, moved)
	} else if e.kind == evCheck && moved&(partCapacity|partTired|partResistance) != 0 {
		f.ohm = c.groupOhm(f.lnC, e.years, e.cycles)
	}
}

func (p *pass) feelRide(e *event, f *felt, moved parts) {
	c, m := p.c, p.m
	const ofHeat = partHeat | partThermal
	const ofOhm = ofHeat | partCapacity | partTired | partResistance
	if moved&ofHeat != 0 {
		f.heat = c.heatOf(e)
		if e.warmSeen() {
			f.warmC = c.heatOn(e.airC, e.course).mean
		}
	}
	if moved&partLoad != 0 {
		f.ampere, f.lnWhPerKm = c.rideLoad(m, e)
	}
	if moved&ofOhm != 0 {
		f.ohm = c.groupOhm(f.lnC, e.years, e.cycles) * c.thermal.Factor(f.heat.mean)
	}
	if moved&(ofOhm|partLoad|partCurve|partSteepness|partSustained|partPeak|partCold) != 0 {
		f.limit = p.limitOf(e, f)
	}
}

// limitOf is the deficit, as a share, at which a ride met its limit.
func (p *pass) limitOf(e *event, f *felt) float64 {
	if !e.atLimit() {
		return math.NaN()
	}
	peak, limitV := p.c.peak, e.limitV
	if e.bench {
		peak = 1
	}
	if e.stop == "cutoff" {
		limitV = e.cutoffV
	}
	return p.c.deficitAtLimit(p.m, f.lnC, e.years, e.cycles, f.heat.end, f.ampere, peak, limitV, e.fullV) / f.capacity
}
