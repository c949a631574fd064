package charts

import "fmt"

// Bars compares one quantity over several things, one row each: bars from zero or, with Dots, dots on a scale that
// need not begin there.
type Bars struct {
	Title string
	Alt   string // what it shows, in words; made from the data where empty
	Hint  string // what to record, shown while there is nothing to compare
	Axis  Axis   // the quantity; never a calendar
	Dots  bool
	Items []Item
}

// Item is one thing with its value and, where Interval is true, its bounds.
type Item struct {
	Name      string
	Colour    int
	Value     float64
	Interval  bool
	Low, High float64
}

// AltTitle implements Picture.
func (b Bars) AltTitle() string { return b.Title }

func (b Bars) extent(s Size, _ bool) (float64, float64) { return rowsExtent(s, len(b.Items), 0) }

func (b Bars) clean() Bars {
	b.Title, b.Alt, b.Hint, b.Axis = cleanText(b.Title), cleanAlt(b.Alt), cleanText(b.Hint), b.Axis.clean()
	b.Axis.FromZero = b.Axis.FromZero || !b.Dots
	var items []Item
	for _, it := range b.Items {
		if !finite(it.Value) {
			continue
		}
		it.Name = cleanText(it.Name)
		it.Interval, it.Low, it.High = inOrder(it.Interval, it.Low, it.High)
		items = append(items, it)
	}
	b.Items = items
	return b
}

// limits gives the axis: all values, and the intervals as far as they stay within reach of them.
func (b Bars) limits() Limits {
	if b.Axis.Limits.set() {
		return b.Axis.Limits
	}
	var r reach
	for _, it := range b.Items {
		r.add(it.Value)
	}
	all := r
	room := max(r.high-r.low, max(r.high, -r.low)/2)
	for _, it := range b.Items {
		if it.Interval {
			low, high := it.Low, it.High
			if room > 0 {
				low, high = max(low, r.low-room), min(high, r.high+room)
			}
			all.add(low, high)
		}
	}
	return withZero(b.Axis, roomAround(all, 0.06, 0, 0), all)
}

func (b Bars) draw(c *canvas, area box, bare bool) {
	b = b.clean()
	area.y0 = drawTitle(c, b.Title, area, bare)
	if len(b.Items) == 0 {
		drawNothing(c, area, b.Hint)
		return
	}
	l := b.limits()
	long, short := b.texts(b.places(l))
	p := layRows(c, area, long, short, l, b.Axis.name())
	t := p.thickness()
	if x := p.x.at(0); x > p.area.x0 && x < p.area.x1 {
		c.rule(pt{x, p.area.y0}, pt{x, p.area.y1}, c.col.axis, 1.2)
	}
	for i, it := range b.Items {
		y := p.middleOf(i)
		if !b.Dots {
			p.bar(it, y, t)
		}
		if it.Interval {
			p.whisker(it.Low, it.High, y, t*0.2)
		}
		if at := (pt{p.x.at(it.Value), y}); b.Dots && p.area.contains(at) {
			c.marker(shape(wrapIndex(it.Colour)), at, min(5*c.text/14, t*0.4), c.col.seriesColour(it.Colour))
		}
		p.write(i)
	}
}

// bar draws a bar from zero, or from the end of the axis that is nearer to zero.
func (p *rowPlot) bar(it Item, y, t float64) {
	zero := min(max(0, p.x.low), p.x.high)
	x0, x1 := p.x.at(zero), p.x.at(it.Value)
	p.c.fill(clipPolygon(p.area, corners(box{min(x0, x1), y - t/2, max(x0, x1), y + t/2})), p.c.col.seriesColour(it.Colour))
}

// places gives the decimals with which the values are written.
func (b Bars) places(l Limits) int {
	var widths []float64
	for _, it := range b.Items {
		if it.Interval {
			widths = append(widths, it.High-it.Low)
		}
	}
	return placesFor(l, widths...)
}

func (b Bars) texts(places int) (long, short []rowText) {
	unit := prefixed(" ", b.Axis.Unit)
	for _, it := range b.Items {
		value := formatNumber(it.Value, places)
		short = append(short, rowText{it.Name, value + unit})
		if it.Interval {
			value += intervalText(it.Low, it.High, places, formatNumber)
		}
		long = append(long, rowText{it.Name, value + unit})
	}
	return long, short
}

// AltText implements Picture.
func (b Bars) AltText() string {
	b = b.clean()
	switch {
	case b.Alt != "":
		return b.Alt
	case len(b.Items) == 0:
		return joinSentences(nothingYet, b.Hint)
	}
	long, _ := b.texts(b.places(b.limits()))
	parts := []string{b.Axis.name()}
	for _, t := range long {
		parts = append(parts, fmt.Sprintf("%s: %s", orElse(t.name, "value"), t.value))
	}
	return joinSentences(parts...)
}
