package pictures

import (
	"packwane/charts"
	"packwane/health/report"
	"packwane/health/units"
)

// roundTrip shows what came out of the pack of what was charged.
func (o Of) roundTrip() charts.Figure {
	f := o.calendar("Energy out over energy in", units.Pct,
		"Log the Wh of every ride from one full charge to the next, and the Wh of the charges on the DC side.")
	l := o.losses()
	o.addLevel(&f, "fitted, a full cycle now", l.RoundTripPct)
	o.addPoints(&f, units.Pct, l.RoundTrips)
	return f
}

// standby shows what the pack lost at rest. Error bars are what the last
// digits of the volts leave.
func (o Of) standby() charts.Figure {
	f := o.calendar("Charge lost in a month", units.Pct,
		"Log the volts at rest before and after the pack stands for three days or longer.")
	l := o.losses()
	o.addLevel(&f, "fitted, now", l.RestPctMonth)
	p := charts.Points{Name: "measured, with the doubt of the last digit", Colour: fittedColour}
	for _, r := range l.Rests {
		p.Marks = append(p.Marks, charts.Mark{X: charts.At(r.At), Y: r.Value, Bar: true, Low: r.Low, High: r.High, Doubted: r.Doubted})
	}
	f.Points = append(f.Points, p)
	return f
}

// losses are empty where none are given.
func (o Of) losses() *report.Losses {
	if o.Losses == nil {
		return &report.Losses{}
	}
	return o.Losses
}

// addLevel draws an estimate of now along the log, with its band.
func (o Of) addLevel(f *charts.Figure, name string, e *report.Estimate) {
	if e == nil {
		return
	}
	along := []report.CoursePoint{{At: o.losses().From, Estimate: *e}, {At: o.Course.AsOf, Estimate: *e}}
	o.addLine(f, name, units.Pct, fittedColour, along)
}
