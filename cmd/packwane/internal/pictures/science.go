package pictures

import (
	"packwane/charts"
	"packwane/health/report"
	"packwane/health/units"
)

// Explained draws an explanation as steps from a full charge as new to the ride.
func Explained(x *report.Explain, sys units.System) charts.Picture {
	in := func(v float64) float64 {
		v, _ = units.In(v, units.Km, sys)
		return v
	}
	w := charts.Waterfall{
		Title: "Why ride " + x.Ride + " went as far as it did", Axis: charts.Axis{Label: "Way to the limit", Unit: units.Symbol(units.Km, sys)},
		From: charts.Total{Name: "as new, at reference", Value: in(x.ReferenceKm.Value), OK: true},
		To:   charts.Total{Name: "this ride", Value: in(x.RideKm.Value), OK: true},
	}
	add := func(name string, e *report.Estimate, resolved bool) {
		s := charts.Step{Name: name, Value: in(e.Value), Unresolved: !resolved}
		if e.Low != nil && e.High != nil {
			s.Interval, s.Low, s.High = true, in(*e.Low), in(*e.High)
		}
		w.Steps = append(w.Steps, s)
	}
	for _, c := range x.Causes {
		add(c.Name(), c.Km, c.Resolved)
	}
	add("unexplained", x.UnexplainedKm, x.UnexplainedResolved())
	return w
}

// Compared draws the ranges of a comparison as dots with their intervals.
func Compared(c *report.Compare, sys units.System) charts.Picture {
	b := charts.Bars{
		Title: "Range, brought to the same conditions", Dots: true, Axis: charts.Axis{Label: "Full charge to the limit", Unit: units.Symbol(units.Km, sys)},
		Hint: "Log a ride from a full charge to the limit with its distance.",
	}
	for i, e := range c.Entries {
		if e.RangeKm == nil {
			continue
		}
		v, _ := units.In(e.RangeKm.Value, units.Km, sys)
		it := charts.Item{Name: e.Name, Colour: i, Value: v}
		if e.RangeKm.Low != nil && e.RangeKm.High != nil {
			it.Interval = true
			it.Low, _ = units.In(*e.RangeKm.Low, units.Km, sys)
			it.High, _ = units.In(*e.RangeKm.High, units.Km, sys)
		}
		b.Items = append(b.Items, it)
	}
	return b
}

// Power draws how often a plan's tests find the difference, over their number.
func Power(p *report.Plan, sys units.System) charts.Picture {
	word := "Tests of each"
	if p.Paired {
		word = "Outings"
	}
	f := charts.Figure{
		Title: "How often " + units.Format(p.DifferenceKm, units.Km, sys) + " would be found", Hint: "Log rides from a full charge to the limit with their distance.",
		X: charts.Axis{Label: word}, Y: charts.Axis{Label: "Found", Unit: "%", FromZero: true},
	}
	l := charts.Line{Name: "chance to find it"}
	for _, at := range p.Power {
		l.Through = append(l.Through, charts.XY{X: float64(at.Tests), Y: at.PowerPct})
	}
	f.Lines = []charts.Line{l}
	f.Levels = []charts.Level{{Y: p.PowerPct, Label: "nine of ten"}}
	return f
}
