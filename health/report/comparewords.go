package report

import (
	"fmt"
	"math"

	"packwane/health/units"
)

// Words says the conditions in a sentence.
func (c CompareConditions) Words(sys units.System) string {
	words := "At " + units.Format(c.SpeedKmh, units.Kmh, sys) + ", " + units.Format(c.TempC, units.Celsius, sys) + " (the air, and the packs all the way), a rider of " + units.Format(c.RiderKg, units.Kg, sys) + " with gear, "
	if c.HeadwindKmh == 0 {
		words += "no wind, "
	} else {
		words += units.Format(c.HeadwindKmh, units.Kmh, sys) + " of wind against, "
	}
	if c.Board != nil {
		words += "all on " + *c.Board + ", "
	}
	switch {
	case c.TyreKpa == nil && c.Board != nil:
		words += "at its own tyre pressure"
	case c.TyreKpa == nil:
		words += "each board at its own tyre pressure"
	default:
		words += "all tyres at " + units.Format(*c.TyreKpa, units.Kpa, sys)
	}
	if c.Route != nil {
		return words + ", on " + *c.Route + "."
	}
	return words + ", each on its own routes."
}

// Lines are the figures of one entry.
func (e Entry) Lines() []Line {
	return []Line{
		{Key: "range_km", Label: "range", Estimate: e.RangeKm, Unit: units.Km},
		{Key: "capacity_wh", Label: "capacity", Estimate: e.CapacityWh, Unit: units.Wh},
		{Key: "consumption_wh_per_km", Label: "consumption", Estimate: e.ConsumptionWhPerKm, Unit: units.WhPerKm},
	}
}

// Words says of the two, by their names, which goes farther and by how much, or
// that the log cannot tell.
func (p Pair) Words(a, b string, sys units.System) string {
	if p.DifferenceKm == nil {
		return a + " and " + b + ": the log does not tell."
	}
	switch p.Verdict {
	case VerdictA:
		return a + " goes farther than " + b + ", by " + p.DifferenceKm.In(units.Km, sys) + "."
	case VerdictB:
		return b + " goes farther than " + a + ", by " + p.DifferenceKm.turned().In(units.Km, sys) + "."
	}
	return a + " and " + b + " cannot be told apart: the difference is " + p.DifferenceKm.In(units.Km, sys) + "."
}

// turned is b less a, given a less b.
func (e *Estimate) turned() *Estimate {
	low, high := e.Bounds()
	return &Estimate{Value: -e.Value, Low: bound(-high), High: bound(-low), Confidence: e.Confidence}
}

// Chance writes the probability that a goes farther, percent, without claiming
// certainty: "73", "over 99"; "" where it is not known.
func (p Pair) Chance() string {
	if p.ProbabilityAFarther == nil {
		return ""
	}
	switch v := math.Round(100 * *p.ProbabilityAFarther); {
	case v >= 100:
		return "over 99"
	case v <= 0:
		return "under 1"
	default:
		return fmt.Sprintf("%.0f", v)
	}
}
