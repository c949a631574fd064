package charts

// plot is a figure laid out: where its axes stand and what is written along them.
type plot struct {
	c      *canvas
	f      Figure
	area   box     // between the axes
	left   float64 // where the name of the Y axis begins
	x, y   scale
	xt, yt []tick
	taken  *occupancy
}

const (
	// Stroke widths are for text 14 units high; see canvas.thick.
	lineWidth  = 2.2
	traceWidth = 1.5
	bandEdge   = 0x90 // opacity of the edge of a band
	tickPx     = 4
	crowd      = 250  // points: from here on lines are drawn over them
	throng     = 2000 // points: from here on they have no error bars
)

// AltTitle implements Picture.
func (f Figure) AltTitle() string { return f.Title }

func (f Figure) extent(s Size, _ bool) (float64, float64) { return s.WidthPx, s.HeightPx }

func (f Figure) draw(c *canvas, area box, bare bool) {
	f = f.clean()
	area.y0 = drawTitle(c, f.Title, area, bare)
	if f.empty() {
		drawNothing(c, area, f.Hint)
		return
	}
	p := layPlot(c, f, area)
	p.drawGround()
	p.drawBands()
	p.drawLevels()
	p.drawEvents()
	if total := p.marks(); total > crowd {
		p.drawPoints(total)
		p.drawLines(true)
	} else {
		p.drawLines(false)
		p.drawPoints(total)
	}
	p.drawAxes()
	p.writeLevels()
	p.writeNotes()
}

// drawTitle writes the title, unless bare, and gives the top of what is left.
func drawTitle(c *canvas, title string, area box, bare bool) float64 {
	if bare || title == "" {
		return area.y0
	}
	size := c.text * 1.2
	y := area.y0
	for _, line := range wrapText(c.font, title, size, area.width(), 2) {
		y += size * 1.15
		c.write(line, pt{area.x0, y - descent*size}, size, c.col.ink, alignLeft, "title")
	}
	return y + size*0.35
}

// nothingYet is what a picture says that has nothing to show.
const nothingYet = "Nothing measured yet"

// drawNothing says that there is nothing to draw yet, and what would change that.
func drawNothing(c *canvas, area box, hint string) {
	c.outline(area, c.col.axis, 1.2, []float64{6, 5})
	size := c.text * 1.15
	lines := wrapText(c.font, hint, c.text, area.width()*0.84, 4)
	m := middle(area)
	y := m.y - float64(len(lines))*c.text*0.7
	c.write(fitText(c.font, nothingYet, size, area.width()*0.9), pt{m.x, y}, size, c.col.ink, alignMiddle, "empty")
	for _, line := range lines {
		y += c.text * 1.5
		c.write(line, pt{m.x, y}, c.text, c.col.soft, alignMiddle, "empty")
	}
}

// layPlot draws what stands above the plot (legend, name of the Y axis, labels of events) and finds the place of
// everything else. Widths come first: the Y labels set the left edge, with it the X scale is known, with that the
// rows of X labels below and of event labels above, and with those the height.
func layPlot(c *canvas, f Figure, area box) *plot {
	p := &plot{c: c, f: f}
	size := small(c)
	yl, cut := f.yReach()
	l := layLegend(c, f.keys(cut), area.width(), max(1, int(area.height()*0.3/(size*1.5))))
	l.draw(c, pt{area.x0, area.y0})
	top := area.y0 + l.height

	guess := area.y1 - top - size*5
	p.yt = numberTicks(yl.Low, yl.High, yTickCount(guess, size))
	left := area.x0 + p.widestY(size) + tickPx + size*0.4
	right := area.x1 - size*0.5
	xl := f.xReach()
	p.x = scale{xl.Low, xl.High, left, right}
	p.xt = p.xTicks(size)

	bottom := area.y1 - tickPx - size*1.45*p.rowsBelow()
	top += p.writeAbove(top, area.x0, left, right, size)
	p.area = box{left, top, right, max(bottom, top+size)}
	p.y = scale{yl.Low, yl.High, p.area.y1, p.area.y0}
	p.taken = newOccupancy(p.area)
	return p
}

// yTickCount gives the most labels that a height takes without crowding.
func yTickCount(height, size float64) int { return int(min(max(height/(size*2.6), 2), 9)) }

func (p *plot) widestY(size float64) float64 {
	w := 0.0
	for _, t := range p.yt {
		w = max(w, p.c.width(t.label, size))
	}
	return w
}

func (p *plot) xTicks(size float64) []tick {
	width := func(s string) float64 { return p.c.width(s, size) }
	if p.f.X.Calendar {
		return calendarTicks(p.x, p.f.X.Zone, 14, size, width)
	}
	for most := 12; most > 2; most-- {
		ts := numberTicks(p.x.low, p.x.high, most)
		if labelsFit(p.x, ts, size, width) {
			return ts
		}
	}
	return numberTicks(p.x.low, p.x.high, 2)
}

// rowsBelow counts the rows of text under the plot.
func (p *plot) rowsBelow() float64 {
	rows := 1.0
	if p.hasContext() {
		rows++
	}
	if p.f.X.name() != "" {
		rows++
	}
	return rows
}

func (p *plot) hasContext() bool {
	for _, t := range p.xt {
		if t.context != "" {
			return true
		}
	}
	return false
}

// maxEventRows is how many rows of event labels may pile up; a label that finds no room in them is left out, its line
// stays.
const maxEventRows = 3

// writeAbove writes the name of the Y axis and the labels of events above the plot, and gives the height that they take.
func (p *plot) writeAbove(top, x0, left, right, size float64) float64 {
	rowHeight := size * 1.4
	rows := make([][]box, maxEventRows)
	name := fitText(p.c.font, p.f.Y.name(), size, right-x0)
	type word struct {
		text string
		x    float64
		row  int
		hold align
	}
	words := []word{{name, x0, 0, alignLeft}}
	used := 1
	rows[0] = append(rows[0], box{x0, 0, x0 + p.c.width(name, size) + size, 1})
	for _, e := range p.f.Events {
		if e.Label == "" || e.X < p.x.low || e.X > p.x.high {
			continue
		}
		text := fitText(p.c.font, e.Label, size, (right-left)*0.6)
		w := p.c.width(text, size)
		x := min(max(p.x.at(e.X)-w/2, left), right-w)
		for r := range rows {
			b := box{x - size/2, 0, x + w + size/2, 1}
			if !overlapsAny(b, rows[r]) {
				rows[r] = append(rows[r], b)
				words = append(words, word{text, x + w/2, r, alignMiddle})
				used = max(used, r+1)
				break
			}
		}
	}
	if len(words) == 1 && name == "" {
		return size * 0.6
	}
	for i, w := range words {
		class, col := "event", p.c.col.ink
		if i == 0 {
			class, col = "yname", p.c.col.soft
		}
		y := top + float64(used-w.row)*rowHeight - size*0.45
		p.c.write(w.text, pt{w.x, y}, size, col, w.hold, class)
	}
	return float64(used)*rowHeight + size*0.35
}

func overlapsAny(b box, others []box) bool {
	for _, o := range others {
		if b.overlaps(o) {
			return true
		}
	}
	return false
}
