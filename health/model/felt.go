package model

import (
	"math"

	"packwane/health/law"
)

// felt is what an event feels of the parameters, whatever the state. Beside the
// capacity and the curve most of them reach it through a few numbers alone, which
// act in straight lines or nearly so.
type felt struct {
	by [feltNumbers]float64

	lnC, capacity float64 // from full to empty, Ah
	curve         law.Aged
	full          float64 // charge level when full
	heat          heat    // of a ride
	chill         chill   // likewise
	ampere        float64
	ohm           ohms // of one series group at the temperature of a ride
}

// The numbers.
const (
	feltLost  = iota // at rest before it, as a share
	feltGain         // ln of what its meter counts more
	feltSag          // V per cell that a ride's current takes at mid charge
	feltDrop         // V per cell of it still there at the rest voltage after a ride
	feltLimit        // deficit where a ride meets the limit, as a share; NaN where it did not
	feltWarm         // °C that the pack of a ride may be expected to have
	feltChill        // ln of the share of its capacity that makes a whole on a ride: see chill
	feltLoad         // ln Wh/km
	feltWall         // ln efficiency of the charger
	feltOhm          // ln of what a check may be expected to show, Ω
	feltNumbers
)

// whole is the charge, Ah, that makes a whole of it on a ride at its temperature.
func (f *felt) whole() float64 { return f.capacity * f.chill.drawn }

// feltWith tells which events a number matters to: those that feel one of these.
var feltWith = [feltNumbers]parts{
	feltLost: partRest, feltGain: partGain | partCoulomb, feltSag: partSustained, feltDrop: partRelax,
	feltLimit: partPeak, feltWarm: partWarmSeen, feltChill: partCold, feltLoad: partLoad, feltWall: partWall, feltOhm: partOffMid,
}

// feel works out what event i feels, as far as that was moved.
func (p *pass) feel(i int, f *felt, moved parts) {
	c, m, e := p.c, p.m, &p.m.events[i]
	const ofCapacity = partCapacity | partTired
	if moved&ofCapacity != 0 {
		f.lnC = c.lnCapacity(e)
		f.capacity = math.Exp(f.lnC)
		if e.kind != evRide {
			f.chill = chill{1, 1}
		}
	}
	if moved&(ofCapacity|partRest) != 0 {
		f.by[feltLost] = min(e.gapDays*(c.standbyW*24/(m.chem.NominalV*m.series)/f.capacity+c.selfLossPerDay), .5)
	}
	if moved&partCurve != 0 {
		f.full = m.fullSoc(c, e.fullV)
		f.curve = c.curveAfter(m, e.usualLoss)
	}
	if moved&(partGain|partCoulomb) != 0 {
		f.by[feltGain] = c.gain(m, e)
		if e.kind == evCharge {
			f.by[feltGain] += math.Log1p(c.coulomb)
		}
	}
	switch e.kind {
	case evRide:
		p.feelRide(i, e, f, moved)
	case evCharge:
		if e.ac && moved&partWall != 0 {
			f.by[feltWall] = math.Log(c.wall)
		}
	case evCheck:
		if known(e.ohm) && moved&(ofCapacity|partResistance|partThermal|partSteepness|partOffMid|partMethod) != 0 {
			f.by[feltOhm] = p.ohmOf(e, f)
		}
	}
}

func (p *pass) feelRide(i int, e *event, f *felt, moved parts) {
	c, m := p.c, p.m
	const ofHeat = partHeat | partThermal
	const ofOhm = ofHeat | partCapacity | partTired | partResistance | partSustained
	const ofAmpere = ofOhm | partLoad | partCurve | partSteepness
	if moved&ofHeat != 0 {
		f.heat = c.heatOf(e)
		if e.warmSeen() {
			f.by[feltWarm] = c.heatOn(e.airC, e.course).mean
		}
	}
	if moved&(ofHeat|partCold) != 0 {
		f.chill = c.chillAt(f.heat.end)
		f.by[feltChill] = math.Log(f.chill.drawn)
	}
	if moved&partLoad != 0 && known(e.km) {
		f.by[feltLoad] = c.lnLoad(e)
	}
	if moved&ofOhm != 0 {
		f.ohm = c.ohmsAt(f.heat.mean).times(c.groupOhm(f.lnC, e.years, e.cycles))
	}
	if moved&ofAmpere != 0 {
		f.ampere = c.rideAmpere(m, e, p.counted(i, e), f.by[feltLoad], f.ohm.long)
		f.by[feltSag] = f.ampere * (f.ohm.long + float64(f.ohm.pulse*c.unevenness(e)))
	}
	if known(e.endV) && moved&(ofAmpere|partRelax) != 0 {
		f.by[feltDrop] = c.relax * f.ampere * f.ohm.pulse * math.Exp(-orNum(e.restMin, 10)/15)
	}
	if moved&(ofAmpere|partPeak|partCold) != 0 {
		f.by[feltLimit] = p.limitOf(e, f)
	}
}

// atLimit reports whether a ride met its limit, as far as the rest bears it out.
func (p *pass) atLimit(i int, f *felt) bool {
	return known(f.by[feltLimit]) && !p.rejected(i, obLimit)
}

// limitOf is the deficit, as a share, at which a ride met its limit.
func (p *pass) limitOf(e *event, f *felt) float64 {
	if !e.atLimit() {
		return math.NaN()
	}
	peak := p.c.peak
	if e.bench {
		peak = 1
	}
	share := f.chill.reach * p.c.levelToLimit(p.m, f.lnC, e.years, e.cycles, f.heat.end, f.ampere, peak, p.c.stopV(e), e.fullV)
	if share < 0 { // how far riding is from beginning no longer matters much, but that it is does
		share = farBelow * math.Tanh(share/farBelow)
	}
	return share
}

// stopV is where the volts under load of a ride that went on to the end stopped it.
// Protection opens at the lowest group, at volts of the pack between its limit and its
// cut-off: the lowest that were read, else where this pack's usually does.
func (c *cellState) stopV(e *event) float64 {
	switch {
	case e.stop != "cutoff":
		return e.limitV
	case known(e.minV):
		return min(max(e.minV, e.cutoffV), e.limitV)
	}
	return e.limitV - float64(c.cut*(e.limitV-e.cutoffV))
}

// farBelow is where the deficit at which a limit is met ends below nothing.
const farBelow = .2

// somewhere is the charge level of a check that says none: not near mid charge
// for certain (common practice, no source).
const somewhere = .7

// ohmOf is ln of the resistance that a check may be expected to show.
func (p *pass) ohmOf(e *event, f *felt) float64 {
	c, soc := p.c, e.soc
	if !known(soc) {
		soc = somewhere
	}
	ln := math.Log(p.m.series * c.groupOhm(f.lnC, e.years, e.cycles) * c.pulse(e.packC, soc))
	if e.method >= 0 {
		ln += c.groups[e.method]
	}
	return ln
}
