package report

import "packwane/health/units"

// RangeLines are how far a full charge goes, and what that takes.
func (r *Health) RangeLines() []Line {
	return []Line{
		{Key: "range_km", Label: "range on average", Estimate: r.RangeKm, Unit: units.Km, Why: whyNoRange},
		{Key: "next_test_km", Label: "the next range test", Estimate: r.NextTestKm, Unit: units.Km, Why: whyNoRange},
		{Key: "consumption_wh_per_km", Label: "consumption", Estimate: r.ConsumptionWhPerKm, Unit: units.WhPerKm, Why: whyNoRange},
	}
}

// PackLines are what the pack is now.
func (r *Health) PackLines() []Line {
	return []Line{
		{Key: "capacity_ah", Label: "capacity", Estimate: r.CapacityAh, Unit: units.Ah, Why: []string{"capacity_unknown", "limit_assumed", "chemistry_assumed", "series_unknown", "rating_unknown"}},
		{Key: "capacity_wh", Label: "capacity in energy", Estimate: r.CapacityWh, Unit: units.Wh, Why: whyNoCapacity},
		{Key: "soh_pct", Label: "state of health", Estimate: r.SohPct, Unit: units.Pct, Why: []string{"capacity_unknown", "past_unknown", "as_new_from_rating", "first_year"}},
		{Key: "resistance_mohm", Label: "resistance", Estimate: r.ResistanceMohm, Unit: units.Mohm, Why: whyNoResistance},
		{Key: "resistance_growth_pct", Label: "resistance over as new", Estimate: r.ResistanceGrowthPct, Unit: units.Pct, Why: []string{"resistance_growth_unknown", "resistance_unknown"}},
		{Key: "round_trip_pct", Label: "round trip", Estimate: r.RoundTripPct, Unit: units.Pct, Why: []string{"round_trip_unknown", "capacity_unknown"}},
		{Key: "self_discharge_pct_month", Label: "self-discharge", Estimate: r.SelfDischargePctMonth, Unit: units.Pct, Per: "% a month", Why: []string{"self_discharge_unknown"}},
	}
}

// LifeLines are what the pack has been through. Its end, which is a date, stands
// in EndOfLife.
func (r *Health) LifeLines() []Line {
	out := []Line{
		{Key: "equivalent_full_cycles", Label: "full cycles so far", Estimate: r.EquivalentFullCycles, Unit: units.Count, Per: "cycles"},
		{Key: "capacity_throughput_ah", Label: "charge taken out", Estimate: r.CapacityThroughputAh, Unit: units.Ah},
		{Key: "energy_throughput_kwh", Label: "energy taken out", Estimate: r.EnergyThroughputKwh, Unit: units.Count, Per: "kWh"},
	}
	if r.Fade != nil {
		out = append(out,
			Line{Key: "cycle_loss_pct", Label: "lost by cycling", Estimate: r.Fade.CycleLossPct, Unit: units.Pct},
			Line{Key: "calendar_loss_pct", Label: "lost by time", Estimate: r.Fade.CalendarLossPct, Unit: units.Pct})
		if r.Fade.AtOncePct != nil {
			out = append(out, Line{Key: "at_once_pct", Label: "lost at once", Estimate: r.Fade.AtOncePct, Unit: units.Pct})
		}
	}
	return out
}

// Label is what the end of life is called: "retire, at 70 %".
func (e *EndOfLife) Label(sys units.System) string {
	return "retire, at " + units.Format(e.SohPct, units.Pct, sys)
}

// Rounded writes the date for people; one that does not come in the time that is
// looked ahead is "not in sight".
func (e *EndOfLife) Rounded() units.Rounded {
	r := e.Date.Rounded()
	if e.EquivalentFullCycles == nil {
		r.Value = "not in sight"
	}
	return r
}

// Why are the codes of the warnings that say why the date is in doubt or unknown.
func (e *EndOfLife) Why() []string {
	return []string{"end_of_life_not_in_sight", "end_of_life_may_not_come"}
}
