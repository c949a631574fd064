package pictures

import (
	"slices"

	"packwane/charts"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// The colours of the series, by what they stand for.
const (
	fittedColour = 0
	seasonColour = 1
)

func (o Of) capacity() charts.Figure {
	c := o.Course
	f := o.calendar("Capacity", units.Ah, "Log a charge until the charger has finished, then a ride to the limit with its Ah.")
	o.follow(&f, units.Ah, func(c *report.Course) ([]report.CoursePoint, []report.Measured) { return c.CapacityAh, c.Capacities })
	if c.RetireAh != nil {
		f.Levels = []charts.Level{{Y: *c.RetireAh, Label: "retire at " + units.Format(c.RetireSohPct, units.Pct, o.System) + " of as new"}}
	}
	return f
}

func (o Of) resistance() charts.Figure {
	f := o.calendar("Resistance of the pack", units.Mohm, "Log a check: one pulse of about 10 s, or a meter's reading.")
	o.follow(&f, units.Mohm, func(c *report.Course) ([]report.CoursePoint, []report.Measured) { return c.Resistance, c.Resistances })
	return f
}

// rangeAhead shows the range tests of the log and the range from now on.
func (o Of) rangeAhead() charts.Figure {
	c := o.Course
	f := o.calendar("Full charge to the limit", units.Km, "Log a ride from a full charge to the limit with its distance.")
	o.addLine(&f, "at reference conditions", units.Km, fittedColour, c.RangeKm)
	o.addLine(&f, "in the usual weather of the month", units.Km, seasonColour, c.SeasonKm)
	var tests []report.Measured
	for i := len(c.Earlier) - 1; i >= 0; i-- {
		tests = append(tests, c.Earlier[i].Ranges...)
	}
	o.addPoints(&f, units.Km, append(tests, c.Ranges...))
	if c.NeedRangeKm != nil && len(c.RangeKm) > 0 {
		f.Levels = []charts.Level{{Y: o.in(*c.NeedRangeKm, units.Km), Label: "needed: " + units.Format(*c.NeedRangeKm, units.Km, o.System)}}
	}
	return f
}

// calendar begins a figure over time, with what happened to the pack.
func (o Of) calendar(label string, u units.Unit, hint string) charts.Figure {
	f := charts.Figure{
		Hint: hint,
		X:    charts.Axis{Calendar: true, Zone: o.zone()},
		Y:    charts.Axis{Label: label, Unit: units.Symbol(u, o.System)},
	}
	f.Events = append(o.events(), charts.Event{X: charts.At(o.Course.AsOf), Label: units.FormatDate(o.Course.AsOf.In(o.zone()))})
	for _, e := range o.Course.Events {
		if e.What == "storage" && e.Until.After(e.At) {
			f.Shades = append(f.Shades, charts.Shade{Low: charts.At(e.At), High: charts.At(e.Until), Label: "in storage"})
		}
	}
	return f
}

// mostEvents is how many events a picture can hold.
const mostEvents = 4

// shown are the kinds of events that a course may bend at, the weightiest first.
var shown = []string{"cells_replaced", "retired", "warning_sign", "water", "impact", "repair"}

// events lists the weightiest events, the latest of each kind first.
func (o Of) events() []charts.Event {
	var out []charts.Event
	for _, what := range shown {
		for i := len(o.Course.Events) - 1; i >= 0; i-- {
			if e := o.Course.Events[i]; e.What == what && len(out) < mostEvents {
				out = append(out, charts.Event{X: charts.At(e.At), Label: prose.Spaced(what)})
			}
		}
	}
	return out
}

// follow adds the course of a figure and its measurements, over all lives of
// the pack.
func (o Of) follow(f *charts.Figure, u units.Unit, of func(*report.Course) ([]report.CoursePoint, []report.Measured)) {
	var course []report.CoursePoint
	var tests []report.Measured
	var breaks []int
	for i := len(o.Course.Earlier) - 1; i >= 0; i-- {
		points, measured := of(o.Course.Earlier[i])
		course, tests = append(course, points...), append(tests, measured...)
		breaks = append(breaks, len(course))
	}
	points, measured := of(o.Course)
	course, tests = append(course, points...), append(tests, measured...)
	o.addLine(f, "fitted", u, fittedColour, course, breaks...)
	o.addPoints(f, u, tests)
}

// addLine adds a course as a line with its band: what lies ahead is dashed. A
// new stretch begins at each of the breaks.
func (o Of) addLine(f *charts.Figure, name string, u units.Unit, colour int, course []report.CoursePoint, breaks ...int) {
	band := charts.Band{Colour: colour}
	seen := charts.Line{Name: name, Colour: colour}
	ahead := charts.Line{Name: name + ", ahead", Colour: colour, Dashed: true}
	wasAhead := false
	for i, p := range course {
		at := charts.XY{X: charts.At(p.At), Y: o.in(p.Value, u), Break: slices.Contains(breaks, i)}
		if p.Low != nil && p.High != nil {
			band.Spans = append(band.Spans, charts.Span{X: at.X, Low: o.in(*p.Low, u), High: o.in(*p.High, u), Break: at.Break})
		}
		if !p.Ahead {
			seen.Through = append(seen.Through, at)
		}
		joins := i+1 < len(course) && course[i+1].Ahead && !slices.Contains(breaks, i+1)
		if p.Ahead || joins {
			at.Break = at.Break || !wasAhead
			ahead.Through = append(ahead.Through, at)
		}
		wasAhead = p.Ahead || joins
	}
	if len(seen.Through) < 2 {
		seen.Through, ahead.Name = nil, name
	}
	f.Bands = append(f.Bands, band)
	f.Lines = append(f.Lines, seen, ahead)
}

func (o Of) addPoints(f *charts.Figure, u units.Unit, tests []report.Measured) {
	p := charts.Points{Name: "measured", Colour: fittedColour}
	for _, t := range tests {
		p.Marks = append(p.Marks, charts.Mark{X: charts.At(t.At), Y: o.in(t.Value, u), Doubted: t.Doubted})
	}
	f.Points = append(f.Points, p)
}

func (o Of) in(v float64, u units.Unit) float64 {
	v, _ = units.In(v, u, o.System)
	return v
}
