package pictures

import (
	"packwane/charts"
	"packwane/health/units"
)

// consumption shows what a kilometre takes over the air temperature.
func (o Of) consumption() charts.Figure {
	f := charts.Figure{
		Hint: "Log rides with their distance, Wh and air temperature.",
		X:    charts.Axis{Label: "Air", Unit: units.Symbol(units.Celsius, o.System)},
		Y:    charts.Axis{Label: "Consumption", Unit: units.Symbol(units.WhPerKm, o.System)},
	}
	band, line := charts.Band{}, charts.Line{Name: "at reference conditions but for the air"}
	for _, p := range o.Consumption.Curve {
		x := o.in(p.AirC, units.Celsius)
		line.Through = append(line.Through, charts.XY{X: x, Y: o.in(p.Value, units.WhPerKm)})
		if p.Low != nil && p.High != nil {
			band.Spans = append(band.Spans, charts.Span{X: x, Low: o.in(*p.Low, units.WhPerKm), High: o.in(*p.High, units.WhPerKm)})
		}
	}
	rides := charts.Points{Name: "rides, brought to the same conditions"}
	for _, r := range o.Consumption.Rides {
		rides.Marks = append(rides.Marks, charts.Mark{X: o.in(r.AirC, units.Celsius), Y: o.in(r.WhPerKm, units.WhPerKm), Doubted: r.Doubted})
	}
	f.Bands, f.Lines, f.Points = []charts.Band{band}, []charts.Line{line}, []charts.Points{rides}
	return f
}
