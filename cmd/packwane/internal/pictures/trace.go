package pictures

import (
	"time"

	"packwane/charts"
	"packwane/health/logbook"
	"packwane/health/trace"
)

// Trace shows voltage and current over time with the segments marked. Each
// point stands for a short time; its extremes are both drawn, so that no peak
// is lost. Segments that would be no wider than a line are drawn as one.
func Trace(r *trace.Result, zone *time.Location) (charts.Trace, error) {
	c := charts.Trace{Title: "Voltage and current", Hint: "Read a file with rows.", Zone: zone}
	t := segmentThinner{least: r.Seconds / mostMarks}
	for s, err := range r.Segments() {
		if err != nil {
			return c, err
		}
		t.add(&s)
	}
	t.flush()
	if len(t.out) == 0 {
		return c, nil
	}
	volts := charts.Panel{Label: "Voltage", Unit: "V"}
	amps := charts.Panel{Label: "Current, + charges", Unit: "A", Colour: 1, Levels: []charts.Level{{Y: 0}}}
	for _, p := range r.Points {
		x := t.at(p.Seconds)
		volts.Through = append(volts.Through, both(x, p.MinV, p.MaxV)...)
		amps.Through = append(amps.Through, both(x, p.MinA, p.MaxA)...)
	}
	c.Panels, c.Segments = []charts.Panel{volts, amps}, t.out
	return c, nil
}

// mostMarks is how many segments a chart can tell apart, about one a pixel.
const mostMarks = 1000

// segmentThinner marks segments. Those shorter than least wait until they fill
// that time together: then they stand as one, of the kind that has been drawn
// least for how long it lasted, so that each has its share of the picture.
type segmentThinner struct {
	least float64 // s
	out   []charts.Segment

	begun bool
	first time.Time

	from, to float64 // of those that wait
	waiting  int
	owed     [3]float64 // s by kind that lasted and were not drawn
	last     charts.Segment
	kind     trace.SegmentKind // of the last
}

// at is where a time since the first row stands on the axis.
func (t *segmentThinner) at(seconds float64) float64 {
	return charts.At(t.first.Add(time.Duration(seconds * float64(time.Second))))
}

func (t *segmentThinner) add(s *trace.Segment) {
	if !t.begun {
		t.begun, t.first = true, s.Start
	}
	m, lasted := t.mark(s), s.Seconds[1]-s.Seconds[0]
	if lasted >= t.least {
		t.flush()
		t.out = append(t.out, m)
		return
	}
	if t.waiting++; t.waiting == 1 {
		t.from = s.Seconds[0]
	}
	t.to, t.last, t.kind = s.Seconds[1], m, s.Kind
	if t.owed[s.Kind] += lasted; t.to-t.from >= t.least {
		t.flush()
	}
}

// flush marks what waits.
func (t *segmentThinner) flush() {
	if t.waiting == 0 {
		return
	}
	m, kind := t.last, t.kind
	if t.waiting > 1 {
		for k, s := range t.owed {
			if s > t.owed[kind] {
				kind = trace.SegmentKind(k)
			}
		}
		m = charts.Segment{Start: t.at(t.from), End: t.at(t.to), Kind: kindOf(kind)}
	}
	t.owed[kind] -= t.to - t.from
	t.out = append(t.out, m)
	t.waiting = 0
}

func (t *segmentThinner) mark(s *trace.Segment) charts.Segment {
	kind := kindOf(s.Kind)
	label := kind.String()
	if s.Full == logbook.Yes {
		label += ", full"
	} else if s.Stop != "" {
		label += ", to the " + s.Stop
	}
	return charts.Segment{Start: t.at(s.Seconds[0]), End: t.at(s.Seconds[1]), Kind: kind, Label: label}
}

func kindOf(k trace.SegmentKind) charts.SegmentKind {
	return map[trace.SegmentKind]charts.SegmentKind{trace.Rest: charts.Rest, trace.Charging: charts.Charge, trace.Riding: charts.Ride}[k]
}

func both(x, low, high float64) []charts.XY {
	if low == high {
		return []charts.XY{{X: x, Y: low}}
	}
	return []charts.XY{{X: x, Y: low}, {X: x, Y: high}}
}
