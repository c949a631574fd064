package pictures

import (
	"fmt"
	"math"
	"strconv"

	"packwane/charts"
	"packwane/health/gpx"
	"packwane/health/units"
)

// Pace shows the speed of a track over its distance with the room around the
// target that counts as steady, and says in its title how much of the time it
// was held. It shows no place.
func Pace(s *gpx.Summary, system units.System) charts.Figure {
	f := charts.Figure{
		Title: "Speed over distance", Hint: "Record the track with times.",
		X: charts.Axis{Label: "Way", Unit: units.Symbol(units.Km, system), FromZero: true},
		Y: charts.Axis{Label: "Speed, stops left out", Unit: units.Symbol(units.Kmh, system), FromZero: true},
	}
	if len(s.Series) == 0 || !s.TargetKmh.OK {
		return f
	}
	in := func(v float64, u units.Unit) float64 {
		x, _ := units.In(v, u, system)
		return x
	}
	line := charts.Line{Name: "speed"}
	for _, p := range s.Series {
		y := in(p.SpeedKmh, units.Kmh)
		line.Through = append(line.Through,
			charts.XY{X: in(p.FromKm, units.Km), Y: y}, charts.XY{X: in(p.ToKm, units.Km), Y: y})
	}
	low, high := in(max(0, s.TargetKmh.V-s.WithinKmh), units.Kmh), in(s.TargetKmh.V+s.WithinKmh, units.Kmh)
	end := in(s.Series[len(s.Series)-1].ToKm, units.Km)
	within := SpeedText(s.WithinKmh, system)
	f.Lines = []charts.Line{line}
	f.Bands = []charts.Band{{Name: "within " + within + " of the target", Colour: 2,
		Spans: []charts.Span{{X: 0, Low: low, High: high}, {X: end, Low: low, High: high}}}}
	f.Levels = []charts.Level{{Y: in(s.TargetKmh.V, units.Kmh), Label: "target"}}
	if s.SteadyShare.OK {
		f.Title = fmt.Sprintf("Speed over distance: %.0f %% of the time within %s of %s", 100*s.SteadyShare.V, within, SpeedText(s.TargetKmh.V, system))
	}
	return f
}

// SpeedText writes a speed to a tenth of the rider's unit.
func SpeedText(kmh float64, system units.System) string {
	v, symbol := units.In(kmh, units.Kmh, system)
	return strconv.FormatFloat(math.Round(10*v)/10, 'f', -1, 64) + " " + symbol
}
