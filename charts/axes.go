package charts

// drawGround draws the tints and the grid.
func (p *plot) drawGround() {
	labels := p.f.shadeLabels()
	for _, s := range p.f.Shades {
		b := box{p.x.at(max(s.Low, p.x.low)), p.area.y0, p.x.at(min(s.High, p.x.high)), p.area.y1}
		if b.x0 < b.x1 {
			p.c.shade(b, max(p.f.shadeOf(labels, s), 0))
		}
	}
	for _, t := range p.yt {
		y := p.y.at(t.v)
		p.c.rule(pt{p.area.x0, y}, pt{p.area.x1, y}, p.c.col.grid, 1)
	}
	for _, t := range p.xt {
		x := p.x.at(t.v)
		p.c.rule(pt{x, p.area.y0}, pt{x, p.area.y1}, p.c.col.grid, 1)
	}
}

// drawAxes draws the two axis lines, their ticks and all that is written along them.
func (p *plot) drawAxes() {
	p.drawYAxis()
	p.c.rule(pt{p.area.x0, p.area.y1}, pt{p.area.x1, p.area.y1}, p.c.col.axis, 1.2)
	drawXAxis(p.c, p.x, p.xt, p.area.y1, p.f.X.name())
}

// drawYAxis draws the line on the left, its ticks and their labels.
func (p *plot) drawYAxis() {
	a, col, size := p.area, p.c.col, small(p.c)
	p.c.rule(pt{a.x0, a.y0}, pt{a.x0, a.y1}, col.axis, 1.2)
	for _, t := range p.yt {
		y := p.y.at(t.v)
		p.c.rule(pt{a.x0 - tickPx, y}, pt{a.x0, y}, col.axis, 1.2)
		p.c.write(t.label, pt{a.x0 - tickPx - size*0.3, y + size*0.35}, size, col.soft, alignRight, "ytick")
	}
}

// drawXAxis draws the ticks of an X axis whose line lies at y, their labels, the outer labels under them and the name
// of the axis.
func drawXAxis(c *canvas, x scale, ts []tick, y float64, name string) {
	size := small(c)
	for _, t := range ts {
		c.rule(pt{x.at(t.v), y}, pt{x.at(t.v), y + tickPx}, c.col.axis, 1.2)
	}
	row := y + tickPx + size*1.1
	last := -1e9
	for _, t := range ts {
		w := c.width(t.label, size)
		left := insideOf(x.at(t.v)-w/2, w, c.bound)
		if left < last+size*0.4 {
			continue
		}
		c.write(t.label, pt{left + w/2, row}, size, c.col.soft, alignMiddle, "xtick")
		last = left + w
	}
	if writeContexts(c, x, ts, row+size*1.4) {
		row += size * 1.4
	}
	if name != "" {
		name = fitText(c.font, name, size, c.bound.width()-4)
		w := c.width(name, size)
		c.write(name, pt{insideOf((x.from+x.to)/2-w/2, w, c.bound) + w/2, row + size*1.45}, size, c.col.soft, alignMiddle, "xname")
	}
}

// writeContexts writes the outer labels. Where two would meet, the later stays: it says where something new begins.
func writeContexts(c *canvas, x scale, ts []tick, row float64) (any bool) {
	size := small(c)
	next := 1e9
	for i := len(ts) - 1; i >= 0; i-- {
		t := ts[i]
		if t.context == "" {
			continue
		}
		any = true
		w := c.width(t.context, size)
		left := insideOf(x.at(t.v)-w/2, w, c.bound)
		if left+w > next-size*0.4 {
			continue
		}
		c.write(t.context, pt{left + w/2, row}, size, c.col.soft, alignMiddle, "xcontext")
		next = left
	}
	return any
}

// insideOf moves the left end of something w wide so that it lies in b, with a hair's breadth to spare.
func insideOf(left, w float64, b box) float64 {
	return max(min(left, b.x1-w-2), b.x0+2)
}
