package charts

import "math"

// rowText is what stands beside one row of a waterfall or of bars: its name on the left, its value on the right.
type rowText struct{ name, value string }

// rowPlot is the frame of pictures with one row an item: names left, values right, the plot between them and a number
// axis under it.
type rowPlot struct {
	c      *canvas
	area   box // between the names and the values
	x      scale
	xt     []tick
	height float64 // of one row
	text   float64
	texts  []rowText
	value  float64 // right edge of the values
	left   float64
}

// rowsExtent gives the size of a picture with so many rows, and so many rows of legend: the size's own, taller where
// the rows would not fit, lower where they would be lost in it.
func rowsExtent(s Size, rows, extra int) (float64, float64) {
	row := s.TextPx * 0.93
	around := 2*s.MarginPx + s.TextPx*3 + row*1.5*float64(extra) + row*4
	tight, loose := around+row*1.55*float64(rows), around+row*3.2*float64(max(rows, 3))
	return s.WidthPx, min(max(s.HeightPx, tight), max(loose, minSidePx))
}

// layRows sets the columns: names take up to a third of the width, values what they need. Where the long texts would
// leave the plot less than two fifths of the width, the short ones are used.
func layRows(c *canvas, area box, texts, short []rowText, l Limits, axis string) *rowPlot {
	p := &rowPlot{c: c, text: small(c), texts: texts, left: area.x0, value: area.x1}
	names := 0.0
	for _, t := range texts {
		names = max(names, c.width(t.name, p.text))
	}
	names = min(names, area.width()*0.36)
	if area.width()-names-p.widestValue() < area.width()*0.42 {
		p.texts = short
	}
	values := min(p.widestValue(), area.width()*0.42)
	below := tickPx + p.text*1.5
	if axis != "" {
		below += p.text * 1.5
	}
	p.area = box{area.x0 + names + p.text*0.7, area.y0, area.x1 - values - p.text*0.9, area.y1 - below}
	p.height = p.area.height() / float64(max(len(texts), 1))
	p.x = scale{l.Low, l.High, p.area.x0 + 2, p.area.x1 - 2}
	p.xt = numberTicks(l.Low, l.High, 2)
	for most := 10; most > 2; most-- {
		ts := numberTicks(l.Low, l.High, most)
		if labelsFit(p.x, ts, p.text, func(s string) float64 { return c.width(s, p.text) }) {
			p.xt = ts
			break
		}
	}
	for _, t := range p.xt {
		c.rule(pt{p.x.at(t.v), p.area.y0}, pt{p.x.at(t.v), p.area.y1}, c.col.grid, 1)
	}
	c.rule(pt{p.area.x0, p.area.y1}, pt{p.area.x1, p.area.y1}, c.col.axis, 1.2)
	drawXAxis(c, p.x, p.xt, p.area.y1, axis)
	return p
}

func (p *rowPlot) widestValue() float64 {
	w := 0.0
	for _, t := range p.texts {
		w = max(w, p.c.width(t.value, p.text))
	}
	return w
}

// middleOf gives the height on the canvas of row i's middle.
func (p *rowPlot) middleOf(i int) float64 { return p.area.y0 + (float64(i)+0.5)*p.height }

// thickness is how thick bars are.
func (p *rowPlot) thickness() float64 { return min(p.height*0.62, p.text*1.7) }

// write writes the name and the value of row i.
func (p *rowPlot) write(i int) {
	t, y := p.texts[i], p.middleOf(i)+p.text*0.35
	room := p.area.x0 - p.left - p.text*0.5
	p.c.write(fitText(p.c.font, t.name, p.text, room), pt{p.left, y}, p.text, p.c.col.ink, alignLeft, "name")
	p.c.write(fitText(p.c.font, t.value, p.text, p.value-p.area.x1), pt{p.value, y}, p.text, p.c.col.ink, alignRight, "value")
}

// whisker draws an interval across the plot at height y, with feet where its ends are on the axis.
func (p *rowPlot) whisker(low, high, y, foot float64) {
	from, to, ok := clipSegment(p.area, pt{p.x.at(low), y}, pt{p.x.at(high), y})
	if !ok {
		return
	}
	for _, pen := range []struct {
		width  float64
		ground bool
	}{{3.6, true}, {1.5, false}} {
		col := p.c.col.ink
		if pen.ground {
			col = faded(p.c.col.paper, 0xb0)
		}
		p.c.line([]pt{from, to}, col, pen.width, nil)
		for _, v := range []float64{low, high} {
			if v >= p.x.low && v <= p.x.high {
				p.c.line([]pt{{p.x.at(v), y - foot}, {p.x.at(v), y + foot}}, col, pen.width, nil)
			}
		}
	}
}

// placesFor gives the decimals with which values on an axis are written: so many that a quarter of the narrowest
// interval shows, but nothing below a three-hundredth of the axis; without intervals (a width of 0 is none), a
// thirtieth of the axis.
func placesFor(l Limits, intervals ...float64) int {
	span := l.High - l.Low
	least := 0.0
	for _, w := range intervals {
		if w > 0 && (least == 0 || w < least) {
			least = w
		}
	}
	if least == 0 {
		return min(stepPlaces(span/30), 6)
	}
	return min(stepPlaces(max(least/4, span/300)), 6)
}

// intervalText writes bounds behind a value.
func intervalText(low, high float64, places int, write func(float64, int) string) string {
	return " (" + write(low, places) + " to " + write(high, places) + ")"
}

// within gives how far from nothing a value may be, where only that is worth saying: the bound that is farther.
func within(low, high float64) float64 { return max(math.Abs(low), math.Abs(high)) }
