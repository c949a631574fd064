package simulate

import (
	"math"
	"math/rand/v2"
)

// Cell is the truth about the cells of a pack, all alike but for one group
// that is a little weaker than the rest.
type Cell struct {
	// Charge and voltage.
	CapacityAh  float64    // from resting full to resting empty, new, 25 degrees
	Mix         float64    // between the curves of the chemistry
	Bend        [3]float64 // warp of the charge axis, then two bends in volts
	AgedV       float64    // volts by which the curve bends for each unit of capacity lost
	HysteresisV float64    // half the gap between the resting curves after charge and discharge
	CoulombEff  float64    // charge that stays over charge put in
	SelfPctMon  float64    // self-discharge a month at 25 degrees

	// Resistance: a 10 s pulse, new, 25 degrees, mid charge, and its parts.
	R10Mohm  float64
	Metal    float64 // share of leads, foils and cans
	Fluid    float64 // share of the electrolyte; the rest is charge transfer
	FluidK   float64 // kelvin: activation over the gas constant
	TransK   float64 // the same of the charge transfer
	LowRise  float64 // growth towards empty
	LowWidth float64 // charge level over which it falls off
	Slow     float64 // diffusion, over R10Mohm: comes in minutes
	SlowK    float64 // kelvin, of the diffusion
	TauS     [2]float64

	// Fade.
	Cycle500   float64 // lost by 500 full cycles at full depth, 25 degrees
	CyclePow   float64
	CalYear    float64 // lost in the first year at half charge, 25 degrees
	CalPow     float64
	CalK       float64 // kelvin: activation of the calendar loss
	CalPerZ    float64 // growth of the calendar rate from half charge to full
	Overhang   float64 // capacity that comes and goes with the mean charge level
	OverhangD  float64 // days
	KneeAt     float64 // share lost at which a second mechanism sets in; 0 for never
	KneeRate   float64 // for each full cycle and hundredth beyond that
	KneeMax    float64 // share lost for each full cycle at most
	Fatigue    float64 // capacity hidden by a full cycle, given back by rest
	FatigueD   float64 // days over which it comes back
	RCycle500  float64 // resistance grown by 500 full cycles
	RCyclePow  float64
	RCalYear   float64 // resistance grown in the first year
	RKnee      float64 // resistance grown for each unit lost beyond the knee
	BreakIn    float64 // resistance that the first cycles take off
	WeakPct    float64 // by how much the weakest group holds less
	DriftPct   float64 // imbalance grown by a full cycle, per cent of capacity
	DriftMonth float64 // the same by a month of rest
	BleedPct   float64 // imbalance that an hour of holding gives back
}

// DrawCell draws a plausible cell of the chemistry, rated so many Ah. Sources
// of the medians: resistance over temperature of the NCR18650PF (Kollmeyer
// 2018); resistance over charge level of 18650 cells (ARTS-Lab 2025); calendar
// fade Schmalstieg et al. 2014 (nmc) and Naumann et al. 2018 (lfp); cycle fade
// and knees Baumhöfer et al. 2014, Ma et al. 2022, Zhu et al. 2022. Other
// figures are common practice, no source.
func DrawCell(chemistry string, ratedAh float64, rng *rand.Rand) Cell {
	uni := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	logn := func(median, sd float64) float64 { return median * math.Exp(sd*clip(rng.NormFloat64(), 2.2)) }
	c := Cell{
		CapacityAh: ratedAh * uni(0.985, 1.03), Mix: rng.Float64(),
		Bend:  [3]float64{uni(-0.012, 0.012), uni(-0.008, 0.008), uni(-0.006, 0.006)},
		AgedV: uni(-0.06, 0.02), HysteresisV: uni(0.001, 0.004),
		CoulombEff: 1 - logn(0.0006, 0.5), SelfPctMon: logn(1.0, 0.4),
		R10Mohm: logn(120/ratedAh, 0.18), Metal: uni(0.2, 0.35), FluidK: uni(900, 1800), TransK: uni(5200, 6800),
		LowRise: uni(0.7, 1.4), LowWidth: uni(0.055, 0.09), Slow: uni(0.45, 0.8), SlowK: uni(2200, 3800),
		TauS:     [2]float64{uni(60, 160), uni(900, 2200)},
		Cycle500: logn(0.1, 0.33), CyclePow: uni(0.48, 0.8), CalYear: logn(0.024, 0.3), CalPow: uni(0.6, 0.85), CalK: uni(5500, 7500), CalPerZ: uni(0.5, 0.9),
		Overhang: uni(0.004, 0.016), OverhangD: uni(60, 200),
		Fatigue: uni(0.0004, 0.001), FatigueD: uni(5, 12),
		RCycle500: logn(0.16, 0.4), RCyclePow: uni(0.8, 1.3), RCalYear: logn(0.04, 0.4), RKnee: uni(1, 3), BreakIn: uni(0, 0.025),
		WeakPct: uni(0.3, 1.8), DriftPct: logn(0.2, 0.5), DriftMonth: logn(0.15, 0.5), BleedPct: uni(0.5, 1.6),
	}
	c.Fluid = uni(0.52, 0.6) * (1 - c.Metal) / 0.7
	knee, kneeLo, kneeHi := 0.5, 0.10, 0.20
	switch chemistry {
	case "nca":
		c.Cycle500, c.CalYear = c.Cycle500*1.15, c.CalYear*1.05
	case "lco":
		c.Cycle500, c.CalYear, knee = c.Cycle500*1.1, c.CalYear*0.9, 0.6
	case "lmo":
		c.Cycle500, c.CalYear = c.Cycle500*1.3, c.CalYear*1.4
	case "lfp":
		c.CalYear, c.CalPow, c.CalK, c.CalPerZ = logn(0.034, 0.3), uni(0.45, 0.6), uni(1800, 3200), uni(0.4, 0.7)
		c.Cycle500, c.CyclePow = logn(0.032, 0.35), uni(0.6, 0.9)
		c.HysteresisV, c.CoulombEff = uni(0.004, 0.010), 1-logn(0.0008, 0.4)
		c.Bend[1], c.Bend[2] = c.Bend[1]*0.15, c.Bend[2]*0.15
		c.AgedV, c.R10Mohm = c.AgedV*0.2, c.R10Mohm*0.75
		kneeLo, kneeHi = 0.06, 0.12
	}
	if rng.Float64() < knee {
		c.KneeAt, c.KneeRate, c.KneeMax = uni(kneeLo, kneeHi), logn(0.9e-4, 0.4), uni(0.0008, 0.0018)
	}
	return c
}

func clip(x, limit float64) float64 { return max(-limit, min(limit, x)) }

const (
	gasK   = 8.314462618 // J/(mol K), CODATA 2018
	kelvin = 273.15
	refK   = 25 + kelvin
)

// warmth holds what temperature does to the resistances of a cell.
type warmth struct {
	ohm, trans, slow float64 // factors on the parts, shares included
}

func (c *Cell) warmth(tempC float64) warmth {
	theta := 1/(tempC+kelvin) - 1/refK
	return warmth{
		ohm:   c.Metal*(1+0.0035*(tempC-25)) + c.Fluid*math.Exp(c.FluidK*theta),
		trans: (1 - c.Metal - c.Fluid) * math.Exp(c.TransK*theta),
		slow:  c.Slow * math.Exp(c.SlowK*theta),
	}
}

// transferV is the voltage at which charge transfer has lost half of its
// resistance: it eases as the current grows (Butler and Volmer's law, in a
// form that only bends as much as the cells of the reference figures do).
const transferV = 0.9

// drawnCell draws a cell from a seed.
func drawnCell(chemistry string, ratedAh float64, seed uint64) Cell {
	return DrawCell(chemistry, ratedAh, rand.New(rand.NewPCG(seed, 0x63656c6c)))
}
