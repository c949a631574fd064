package charts

import (
	"math"
	"time"
)

// Axis says what an axis counts. Without a unit the label stands alone.
type Axis struct {
	Label string
	Unit  string // "Ah", "mΩ", "km"
	// Calendar makes it a time axis: its values are those of [At], its labels dates or clock times in Zone (nil:
	// UTC). Only for X.
	Calendar bool
	Zone     *time.Location
	// FromZero makes the axis reach zero whatever the data.
	FromZero bool
	// Limits fixes the ends; the zero value follows the data. What lies outside is cut off, and measured points there
	// become arrowheads on the edge.
	Limits Limits
}

// holds tells whether a value can be drawn along the axis.
func (a Axis) holds(v float64) bool {
	if a.Calendar {
		return v >= firstMoment && v <= lastMoment
	}
	return finite(v)
}

// Limits are the two ends of an axis. They are ignored unless Low is below High, by a billionth of either at least.
type Limits struct{ Low, High float64 }

func (l Limits) set() bool {
	return finite(l.Low) && finite(l.High) && l.High-l.Low > 1e-9*max(1, math.Abs(l.Low), math.Abs(l.High))
}

// Figure is a picture of quantities over time or over a number. Its parts are drawn from back to front in the order
// of the fields. A figure without anything to draw says "nothing measured yet". Slices may be as long as one likes:
// what no eye can tell apart is thinned.
type Figure struct {
	Title string // its name, also for those who do not see it
	Alt   string // what it shows, in words; made from the data where empty
	Hint  string // what to record, shown while nothing is measured
	X, Y  Axis

	Shades []Shade
	Bands  []Band
	Lines  []Line
	Points []Points
	Levels []Level
	Events []Event
	Notes  []Note
}

// Shade tints a stretch of X, such as a winter or a storage. Its label goes to the legend; shades of one label are
// one entry.
type Shade struct {
	Low, High float64
	Label     string
}

// Band is the room between two bounds, such as an interval of belief. Without a name it is shown in the legend
// together with the line of its colour.
type Band struct {
	Name   string
	Colour int
	Spans  []Span
}

// Span is the band at one X. Break parts it from the span before.
type Span struct {
	X, Low, High float64
	Break        bool
}

// Line is a curve through its points in their order.
type Line struct {
	Name    string
	Colour  int
	Dashed  bool // a forecast, or anything else that has not been seen
	Through []XY
	trace   bool // of a trace: thin and unbroken, alone in its panel
}

// XY is a place on a line. Break parts it from the one before: a gap in the record.
type XY struct {
	X, Y  float64
	Break bool
}

// Points are measurements of one kind.
type Points struct {
	Name   string
	Colour int
	Marks  []Mark
}

// Mark is one measurement. Bar bounds, where Bar is true, are drawn as an error bar. A doubted one, which the rest
// speaks against, is drawn as a cross and does not stretch the axis far.
type Mark struct {
	X, Y      float64
	Bar       bool
	Low, High float64
	Doubted   bool
}

// Level is a value of Y to hold the data against, such as the level at which a pack is retired.
type Level struct {
	Y     float64
	Label string
}

// Event is a moment or value of X, such as today or the replacement of cells.
type Event struct {
	X     float64
	Label string
}

// Note is a remark on one place.
type Note struct {
	X, Y float64
	Text string
}

// clean gives the figure without what cannot be drawn: values that are not finite, empty lines, doubtful text. The
// receiver is left as it is.
func (f Figure) clean() Figure {
	g := Figure{Title: cleanText(f.Title), Alt: cleanAlt(f.Alt), Hint: cleanText(f.Hint), X: f.X.clean(), Y: f.Y.clean()}
	for _, s := range f.Shades {
		if f.X.holds(s.Low) && f.X.holds(s.High) && s.Low < s.High {
			g.Shades = append(g.Shades, Shade{s.Low, s.High, cleanText(s.Label)})
		}
	}
	for _, b := range f.Bands {
		b.Name, b.Spans = cleanText(b.Name), cleanSpans(b.Spans, f.X)
		if len(b.Spans) > 0 {
			g.Bands = append(g.Bands, b)
		}
	}
	for _, l := range f.Lines {
		l.Name, l.Through = cleanText(l.Name), cleanLine(l.Through, f.X)
		if len(l.Through) > 0 {
			g.Lines = append(g.Lines, l)
		}
	}
	for _, p := range f.Points {
		p.Name, p.Marks = cleanText(p.Name), cleanMarks(p.Marks, f.X)
		if len(p.Marks) > 0 {
			g.Points = append(g.Points, p)
		}
	}
	for _, l := range f.Levels {
		if finite(l.Y) {
			g.Levels = append(g.Levels, Level{l.Y, cleanText(l.Label)})
		}
	}
	for _, e := range f.Events {
		if f.X.holds(e.X) {
			g.Events = append(g.Events, Event{e.X, cleanText(e.Label)})
		}
	}
	for _, n := range f.Notes {
		if f.X.holds(n.X) && finite(n.Y) {
			g.Notes = append(g.Notes, Note{n.X, n.Y, cleanText(n.Text)})
		}
	}
	return g
}

// empty tells whether a clean figure has nothing that says anything: levels and events alone do not.
func (f Figure) empty() bool { return len(f.Points)+len(f.Lines)+len(f.Bands) == 0 }

func (a Axis) clean() Axis {
	a.Label, a.Unit = cleanText(a.Label), cleanText(a.Unit)
	if !a.holds(a.Limits.Low) || !a.holds(a.Limits.High) {
		a.Limits = Limits{}
	}
	if a.Zone == nil {
		a.Zone = time.UTC
	}
	return a
}

// name gives the label with its unit in brackets.
func (a Axis) name() string {
	switch {
	case a.Unit == "":
		return a.Label
	case a.Label == "":
		return a.Unit
	}
	return a.Label + " (" + a.Unit + ")"
}

func cleanSpans(in []Span, x Axis) []Span {
	out := make([]Span, 0, len(in))
	broken := false
	for _, s := range in {
		broken = broken || s.Break
		if !x.holds(s.X) || !finite(s.Low) || !finite(s.High) {
			broken = true
			continue
		}
		if s.Low > s.High {
			s.Low, s.High = s.High, s.Low
		}
		s.Break, broken = broken, false
		out = append(out, s)
	}
	return out
}

func cleanLine(in []XY, x Axis) []XY {
	out := make([]XY, 0, len(in))
	broken := false
	for _, p := range in {
		broken = broken || p.Break
		if !x.holds(p.X) || !finite(p.Y) {
			broken = true
			continue
		}
		p.Break, broken = broken, false
		out = append(out, p)
	}
	return out
}

func cleanMarks(in []Mark, x Axis) []Mark {
	out := make([]Mark, 0, len(in))
	for _, m := range in {
		if !x.holds(m.X) || !finite(m.Y) {
			continue
		}
		m.Bar, m.Low, m.High = inOrder(m.Bar, m.Low, m.High)
		out = append(out, m)
	}
	return out
}

// inOrder gives the bounds of an interval, the lower first. There is none where it
// is not asked for or a bound is not finite.
func inOrder(asked bool, low, high float64) (is bool, least, most float64) {
	return asked && finite(low) && finite(high), min(low, high), max(low, high)
}
