package model

import (
	"math"

	"packwane/health/law"
)

// wholeWarmSd is how far one ride's pack is from what its air says, K. Common
// practice, no source.
const wholeWarmSd = 3.0

// A pack of one time constant warms by 1 - exp(-t) of what riding makes and
// keeps exp(-t) of where it stood. fullTime is how many time constants a full
// charge takes to ride: 3 kJ/K over 1 to 2 W/K is half an hour to an hour.
const fullTime = 1.5

// meanOfDecay is the mean of exp(-t) over a ride of that many time constants.
func meanOfDecay(t float64) float64 {
	if t < 1e-6 {
		return 1
	}
	return -math.Expm1(-t) / t
}

// coolHours is the time constant of a pack in its case, hours: fullTime at two
// hours for a full charge. From memory, as is heatPerAh, J/K for each
// ampere-hour of a cell: 47 g for 3 Ah (18650, nickel-rich) or 40 g for 1.2 Ah
// (LFP) at 1 kJ/(kg K), and a quarter more for the case.
const coolHours = 2 / fullTime

func heatPerAh(chem law.Chemistry) float64 {
	if chem.Name == "lfp" {
		return 42
	}
	return 20
}

// warmth is by how many kelvin riding may be expected to warm a pack, on
// average over a full charge at so many full charges per hour: what its own
// resistance makes of the current, less what the air takes.
func warmth(chem law.Chemistry, cRate float64) float64 {
	c := min(max(cRate, .1), 3)
	kept := c * chem.ResistanceAhOhm * sustainedShare * 3600 / heatPerAh(chem) // were nothing lost
	times := 1 / (c * coolHours)
	return kept / times * (1 - meanOfDecay(times))
}

// heat is the temperature of a pack over a discharge, °C: on average, and at
// its end, where the limit is met.
type heat struct{ mean, end float64 }

// even is the heat of a pack that keeps its temperature.
func even(packC float64) heat { return heat{packC, packC} }

// decay is what is left of where a pack stood: on average over a ride, and at
// its end.
type decay struct{ mean, end float64 }

// decayOver is the decay over a share of a full charge.
func decayOver(share float64) decay {
	return decay{meanOfDecay(fullTime * share), math.Exp(-fullTime * share)}
}

// wholeCharge is the decay over a full charge.
var wholeCharge = decayOver(1)

// heatOn is the heat of a ride in that air: warm and room are the means over a
// whole charge.
func (c *cellState) heatOn(airC float64, d decay) heat {
	warm, room := c.warm/(1-wholeCharge.mean), c.room/wholeCharge.mean*(typicalIndoorC-airC)
	return heat{airC + float64(warm*(1-d.mean)) + float64(room*d.mean), airC + float64(warm*(1-d.end)) + float64(room*d.end)}
}

// heatOf is the heat of a ride of the log. A bench says nothing of how its
// temperature went on.
func (c *cellState) heatOf(e *event) heat {
	switch {
	case e.bench:
		return even(e.packC)
	case !known(e.packC):
		return c.heatOn(e.airC, e.decay)
	}
	return c.heatOn(e.airC, e.decay).at(e.packC)
}

// at is the heat moved to a mean that was measured.
func (t heat) at(mean float64) heat { return heat{mean, mean + t.end - t.mean} }

// packDoubt is how far one pack is from heatOn: nobody says whether it stood
// in a room or outdoors.
func (c *cellState) packDoubt(airC float64) float64 {
	return math.Hypot(wholeWarmSd, c.room*(typicalIndoorC-airC)/2)
}
