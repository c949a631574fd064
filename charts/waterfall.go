package charts

import "fmt"

// Waterfall shows how one value becomes another, cause by cause: a row for the start, one for each step, one for the
// end. The start and the end are marks on a scale that need not begin at zero; a step is a bar whose tip points the
// way it goes, with a thin line for its interval.
type Waterfall struct {
	Title string
	Alt   string // what it shows, in words; made from the data where empty
	Hint  string // what to record, shown while there is nothing to explain
	Axis  Axis   // the value that changes, such as the range in km; never a calendar

	From, To Total
	Steps    []Step
}

// Total is one end of a waterfall. OK is false where it is not known: then nothing is drawn.
type Total struct {
	Name  string
	Value float64
	OK    bool
}

// Step is what one cause adds. One that the data cannot tell from nothing is Unresolved: it is drawn as an open bar
// without a direction and written without a sign.
type Step struct {
	Name       string
	Value      float64
	Interval   bool // Low and High bound the value
	Low, High  float64
	Unresolved bool
}

// AltTitle implements Picture.
func (w Waterfall) AltTitle() string { return w.Title }

func (w Waterfall) extent(s Size, _ bool) (float64, float64) {
	return rowsExtent(s, len(w.Steps)+2, 2)
}

// clean gives the waterfall without what cannot be drawn, its ends unknown if either is not finite.
func (w Waterfall) clean() Waterfall {
	w.Title, w.Alt, w.Hint, w.Axis = cleanText(w.Title), cleanAlt(w.Alt), cleanText(w.Hint), w.Axis.clean()
	w.From.Name, w.To.Name = cleanText(w.From.Name), cleanText(w.To.Name)
	w.From.OK = w.From.OK && finite(w.From.Value)
	w.To.OK = w.To.OK && finite(w.To.Value)
	var steps []Step
	for _, s := range w.Steps {
		if !finite(s.Value) {
			continue
		}
		s.Name = cleanText(s.Name)
		s.Interval, s.Low, s.High = inOrder(s.Interval, s.Low, s.High)
		steps = append(steps, s)
	}
	w.Steps = steps
	return w
}

// limits gives the axis: all levels, and the intervals as far as they are no wider than the levels themselves reach.
func (w Waterfall) limits() Limits {
	if w.Axis.Limits.set() {
		return w.Axis.Limits
	}
	var r reach
	r.add(w.From.Value, w.To.Value)
	level := w.From.Value
	for _, s := range w.Steps {
		level += s.Value
		r.add(level)
	}
	all, level, room := r, w.From.Value, max(r.high-r.low, 1e-3*max(r.high, -r.low))
	for _, s := range w.Steps {
		if s.Interval {
			all.add(max(level+s.Low, r.low-room), min(level+s.High, r.high+room))
		}
		level += s.Value
	}
	return withZero(w.Axis, roomAround(all, 0.06, 0, 0), all)
}

func (w Waterfall) draw(c *canvas, area box, bare bool) {
	w = w.clean()
	area.y0 = drawTitle(c, w.Title, area, bare)
	if !w.From.OK || !w.To.OK {
		drawNothing(c, area, w.Hint)
		return
	}
	key := layLegend(c, w.keys(), area.width(), 3)
	key.draw(c, pt{area.x0, area.y0})
	area.y0 += key.height
	l := w.limits()
	long, short := w.texts(w.places(l))
	p := layRows(c, area, long, short, l, w.Axis.name())
	w.drawRows(p)
}

func (w Waterfall) drawRows(p *rowPlot) {
	t := p.thickness()
	level := w.From.Value
	p.total(0, level, len(w.Steps) > 0)
	p.write(0)
	for i, s := range w.Steps {
		y := p.middleOf(i + 1)
		from := level
		level += s.Value
		p.stepBar(from, level, y, t, s)
		p.link(level, y+t/2, p.middleOf(i+2)-t/2)
		if s.Interval {
			p.whisker(from+s.Low, from+s.High, y, t*0.2)
		}
		p.write(i + 1)
	}
	p.total(len(w.Steps)+1, w.To.Value, false)
	p.write(len(w.Steps) + 1)
}

// total draws one end: a diamond on a thick mark.
func (p *rowPlot) total(i int, v float64, leads bool) {
	y, t := p.middleOf(i), p.thickness()
	x := p.x.at(v)
	if x < p.area.x0 || x > p.area.x1 {
		return
	}
	p.c.line([]pt{{x, y - t/2}, {x, y + t/2}}, p.c.col.ink, 2.5, nil)
	p.c.marker(diamond, pt{x, y}, t*0.28, p.c.col.ink)
	if leads {
		p.link(v, y+t/2, p.middleOf(i+1)-t/2)
	}
}

// link draws the thin line from one row to the next at a level.
func (p *rowPlot) link(level, y0, y1 float64) {
	if x := p.x.at(level); x >= p.area.x0 && x <= p.area.x1 && y1 > y0 {
		p.c.rule(pt{x, y0}, pt{x, y1}, p.c.col.axis, 1)
	}
}

// stepBar draws a step: a bar with a tip for a gain or a loss, an open box for what is unresolved.
func (p *rowPlot) stepBar(from, to, y, t float64, s Step) {
	x0, x1 := p.x.at(from), p.x.at(to)
	if s.Unresolved {
		b := box{min(x0, x1), y - t/2, max(x0, x1), y + t/2}
		if b.width() < 3 {
			m := middle(b)
			b.x0, b.x1 = m.x-1.5, m.x+1.5
		}
		for _, piece := range clipLine(p.area, append(corners(b), pt{b.x0, b.y0})) {
			p.c.line(piece, p.c.col.soft, 1.3, []float64{3, 2})
		}
		return
	}
	col, tip := p.c.col.seriesColour(gainColour), min(t*0.4, x1-x0)
	if x1 < x0 {
		col, tip = p.c.col.seriesColour(lossColour), -min(t*0.4, x0-x1)
	}
	p.c.fill(clipPolygon(p.area, []pt{{x0, y - t/2}, {x1 - tip, y - t/2}, {x1, y}, {x1 - tip, y + t/2}, {x0, y + t/2}}), col)
}

const (
	gainColour = 2
	lossColour = 1
)

// keys explains the kinds of bar that are there.
func (w Waterfall) keys() []key {
	var gain, loss, open, interval bool
	for _, s := range w.Steps {
		open = open || s.Unresolved
		gain = gain || !s.Unresolved && s.Value > 0
		loss = loss || !s.Unresolved && s.Value < 0
		interval = interval || s.Interval
	}
	bar := func(s Step) func(c *canvas, b box) {
		return func(c *canvas, b box) {
			p := &rowPlot{c: c, area: b, x: scale{0, 1, b.x0, b.x1}}
			from, to := 0.0, 1.0
			if s.Value < 0 {
				from, to = 1, 0
			}
			p.stepBar(from, to, middle(b).y, b.height(), s)
		}
	}
	var ks []key
	if loss {
		ks = append(ks, key{text: "takes away", swatch: bar(Step{Value: -1})})
	}
	if gain {
		ks = append(ks, key{text: "adds", swatch: bar(Step{Value: 1})})
	}
	if open {
		ks = append(ks, key{text: "too small to tell", swatch: bar(Step{Value: 1, Unresolved: true})})
	}
	if interval {
		ks = append(ks, key{text: "its interval", swatch: func(c *canvas, b box) {
			p := &rowPlot{c: c, area: b, x: scale{0, 1, b.x0 + 1, b.x1 - 1}}
			p.whisker(0, 1, middle(b).y, b.height()*0.3)
		}})
	}
	return ks
}

// places gives the decimals with which the values are written.
func (w Waterfall) places(l Limits) int {
	var widths []float64
	for _, s := range w.Steps {
		if s.Interval {
			widths = append(widths, s.High-s.Low)
		}
	}
	return placesFor(l, widths...)
}

// texts gives names and values of all rows, with and without intervals.
func (w Waterfall) texts(places int) (long, short []rowText) {
	unit := prefixed(" ", w.Axis.Unit)
	add := func(name, value, interval string) {
		long = append(long, rowText{name, value + interval})
		short = append(short, rowText{name, value})
	}
	add(w.From.Name, formatNumber(w.From.Value, places)+unit, "")
	for _, s := range w.Steps {
		value, interval := formatSigned(s.Value, places), ""
		switch {
		case s.Unresolved && s.Interval:
			value = "± " + formatNumber(within(s.Low, s.High), places)
		case s.Unresolved:
			value = "?"
		case s.Interval:
			interval = intervalText(s.Low, s.High, places, formatSigned)
		}
		add(s.Name, value, interval)
	}
	add(w.To.Name, formatNumber(w.To.Value, places)+unit, "")
	return long, short
}

// AltText implements Picture.
func (w Waterfall) AltText() string {
	w = w.clean()
	switch {
	case w.Alt != "":
		return w.Alt
	case !w.From.OK || !w.To.OK:
		return joinSentences(nothingYet, w.Hint)
	}
	long, _ := w.texts(w.places(w.limits()))
	parts := []string{w.Axis.name()}
	for i, t := range long {
		value := t.value
		if i > 0 && i <= len(w.Steps) && w.Steps[i-1].Unresolved {
			value = "too small to tell, " + value
		}
		parts = append(parts, fmt.Sprintf("%s: %s", orElse(t.name, "value"), value))
	}
	return joinSentences(parts...)
}
