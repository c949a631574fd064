package pictures

import (
	"time"

	"packwane/charts"
	"packwane/health/logbook"
	"packwane/health/trace"
)

// Trace shows voltage and current over time with the segments marked. Each
// point stands for a short time; its extremes are both drawn, so that no peak
// is lost.
func Trace(r *trace.Result, zone *time.Location) charts.Trace {
	c := charts.Trace{Title: "Voltage and current", Hint: "Read a file with rows.", Zone: zone}
	if len(r.Segments) == 0 {
		return c
	}
	first := r.Segments[0].Start
	at := func(seconds float64) float64 {
		return charts.At(first.Add(time.Duration(seconds * float64(time.Second))))
	}
	volts := charts.Panel{Label: "Voltage", Unit: "V"}
	amps := charts.Panel{Label: "Current, + charges", Unit: "A", Colour: 1, Levels: []charts.Level{{Y: 0}}}
	for _, p := range r.Points {
		x := at(p.Seconds)
		volts.Through = append(volts.Through, both(x, p.MinV, p.MaxV)...)
		amps.Through = append(amps.Through, both(x, p.MinA, p.MaxA)...)
	}
	c.Panels = []charts.Panel{volts, amps}
	for _, s := range r.Segments {
		kind := map[trace.SegmentKind]charts.SegmentKind{trace.Rest: charts.Rest, trace.Charging: charts.Charge, trace.Riding: charts.Ride}[s.Kind]
		label := kind.String()
		if s.Full == logbook.Yes {
			label += ", full"
		} else if s.Stop != "" {
			label += ", to the " + s.Stop
		}
		c.Segments = append(c.Segments, charts.Segment{Start: at(s.Seconds[0]), End: at(s.Seconds[1]), Kind: kind, Label: label})
	}
	return c
}

func both(x, low, high float64) []charts.XY {
	if low == high {
		return []charts.XY{{X: x, Y: low}}
	}
	return []charts.XY{{X: x, Y: low}, {X: x, Y: high}}
}
