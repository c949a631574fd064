package model

import (
	"fmt"
	"math"

	"packwane/health/law"
)

// param is one scalar of the fit. The fit works on z with prior N(0, 1); the
// value is mean + sd·z, or exp of that where log is set, or the share of most
// whose logit that is. A figure with a bound has one of these: clipped, it
// would stop telling the fit where to go.
type param struct {
	name     string
	mean, sd float64
	log      bool
	most     float64
}

func (p param) value(z float64) float64 {
	v := p.mean + float64(p.sd*z)
	switch {
	case p.log:
		return math.Exp(v)
	case p.most > 0:
		return p.most / (1 + math.Exp(-v))
	}
	return v
}

// logit is the mean of a param that lies most likely at a share of its most.
func logit(share float64) float64 { return math.Log(share / (1 - share)) }

// The scalars that every pack has, in the order in which they stand in the
// parameter vector; the knots, meters, routes and riders follow them.
const (
	pResistance  = iota // ln Ω of one series group as new, 10 s, 25 °C, mid charge
	pGrowthLoss         // d ln R per share of capacity lost
	pGrowthYear         // d ln R per year
	pGrowthCycle        // d ln R per 500 equivalent full cycles
	pOhmic              // share of resistance that does not follow temperature
	pActivation         // ln K
	pSteepness          // resistance at low charge
	pOffMid             // ln (resistance away from mid charge over that there)
	pSlowCold           // share of what builds up over minutes that follows temperature in full
	pSustained          // ln (resistance of a long discharge over that of 10 s)
	pPeak               // ln (current that trips the limit over the mean) on the road
	pCut                // share of the way from the limit to the cut-off at which protection opens
	pCold               // capacity lost per kelvin about 25 °C
	pColdDraws          // share of it by which an ampere-hour draws the pack down by more (see chill)
	pMode0              // open-circuit deformations, in their standard deviations
	pMode1
	pMode2
	pMode3
	pMode4
	pMode5
	pSlip       // share of the usual loss that slides the electrodes of the curve
	pVoltOffset // of the rider's voltmeter, V per cell
	pRelax      // ln (share of the load's drop still there when it ends)
	pRolling    // ln rolling coefficient
	pDrag       // ln m²
	pWind       // ln share of the recorded wind that is felt
	pHead       // ln share of a head wind that was met on the way
	pEfficiency // ln
	pStanding   // ln W
	pStopped    // share of that which a stop takes
	pStart      // ln share of the kinetic energy that a stop loses
	pBrake      // share of braked energy returned
	pEvenness   // ln evenness of grades
	pTyre       // pressure exponent
	pTyreCold   // per K
	pCoulomb    // charge in over charge out, less 1
	pChargeDrop // V per cell by which charging lies above open circuit
	pWall       // ln efficiency of the charger
	pImbalance  // share of capacity missed per ten charges without a hold
	pStandby    // ln W drawn by the pack's electronics at rest
	pSelfLoss   // ln percent a month lost inside the cells
	pWarm       // K by which riding warms the pack, on average over a full charge
	pRoom       // share of the way from the air to a room that is left of where the pack stood, likewise
	pTired      // share of the capacity that one full cycle hides until the pack has rested
	pStep       // ln of what is left of the capacity where it changed at once
	numScalars
)

// scalars returns the priors of the scalars for a pack. Where no source is
// named the value is from memory and its spread wide.
func scalars(chem law.Chemistry, ah, cRate float64) []param {
	s := make([]param, numScalars)
	s[pResistance] = param{name: "resistance", mean: math.Log(chem.ResistanceAhOhm * 1.15 / ah), sd: .45, log: true} // 15 % for wiring
	s[pGrowthLoss] = param{name: "growth_loss", mean: 1.0, sd: .5}                                                   // UR18650E (Baumhöfer 2014): 0.85 to 1.15 from 13 to 90 % lost
	s[pGrowthYear] = param{name: "growth_year", mean: .005, sd: .08}
	s[pGrowthCycle] = param{name: "growth_cycle", mean: .01, sd: .15}
	s[pOhmic] = param{name: "ohmic", mean: .68, sd: .10} // of cells between NCR18650PF (0.56) and the given 30Q (0.70: 1.14 from 20 to 30 °C), and of the wiring all
	s[pActivation] = param{name: "activation", mean: math.Log(law.PriorThermal.ActivationK), sd: .15, log: true}
	s[pSteepness] = param{name: "steepness", mean: math.Log(law.PriorSteepness), sd: .35, log: true}
	s[pOffMid] = param{name: "off_mid", mean: 0, sd: law.OffMidSpread}
	s[pSustained] = param{name: "sustained", mean: math.Log(law.SustainedShare), sd: .15, log: true}
	s[pSlowCold] = param{name: "slow_cold", mean: logit(.4), sd: 1.2, most: 1} // diffusion as activated as charge transfer, or as all of a pulse; from memory
	s[pPeak] = param{name: "peak", mean: math.Log(1.3), sd: .35, log: true}    // simulators of three makers, where everything is logged: .8 to 1.8
	s[pCut] = param{name: "cut", mean: logit(.3), sd: 1.3, most: 1}            // a weak group or a peak opens it before all reach the cut-off; from memory
	s[pCold] = param{name: "cold", mean: math.Log(chem.ColdPerC), sd: .8, log: true}
	s[pColdDraws] = param{name: "cold_draws", mean: logit(.05), sd: 1.5, most: 1} // none by the books of charge
	for k := range law.Modes {
		s[pMode0+k] = param{name: fmt.Sprintf("mode%d", k), mean: 0, sd: 1}
	}
	s[pSlip] = param{name: "slip", mean: .15, sd: .3} // .8 where lithium alone is lost (see law.Aged), none where all of the cell shrinks alike; from memory
	s[pVoltOffset] = param{name: "volt_offset", mean: 0, sd: .006}
	s[pRelax] = param{name: "relax", mean: math.Log(.24), sd: .6, log: true} // likewise: .13 to .36
	s[pRolling] = param{name: "rolling", mean: math.Log(.016), sd: .40, log: true}
	s[pDrag] = param{name: "drag", mean: math.Log(.50), sd: .30, log: true}
	s[pWind] = param{name: "wind", mean: math.Log(.48), sd: .40, log: true} // from 10 m to 1.5 m by the logarithmic profile: .67 over grass (roughness 0.03 m), .30 in a suburb (0.5 m, the wind of open land above); roughness from memory
	s[pHead] = param{name: "head", mean: math.Log(.8), sd: .30, log: true}  // all of what the face feels, less of what a hand held up on the way or a gauge on a pole meets; from memory
	s[pEfficiency] = param{name: "efficiency", mean: math.Log(.78), sd: .10, log: true}
	s[pStanding] = param{name: "standing", mean: math.Log(8), sd: .60, log: true}
	s[pStopped] = param{name: "stopped", mean: logit(.75), sd: 1.2, most: 1} // electronics and lights stay on, what the motors take at no load does not; from memory
	s[pStart] = param{name: "start", mean: math.Log(.7), sd: .5, log: true}  // part of a stop is coasting; from memory
	s[pBrake] = param{name: "brake", mean: logit(1 / 3.0), sd: 1.4, most: 1}
	s[pEvenness] = param{name: "evenness", mean: 0, sd: .5, log: true}               // from memory
	s[pTyre] = param{name: "tyre", mean: .48, sd: .15}                               // Grappe et al. 1999
	s[pTyreCold] = param{name: "tyre_cold", mean: math.Log(.006), sd: .5, log: true} // UN Regulation 117, annex 6: 0.006 to 0.010 for tyres of cars and lorries
	s[pCoulomb] = param{name: "coulomb", mean: .003, sd: .004}
	s[pChargeDrop] = param{name: "charge_drop", mean: logit(.06 / .3), sd: .65, most: .3}
	s[pWall] = param{name: "wall", mean: math.Log(usualWall), sd: .05, log: true}
	s[pImbalance] = param{name: "imbalance", mean: logit(.003 / .02), sd: 1, most: .02} // from memory; more is no imbalance but a curve that does not fit
	s[pStandby] = param{name: "standby", mean: math.Log(.05), sd: 1.2, log: true}
	s[pSelfLoss] = param{name: "self_loss", mean: math.Log(chem.SelfDischargePctM), sd: .8, log: true}
	s[pWarm] = param{name: "warm", mean: math.Log(chem.RidingWarmth(cRate)), sd: .45, log: true}
	s[pRoom] = param{name: "room", mean: logit(.4), sd: 1.2, most: chem.Warming(cRate).Whole().Stood.Mean} // half on an hour's ride from a room (3 kJ/K, 1 to 2 W/K), nothing from a shed
	s[pTired] = param{name: "tired", mean: .0002, sd: .0003}                                               // from memory; a straight number, as the records that do not tell it bend one with a logarithm
	s[pStep] = param{name: "step", mean: 0, sd: .4}                                                        // wide: it is only there where the records show it
	return s
}

// Spreads of the factors that the log may name, as standard deviations of
// their logarithms.
const (
	usualWall = .87 // efficiency of a charger, from memory
	sdMeter   = .03
	sdDrift   = .003 // a year, from memory
	sdRoute   = .08
	sdTyres   = .12 // of other tyres on the same board, which roll a fifth to a quarter better or worse, most of the load at such speeds; from memory
	sdBoard   = .15
	sdRider   = .05
	sdSession = .03
	sdCasual  = .02 // starts, stops and haste; from memory
)

// cellState is one parameter vector made ready for the pass over the records.
type cellState struct {
	curve   law.Curve // as new
	slip    float64   // see law.Curve.Slipped
	meanV   float64   // open-circuit, of a full cycle
	thermal law.Thermal
	road    law.Road

	resistance, growthLoss, growthYear, growthCycle   float64
	steepness, offMid, sustained, slowCold, peak, cut float64
	cold, coldDraws                                   float64
	voltOffset, relax, coulomb, chargeDrop, wall      float64
	imbalance, standbyW, selfLossPerDay               float64
	warm, room, tired, step                           float64
	whole                                             law.Course // of a ride from full to the limit

	lnC    []float64 // at the knots
	groups []float64 // ln factors of meters, routes, riders and sessions
}

// gain returns ln of the factor by which an event's meter counts more than the
// pack's own: a constant and a slow drift about the middle of the log.
func (c *cellState) gain(m *machine, e *event) float64 {
	if e.meter < 0 {
		return 0
	}
	return c.groups[e.meter] + float64(c.groups[e.meter+1]*(e.endDay-m.midDay)/yearDays)
}

// roadOf is the road load of the scalars' values.
func roadOf(v func(int) float64) law.Road {
	return law.Road{
		Rolling: v(pRolling), TyreExponent: max(v(pTyre), 0), TyreColdPerC: v(pTyreCold), DragAreaM2: v(pDrag), WindShare: v(pWind), HeadShare: v(pHead),
		Efficiency: v(pEfficiency), StandingW: v(pStanding), StoppedShare: v(pStopped), StartShare: v(pStart), BrakeReturn: v(pBrake), Evenness: v(pEvenness),
	}
}

// usualRoad is the road load of the prior.
func (m *machine) usualRoad() *law.Road {
	s := scalars(m.chem, m.ratedAh, 0)
	road := roadOf(func(i int) float64 { return s[i].value(0) })
	return &road
}

// decode fills c from the vector z.
func (m *machine) decode(z []float64, c *cellState) {
	v := func(i int) float64 { return m.params[i].value(z[i]) }
	chem := &m.chem
	var heights [law.Modes]float64
	for k := range heights {
		heights[k] = v(pMode0+k) * chem.ModeV[k]
	}
	c.curve.Deform(m.meanCurve, heights)
	c.meanV = c.curve.MeanV(1, law.EmptyAt)
	c.slip = v(pSlip)
	c.thermal = law.Thermal{Ohmic: min(max(v(pOhmic), .05), .95), ActivationK: v(pActivation)}
	c.road = roadOf(v)
	c.resistance, c.growthLoss, c.growthYear, c.growthCycle = v(pResistance), v(pGrowthLoss), v(pGrowthYear), v(pGrowthCycle)
	c.steepness, c.offMid, c.sustained, c.slowCold, c.peak, c.cut = v(pSteepness), v(pOffMid), v(pSustained), v(pSlowCold), v(pPeak), v(pCut)
	c.cold, c.coldDraws = v(pCold), v(pColdDraws)
	c.voltOffset, c.relax, c.coulomb, c.chargeDrop, c.wall = v(pVoltOffset), v(pRelax), v(pCoulomb), v(pChargeDrop), v(pWall)
	c.imbalance, c.standbyW, c.selfLossPerDay = v(pImbalance), v(pStandby), v(pSelfLoss)/100/30.4375
	c.warm, c.room, c.tired, c.whole = v(pWarm), v(pRoom), v(pTired), m.warming.Whole()
	c.step = 0
	if m.stepFrom >= 0 {
		c.step = v(pStep)
	}
	nk := len(m.knots)
	c.lnC = c.lnC[:0]
	for k := range nk {
		c.lnC = append(c.lnC, m.params[numScalars+k].mean+float64(m.params[numScalars+k].sd*z[numScalars+k]))
	}
	c.groups = c.groups[:0]
	for i := numScalars + nk; i < len(z); i++ {
		c.groups = append(c.groups, m.params[i].mean+float64(m.params[i].sd*z[i]))
	}
}
