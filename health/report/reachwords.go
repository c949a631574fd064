package report

import (
	"fmt"
	"math"
	"strings"

	"packwane/health/logbook"
	"packwane/health/units"
)

// DefaultRiskPct is how often home may not be reached, percent, where a call
// does not say.
const DefaultRiskPct = 5

// OneCell says what is wanted where volts at rest, given for those of the pack,
// cannot be: where those of one cell were meant. It is "" for volts that can.
func OneCell(restV logbook.Num, p *logbook.Pack) string {
	if !restV.OK || !p.Series.OK {
		return ""
	}
	if cell := restV.V / p.Series.V; cell >= oneCellV && cell <= mostCellV {
		return ""
	}
	return "want the volts of the pack of " + logbook.FormatNumber(p.Series.V) + " cells in series, not of one cell"
}

// oneCellV is less than any cell that is still to be used rests at. Common
// practice, no source.
const oneCellV = 1.5

// Words says the conditions in a line: "20 km/h, 8 °C, a rider of 78 kg, no wind".
func (c ReachConditions) Words(sys units.System) string {
	parts := []string{units.Format(c.SpeedKmh, units.Kmh, sys), Degrees(c.TempC, sys), "a rider of " + units.Format(c.RiderKg, units.Kg, sys)}
	switch {
	case c.HeadwindKmh > 0:
		parts = append(parts, units.Format(c.HeadwindKmh, units.Kmh, sys)+" of wind against on the way out")
	case c.HeadwindKmh < 0:
		parts = append(parts, units.Format(-c.HeadwindKmh, units.Kmh, sys)+" of wind behind on the way out")
	default:
		parts = append(parts, "no wind")
	}
	if c.ClimbM > 0 {
		parts = append(parts, units.Format(c.ClimbM, units.Metre, sys)+" still to climb")
	}
	if c.Board != nil {
		parts = append(parts, "on "+*c.Board)
	}
	return strings.Join(parts, ", ")
}

// KeptKm is a way in kilometres as a rider can keep to it: to the tenth below, of
// the unit that the rider counts in.
func KeptKm(km float64, sys units.System) float64 {
	ways, _ := units.In(km, units.Km, sys)
	one, _ := units.In(1, units.Km, sys)
	return math.Floor(ways*10+1e-9) / 10 / one
}

// KeptV is volts as a rider can keep to them: to the nearest tenth.
func KeptV(v float64) float64 { return math.Round(v*10) / 10 }

// Barred reports whether the pack must not be ridden: people are told no distance then.
func (r *Reach) Barred() bool { return r.barred }

// turnsNow reports whether no way is left to go farther out, as far as a rider is told.
func (r *Reach) turnsNow(sys units.System) bool {
	return r.TurnBackKm != nil && KeptKm(*r.TurnBackKm, sys) == 0
}

// Words says the answer in a sentence: what is left, and where to turn.
func (r *Reach) Words(sys units.System) string {
	if r.impossible {
		return "Read the volts again: a pack that truly rests so must not be ridden or charged."
	}
	if r.barred {
		return "This pack must not be ridden: switch off where you are, keep away from what can burn, and walk or be fetched. No distance is told for it."
	}
	if r.RemainingKm == nil {
		return "How far that goes, the log does not tell yet."
	}
	words := "About " + r.RemainingKm.In(units.Km, sys) + " are left"
	if r.TurnBackKm == nil {
		return words + "."
	}
	sure := fmt.Sprintf("%.3g %%", 100-r.RiskPct)
	switch {
	case !r.turnsNow(sys):
		words += ". Out and back, turn after " + units.Format(KeptKm(*r.TurnBackKm, sys), units.Km, sys) + " more"
		if r.TurnBackV != nil {
			words += ", or at " + units.Format(KeptV(*r.TurnBackV), units.Volt, sys) + " at rest"
		}
		words += ": home is then reached above the limit with " + sure
	case r.OutKm > 0 && r.empty:
		words = "Nothing is left above the limit: switch off, and walk or be fetched"
	case r.OutKm > 0:
		words += ". Turn back now: home is not reached above the limit with " + sure
	default:
		words += ". Do not set out"
	}
	return words + "."
}

// Lines are what is left; of a pack that must not be ridden no distance.
func (r *Reach) Lines() []Line {
	out := []Line{
		{Key: "level_pct", Label: "charge", Estimate: r.LevelPct, Unit: units.Pct, Why: []string{"capacity_unknown", "series_unknown", "voltage_tells_little"}},
		{Key: "remaining_wh", Label: "energy", Estimate: r.RemainingWh, Unit: units.Wh, Why: whyNoCapacity},
	}
	if r.barred {
		return out
	}
	out = append(out,
		Line{Key: "remaining_km", Label: "distance left, on average", Estimate: r.RemainingKm, Unit: units.Km, Why: whyNoRange},
		Line{Key: "this_ride_km", Label: "distance left, on one ride", Estimate: r.ThisRideKm, Unit: units.Km},
	)
	if r.DayPct != nil {
		out = append(out, Line{Key: "day_pct", Label: "today over the usual", Estimate: r.DayPct, Unit: units.Pct})
	}
	return out
}

// Home are the figures of the way out and back; none where it is not known, nothing is left or the pack must not be
// ridden.
func (r *Reach) Home(sys units.System) []Given {
	if r.TurnBackKm == nil || r.barred || r.empty {
		return nil
	}
	out := []Given{{Label: "turn back after", Value: KeptKm(*r.TurnBackKm, sys), Unit: units.Km, Remark: "farther out", Alarm: r.turnsNow(sys) && r.OutKm > 0}}
	if r.TurnBackV != nil && !r.turnsNow(sys) {
		out = append(out, Given{Label: "or at rest volts of", Value: KeptV(*r.TurnBackV), Unit: units.Volt})
	}
	if r.HomePct != nil {
		out = append(out, Given{Label: "home, turning now", Value: math.Round(*r.HomePct), Unit: units.Pct, Remark: "reached above the limit", Alarm: *r.HomePct < 100-r.RiskPct})
	}
	return out
}
