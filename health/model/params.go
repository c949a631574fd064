package model

import (
	"math"

	"packwane/health/law"
)

// param is one scalar of the fit. The fit works on z with prior N(0, 1); the
// value is mean + sd·z, or exp of that where log is set.
type param struct {
	name     string
	mean, sd float64
	log      bool
}

func (p param) value(z float64) float64 {
	v := p.mean + float64(p.sd*z)
	if p.log {
		return math.Exp(v)
	}
	return v
}

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
	pSustained          // ln (resistance of a long discharge over that of 10 s)
	pPeak               // ln (current that trips the limit over the mean) on the road
	pCold               // capacity lost per kelvin below 25 °C
	pMode0              // open-circuit deformations, in their standard deviations
	pMode1
	pMode2
	pVoltOffset // of the rider's voltmeter, V per cell
	pRelax      // ln (share of the load's drop still there when it ends)
	pRolling    // ln rolling coefficient
	pDrag       // ln m²
	pWind       // ln share of the recorded wind that is felt
	pEfficiency // ln
	pStanding   // ln W
	pBrake      // share of braked energy returned
	pTyre       // pressure exponent
	pTyreCold   // per K
	pCoulomb    // charge in over charge out, less 1
	pChargeDrop // V per cell by which charging lies above open circuit
	pWall       // ln efficiency of the charger
	pImbalance  // share of capacity missed per ten charges without a hold, ln
	pStandby    // ln W drawn by the pack's electronics at rest
	pSelfLoss   // ln percent a month lost inside the cells
	pWarm       // K by which the pack is warmer than the air on a ride
	numScalars
)

// scalars returns the priors of the scalars for a pack. Where no source is
// named the value is from memory and its spread wide.
func scalars(chem law.Chemistry, ah float64) []param {
	s := make([]param, numScalars)
	s[pResistance] = param{"resistance", math.Log(chem.ResistanceAhOhm * 1.15 / ah), .45, true} // 15 % for wiring
	s[pGrowthLoss] = param{"growth_loss", 1.0, .5, false}                                       // UR18650E (Baumhöfer 2014): 0.85 to 1.15 from 13 to 90 % lost
	s[pGrowthYear] = param{"growth_year", .005, .08, false}
	s[pGrowthCycle] = param{"growth_cycle", .01, .15, false}
	s[pOhmic] = param{"ohmic", .63, .10, false} // between NCR18650PF (0.56) and the given 30Q cells (0.70: 1.14 from 20 to 30 °C)
	s[pActivation] = param{"activation", math.Log(law.PriorThermal.ActivationK), .15, true}
	s[pSteepness] = param{"steepness", math.Log(law.PriorSteepness), .35, true}
	s[pSustained] = param{"sustained", math.Log(1.25), .15, true}
	s[pPeak] = param{"peak", math.Log(1.6), .35, true}
	s[pCold] = param{"cold", chem.ColdPerC, .6 * chem.ColdPerC, false}
	s[pMode0] = param{"mode0", 0, 1, false}
	s[pMode1] = param{"mode1", 0, 1, false}
	s[pMode2] = param{"mode2", 0, 1, false}
	s[pVoltOffset] = param{"volt_offset", 0, .006, false}
	s[pRelax] = param{"relax", math.Log(.35), .4, true}
	s[pRolling] = param{"rolling", math.Log(.016), .40, true}
	s[pDrag] = param{"drag", math.Log(.50), .30, true}
	s[pWind] = param{"wind", math.Log(.60), .30, true} // recorded at 10 m, ridden at 1 to 2 m
	s[pEfficiency] = param{"efficiency", math.Log(.78), .10, true}
	s[pStanding] = param{"standing", math.Log(8), .60, true}
	s[pBrake] = param{"brake", .3, .2, false}
	s[pTyre] = param{"tyre", .48, .15, false} // Grappe et al. 1999
	s[pTyreCold] = param{"tyre_cold", .006, .004, false}
	s[pCoulomb] = param{"coulomb", .003, .004, false}
	s[pChargeDrop] = param{"charge_drop", math.Log(.06), .5, true}
	s[pWall] = param{"wall", math.Log(.87), .05, true}
	s[pImbalance] = param{"imbalance", math.Log(.004), 1, true}
	s[pStandby] = param{"standby", math.Log(.05), 1.2, true}
	s[pSelfLoss] = param{"self_loss", math.Log(chem.SelfDischargePctM), .8, true}
	s[pWarm] = param{"warm", 4, 3, false}
	return s
}

// Spreads of the factors that the log may name, as standard deviations of
// their logarithms.
const (
	sdMeter   = .03
	sdDrift   = .003 // a year, from memory
	sdRoute   = .08
	sdRider   = .05
	sdSession = .03
)

// cellState is one parameter vector made ready for the pass over the records.
type cellState struct {
	curve   law.Curve
	thermal law.Thermal
	road    law.Road

	resistance, growthLoss, growthYear, growthCycle float64
	steepness, sustained, peak, cold                float64
	voltOffset, relax, coulomb, chargeDrop, wall    float64
	imbalance, standbyW, selfLossPerDay, warm       float64

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

// decode fills c from the vector z.
func (m *machine) decode(z []float64, c *cellState) {
	v := func(i int) float64 { return m.params[i].value(z[i]) }
	chem := &m.chem
	c.curve.Deform(m.meanCurve, [law.Modes]float64{v(pMode0) * chem.ModeV[0], v(pMode1) * chem.ModeV[1], v(pMode2) * chem.ModeV[2]})
	c.thermal = law.Thermal{Ohmic: min(max(v(pOhmic), .05), .95), ActivationK: v(pActivation)}
	c.road = law.Road{
		Rolling: v(pRolling), TyreExponent: max(v(pTyre), 0), TyreColdPerC: max(v(pTyreCold), 0), DragAreaM2: v(pDrag), WindShare: v(pWind),
		Efficiency: v(pEfficiency), StandingW: v(pStanding), BrakeReturn: min(max(v(pBrake), 0), .9),
	}
	c.resistance, c.growthLoss, c.growthYear, c.growthCycle = v(pResistance), v(pGrowthLoss), v(pGrowthYear), v(pGrowthCycle)
	c.steepness, c.sustained, c.peak, c.cold = v(pSteepness), v(pSustained), v(pPeak), max(v(pCold), 0)
	c.voltOffset, c.relax, c.coulomb, c.chargeDrop, c.wall = v(pVoltOffset), v(pRelax), v(pCoulomb), v(pChargeDrop), v(pWall)
	c.imbalance, c.standbyW, c.selfLossPerDay, c.warm = v(pImbalance), v(pStandby), v(pSelfLoss)/100/30.4375, v(pWarm)
	nk := len(m.knots)
	c.lnC = c.lnC[:0]
	for k := range nk {
		c.lnC = append(c.lnC, m.params[numScalars+k].mean+float64(m.params[numScalars+k].sd*z[numScalars+k]))
	}
	c.groups = c.groups[:0]
	for i := numScalars + nk; i < len(z); i++ {
		c.groups = append(c.groups, float64(m.params[i].sd*z[i]))
	}
}
