package law

import "math"

// CoolHours is the time constant of a pack in its case, hours: 3 kJ/K over 1 to
// 2 W/K is half an hour to an hour, thicker cases take longer. From memory.
const CoolHours = 4.0 / 3

// SustainedShare is the resistance of a long discharge over that of 10 s, from
// memory.
const SustainedShare = 1.25

// heatPerAh is the heat capacity of cells and their case, J/K for each
// ampere-hour of a group: 47 g for 3 Ah (18650, nickel-rich) or 40 g for 1.2 Ah
// (LFP) at 1 kJ/(kg K), and a quarter more for the case. From memory.
func (c *Chemistry) heatPerAh() float64 {
	if c.Name == "lfp" {
		return 42
	}
	return 20
}

// MeanDecay is the mean of exp(-t) from 0 to t time constants, for t of at
// least 0. A body of one time constant warms by 1 - exp(-t) of what heats it in
// the end, and keeps exp(-t) of where it stood.
func MeanDecay(t float64) float64 {
	if t < 1e-6 {
		return 1
	}
	return -math.Expm1(-t) / t
}

// RidingWarmth is by how many kelvin a discharge at so many full charges per
// hour may be expected to warm a pack, on average from full to empty: what its
// own resistance makes of the current, less what the air takes. The rate counts
// as within 0.1 to 3 per hour.
func (c *Chemistry) RidingWarmth(cRate float64) float64 {
	rate := min(max(cRate, .1), 3)
	insulated := rate * c.ResistanceAhOhm * SustainedShare * 3600 / c.heatPerAh()
	times := 1 / (rate * CoolHours)
	return insulated / times * (1 - MeanDecay(times))
}
