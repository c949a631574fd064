package model

import "packwane/health/logbook"

// parts is a set of the ways in which parameters reach an event. What one
// parameter moves, and an event feels, is all that is worked out anew when
// that parameter is moved.
type parts uint32

const (
	partCapacity parts = 1 << iota
	partTired
	partResistance // at 25 °C, as new and grown
	partThermal
	partHeat
	partSteepness
	partOffMid
	partSustained
	partPeak
	partCold
	partCurve
	partOffset
	partRelax
	partLoad // consumption on the road
	partCoulomb
	partChargeDrop
	partWall
	partImbalance
	partRest
	partGain   // of a meter
	partMethod // of a check

	partWarmSeen // no parameter's: a ride says how warm the pack and the air were

	everyPart = 1<<iota - 1
)

// scalarParts says what each scalar moves.
var scalarParts = [numScalars]parts{
	pResistance: partResistance, pGrowthLoss: partResistance, pGrowthYear: partResistance, pGrowthCycle: partResistance,
	pOhmic: partThermal, pActivation: partThermal, pSlowCold: partThermal,
	pSteepness: partSteepness, pOffMid: partOffMid, pSustained: partSustained, pPeak: partPeak, pCut: partPeak, pCold: partCold, pColdDraws: partCold,
	pMode0: partCurve, pMode1: partCurve, pMode2: partCurve, pMode3: partCurve, pMode4: partCurve, pMode5: partCurve, pSlip: partCurve,
	pVoltOffset: partOffset, pRelax: partRelax,
	pRolling: partLoad, pDrag: partLoad, pWind: partLoad, pHead: partLoad, pEfficiency: partLoad,
	pStanding: partLoad, pStopped: partLoad, pStart: partLoad, pBrake: partLoad, pEvenness: partLoad, pTyre: partLoad, pTyreCold: partLoad,
	pCoulomb: partCoulomb, pChargeDrop: partChargeDrop, pWall: partWall, pImbalance: partImbalance,
	pStandby: partRest, pSelfLoss: partRest,
	pWarm: partHeat, pRoom: partHeat, pTired: partTired, pStep: partCapacity,
}

// whatFeels lists what an event can feel, whatever the state.
func (e *event) whatFeels() parts {
	set := partCapacity
	add := func(when bool, more parts) {
		if when {
			set |= more
		}
	}
	metered := known(e.ah) || known(e.wh)
	add(e.tired != 0, partTired)
	add(e.gapDays > 0, partRest)
	add(known(e.startV) || known(e.endV), partCurve|partOffset)
	add(metered && e.meter >= 0, partGain)
	switch e.kind {
	case evRide:
		limit, used := e.atLimit(), known(e.wh) || known(e.km)
		add(limit || used, partCurve|partSteepness|partSustained)
		add(limit || used || known(e.endV), partResistance|partThermal|partHeat)
		add(metered || known(e.km), partThermal|partHeat)
		add(e.warmSeen(), partThermal|partHeat|partWarmSeen)
		add(known(e.km) || e.unloggedKm > 0, partLoad)
		add(known(e.endV), partRelax)
		add(limit, partPeak)
		add(limit || metered || known(e.km), partCold)
	case evCharge:
		add(e.full != logbook.No, partImbalance)
		add(metered, partCoulomb)
		add(known(e.wh), partCurve|partChargeDrop|partResistance)
		add(e.ac && known(e.wh), partWall)
	case evCheck:
		add(known(e.ohm), partResistance|partThermal|partSteepness|partOffMid)
		add(known(e.ohm) && e.method >= 0, partMethod)
	}
	return set
}

// direct lists what acts on an event beside the numbers that it feels.
func (e *event) direct() parts {
	const always parts = partCapacity | partTired | partCurve | partSteepness | partOffset | partChargeDrop | partImbalance
	set := always
	if e.kind == evCharge { // its volts rise with the resistance
		set |= partResistance
	}
	if e.unloggedKm > 0 {
		set |= partLoad
	}
	return set
}

// atLimit reports whether a ride went on until the volts met a limit.
func (e *event) atLimit() bool { return e.stop == "limit" || e.stop == "cutoff" }

// warmSeen reports whether a ride says both how warm the pack and how warm the
// air was.
func (e *event) warmSeen() bool { return known(e.packC) && e.airSeen && !e.bench }

// moves returns what parameter j moves of event i: nothing for most.
func (p *pass) moves(j, i int) parts {
	m, e := p.m, &p.m.events[i]
	feels := e.feels
	if p.carry[i].reset {
		feels |= partImbalance
	}
	switch k, g := j-numScalars, j-numScalars-len(m.knots); {
	case k < 0:
		return scalarParts[j] & feels
	case g < 0 && (k == e.knot || k == e.knot+1):
		return partCapacity
	case g < 0 && k == 0: // what has been lost since raises the resistance
		return partResistance & feels
	case g < 0:
		return 0
	case g == e.meter || m.groupKind[g] == groupDrift && g == e.meter+1:
		return partGain & feels
	case g == e.method:
		return partMethod & feels
	default:
		for _, x := range e.effects {
			if x == g {
				return partLoad & feels
			}
		}
		return 0
	}
}
