package charts

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Trace shows quantities over one stretch of time, one panel each above a shared time axis, with the segments
// (charges, rides, rests) marked along the top and tinted in the panels. What no eye can tell
// apart is thinned; whoever reads a long file keeps no more of it than a picture needs.
type Trace struct {
	Title    string
	Alt      string         // what it shows, in words; made from the data where empty
	Hint     string         // what to record, shown while there is nothing to draw
	Zone     *time.Location // of the labels; nil: UTC
	Panels   []Panel
	Segments []Segment
}

// Panel is one quantity of a trace, such as the voltage. The X of its points are those of [At].
type Panel struct {
	Label, Unit string
	Colour      int
	FromZero    bool
	Through     []XY
	Levels      []Level
}

// Segment is a stretch of a trace. Where two overlap, the later begins when the earlier ends. Its label stands in the
// strip along the top if there is room; without one the kind's name does.
type Segment struct {
	Start, End float64
	Kind       SegmentKind
	Label      string
}

// SegmentKind says what went on in a segment.
type SegmentKind int

const (
	// Rest is time without charge or ride.
	Rest SegmentKind = iota
	// Charge is a charge.
	Charge
	// Ride is a ride, or a bench discharge.
	Ride
)

// String gives the kind's name.
func (k SegmentKind) String() string {
	switch k {
	case Charge:
		return "charge"
	case Ride:
		return "ride"
	}
	return "rest"
}

// colour gives the series colour of a kind.
func (k SegmentKind) colour() int {
	switch k {
	case Charge:
		return 2
	case Ride:
		return 4
	}
	return 5
}

// AltTitle implements Picture.
func (t Trace) AltTitle() string { return t.Title }

func (t Trace) extent(s Size, _ bool) (float64, float64) {
	need := 2*s.MarginPx + s.TextPx*(8+7*float64(len(t.Panels)))
	return s.WidthPx, max(s.HeightPx, need)
}

func (t Trace) clean() Trace {
	t.Title, t.Alt, t.Hint = cleanText(t.Title), cleanAlt(t.Alt), cleanText(t.Hint)
	if t.Zone == nil {
		t.Zone = time.UTC
	}
	var panels []Panel
	for _, p := range t.Panels {
		p.Label, p.Unit, p.Through = cleanText(p.Label), cleanText(p.Unit), cleanLine(p.Through, Axis{Calendar: true})
		if len(p.Through) > 0 {
			panels = append(panels, p)
		}
	}
	t.Panels = panels
	x := Axis{Calendar: true}
	var segments []Segment
	for _, s := range t.Segments {
		if x.holds(s.Start) && x.holds(s.End) && s.Start < s.End {
			s.Label = cleanText(s.Label)
			segments = append(segments, s)
		}
	}
	t.Segments = parted(segments)
	return t
}

// parted sorts segments by their start and lets each begin no earlier than the one before ends.
func parted(segments []Segment) []Segment {
	slices.SortStableFunc(segments, func(a, b Segment) int { return cmp.Compare(a.Start, b.Start) })
	var out []Segment
	for _, s := range segments {
		if n := len(out); n > 0 {
			s.Start = max(s.Start, out[n-1].End)
		}
		if s.Start < s.End {
			out = append(out, s)
		}
	}
	return out
}

// figure gives the figure that one panel is.
func (t Trace) figure(p Panel, x Limits) Figure {
	return Figure{
		X:      Axis{Calendar: true, Zone: t.Zone, Limits: x},
		Y:      Axis{Label: p.Label, Unit: p.Unit, FromZero: p.FromZero},
		Lines:  []Line{{Colour: p.Colour, Through: p.Through, trace: true}},
		Levels: p.Levels,
	}.clean()
}

// xLimits gives the stretch of time that the panels and segments cover.
func (t Trace) xLimits() Limits {
	var r reach
	for _, p := range t.Panels {
		for _, q := range p.Through {
			r.add(q.X)
		}
	}
	for _, s := range t.Segments {
		r.add(s.Start, s.End)
	}
	return roomAround(r, 0.004, 30, 2)
}

func (t Trace) draw(c *canvas, area box, bare bool) {
	t = t.clean()
	area.y0 = drawTitle(c, t.Title, area, bare)
	if len(t.Panels) == 0 {
		drawNothing(c, area, t.Hint)
		return
	}
	key := layLegend(c, t.keys(), area.width(), 2)
	key.draw(c, pt{area.x0, area.y0})
	area.y0 += key.height

	strip := 0.0
	if len(t.Segments) > 0 {
		strip = small(c) * 1.7
	}
	plots := t.layPanels(c, box{area.x0, area.y0 + strip, area.x1, area.y1})
	for i, p := range plots {
		t.drawPanel(p, i == len(plots)-1)
	}
	t.drawStrip(plots[0], box{plots[0].area.x0, area.y0, plots[0].area.x1, area.y0 + small(c)*1.45})
}

// layPanels sets the panels one under the other, with a left edge that leaves room for the widest label of all of them.
func (t Trace) layPanels(c *canvas, area box) []*plot {
	size, x := small(c), t.xLimits()
	below := tickPx + size*2.9
	each := (area.height() - below) / float64(len(t.Panels))
	plots := make([]*plot, len(t.Panels))
	left := area.x0
	for i, panel := range t.Panels {
		p := &plot{c: c, f: t.figure(panel, x)}
		l, _ := p.f.yReach()
		p.yt = numberTicks(l.Low, l.High, yTickCount(each-size*2, size))
		p.y = scale{low: l.Low, high: l.High}
		left = max(left, area.x0+p.widestY(size)+tickPx+size*0.4)
		p.left = area.x0
		plots[i] = p
	}
	for i, p := range plots {
		top := area.y0 + float64(i)*each
		p.area = box{left, top + size*1.85, area.x1 - size*0.5, top + each - size*0.4}
		p.x = scale{x.Low, x.High, p.area.x0, p.area.x1}
		p.y.from, p.y.to = p.area.y1, p.area.y0
		p.xt = p.xTicks(size)
		p.taken = newOccupancy(p.area)
	}
	return plots
}

// drawPanel draws one panel; only the last has the time axis written under it.
func (t Trace) drawPanel(p *plot, last bool) {
	size := small(p.c)
	name := fitText(p.c.font, p.f.Y.name(), size, p.c.bound.width()/2)
	p.c.write(name, pt{p.left, p.area.y0 - size*0.75}, size, p.c.col.soft, alignLeft, "yname")
	for _, s := range t.Segments {
		b := box{p.x.at(s.Start), p.area.y0, p.x.at(s.End), p.area.y1}
		col := p.c.col.seriesColour(s.Kind.colour())
		if s.Kind != Rest {
			p.c.rect(b, faded(col, p.c.col.shadeAlpha/2))
		}
		if s.Kind == Ride {
			p.c.hatch(b, 1, faded(col, 0x60), 8)
		}
	}
	p.drawGround()
	p.drawLevels()
	p.drawLines(false)
	if last {
		p.drawAxes()
	} else {
		p.drawYAxis()
		p.c.rule(pt{p.area.x0, p.area.y1}, pt{p.area.x1, p.area.y1}, p.c.col.axis, 1.2)
	}
	p.writeLevels()
}

// drawStrip draws the segments along the top, labelled where there is room: with the whole label, or with the kind's
// first letter.
func (t Trace) drawStrip(p *plot, strip box) {
	size := small(p.c)
	for _, s := range t.Segments {
		b := box{p.x.at(s.Start), strip.y0, p.x.at(s.End), strip.y1}
		if b.width() < 1 {
			b.x1 = b.x0 + 1
		}
		if b.width() > 3 { // a hair of paper between neighbours
			b.x0, b.x1 = b.x0+0.5, b.x1-0.5
		}
		segmentBox(p.c, b, s.Kind)
		for _, text := range []string{s.Label, s.Kind.String(), strings.ToUpper(s.Kind.String()[:1])} {
			if m := middle(b); text != "" && p.c.width(text, size) <= b.width()-3 {
				p.c.write(text, pt{m.x, m.y + size*0.3}, size, p.c.col.ink, alignMiddle, "segment")
				break
			}
		}
	}
}

// segmentBox draws a segment's box: a charge has a thick foot, a ride a dashed one, a rest none.
func segmentBox(c *canvas, b box, k SegmentKind) {
	col := c.col.seriesColour(k.colour())
	c.rect(b, faded(col, c.col.shadeAlpha))
	switch k {
	case Charge:
		c.rect(box{b.x0, b.y1 - 2.4, b.x1, b.y1}, col)
	case Ride:
		c.line([]pt{{b.x0, b.y1 - 1.2}, {b.x1, b.y1 - 1.2}}, col, 2.4, []float64{4, 3})
	}
}

// keys explains the kinds of segment that are there.
func (t Trace) keys() []key {
	var ks []key
	for _, k := range []SegmentKind{Charge, Ride, Rest} {
		for _, s := range t.Segments {
			if s.Kind == k {
				ks = append(ks, key{text: k.String(), swatch: func(c *canvas, b box) { segmentBox(c, b, k) }})
				break
			}
		}
	}
	return ks
}

// AltText implements Picture.
func (t Trace) AltText() string {
	t = t.clean()
	switch {
	case t.Alt != "":
		return t.Alt
	case len(t.Panels) == 0:
		return joinSentences(nothingYet, t.Hint)
	}
	var x reach
	var parts []string
	for _, p := range t.Panels {
		var y reach
		for _, q := range p.Through {
			x.add(q.X)
			y.add(q.Y)
		}
		parts = append(parts, fmt.Sprintf("%s between %s and %s", orElse(p.Label, "value"), quantity(y.low, p.Unit), quantity(y.high, p.Unit)))
	}
	const layout = "2006-01-02 15:04"
	head := "From " + timeOf(x.low, t.Zone).Format(layout) + " to " + timeOf(x.high, t.Zone).Format(layout)
	counts := map[SegmentKind]int{}
	for _, s := range t.Segments {
		counts[s.Kind]++
	}
	for _, k := range []SegmentKind{Charge, Ride, Rest} {
		if n := counts[k]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s segments: %d", k, n))
		}
	}
	return joinSentences(append([]string{head}, parts...)...)
}
