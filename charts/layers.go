package charts

import "math"

// at gives the place of a value pair.
func (p *plot) at(x, y float64) pt { return pt{p.x.at(x), p.y.at(y)} }

func (p *plot) drawBands() {
	for _, b := range p.f.Bands {
		col := p.c.col.seriesColour(b.Colour)
		for _, run := range splitRuns(b.Spans, func(s Span) bool { return s.Break }) {
			lows, highs := p.bandEdges(run)
			ring := append([]pt(nil), highs...)
			for i := len(lows) - 1; i >= 0; i-- {
				ring = append(ring, lows[i])
			}
			p.c.fill(clipPolygon(p.area, ring), faded(col, p.c.col.bandAlpha))
			for _, edge := range [][]pt{lows, highs} {
				for _, piece := range clipLine(p.area, edge) {
					p.c.line(piece, faded(col, bandEdge), 1, nil)
				}
			}
		}
	}
}

// bandEdges gives the two edges of a run of spans, thinned to at most one place in half a unit of width. A band at a
// single X becomes a narrow bar.
func (p *plot) bandEdges(run []Span) (lows, highs []pt) {
	for i := 0; i < len(run); {
		s := run[i]
		x := p.x.at(s.X)
		i++
		for ; i < len(run) && sameBucket(x, p.x.at(run[i].X)); i++ {
			s.Low, s.High = min(s.Low, run[i].Low), max(s.High, run[i].High)
		}
		lows = append(lows, pt{x, p.y.at(s.Low)})
		highs = append(highs, pt{x, p.y.at(s.High)})
	}
	if len(lows) == 1 {
		const half = 4
		l, h := lows[0], highs[0]
		return []pt{{l.x - half, l.y}, {l.x + half, l.y}}, []pt{{h.x - half, h.y}, {h.x + half, h.y}}
	}
	return lows, highs
}

// drawLines draws the lines; over a crowd of points, on a ground of paper that sets them off.
func (p *plot) drawLines(over bool) {
	for _, l := range p.f.Lines {
		for _, run := range splitRuns(l.Through, func(q XY) bool { return q.Break }) {
			ps := make([]pt, len(run))
			for i, q := range run {
				ps[i] = p.at(q.X, q.Y)
			}
			p.stroke(thinLine(ps), l, over)
		}
	}
}

// stroke draws one run of a line; a run of a single place is a short stroke, as long as it is wide.
func (p *plot) stroke(ps []pt, l Line, over bool) {
	width := p.c.thick(lineWidth)
	if l.trace {
		width = p.c.thick(traceWidth)
	}
	if len(ps) == 1 {
		ps = []pt{{ps[0].x - width, ps[0].y}, {ps[0].x + width, ps[0].y}}
	}
	for _, piece := range clipLine(p.area, ps) {
		if over {
			p.c.line(piece, faded(p.c.col.paper, 0xd0), width+3, nil)
		}
		p.c.line(piece, p.c.col.seriesColour(l.Colour), width, lineDash(l))
		p.taken.markLine(piece)
	}
}

// lineDash gives the pattern of a line: that of its colour, or of a forecast.
func lineDash(l Line) []float64 {
	switch {
	case l.Dashed:
		return forecastDash
	case l.trace:
		return nil
	}
	return dashes[wrapIndex(l.Colour)]
}

// marks counts the points.
func (p *plot) marks() (n int) {
	for _, s := range p.f.Points {
		n += len(s.Marks)
	}
	return n
}

func (p *plot) drawPoints(total int) {
	r := markRadius(total) * p.c.text / 14
	for _, s := range p.f.Points {
		for _, doubted := range []bool{false, true} {
			marks := thinMarks(s.Marks, doubted, p.at)
			p.drawBars(marks, s.Colour, r, total)
			for _, m := range marks {
				p.drawMark(m, s.Colour, r)
			}
		}
	}
}

// markRadius gives the radius of a marker among so many, for text 14 units high.
func markRadius(total int) float64 {
	switch {
	case total <= 80:
		return 4.4
	case total <= 300:
		return 3.4
	case total <= 1500:
		return 2.4
	}
	return 1.6
}

// drawBars draws the error bars, under the markers: of many without their feet, of a throng, where they would only be
// a blot, not at all.
func (p *plot) drawBars(marks []Mark, colour int, r float64, total int) {
	if total > throng {
		return
	}
	col := p.c.col.seriesColour(colour)
	if total > 80 {
		col = faded(col, 0x70)
	}
	for _, m := range marks {
		if !m.Bar {
			continue
		}
		from, to, ok := clipSegment(p.area, p.at(m.X, m.Low), p.at(m.X, m.High))
		if !ok {
			continue
		}
		p.c.line([]pt{from, to}, col, p.c.thick(1.3), nil)
		if total > 80 {
			continue
		}
		for _, end := range []pt{p.at(m.X, m.Low), p.at(m.X, m.High)} {
			if p.area.contains(end) {
				p.c.line([]pt{{end.x - r*0.8, end.y}, {end.x + r*0.8, end.y}}, col, p.c.thick(1.3), nil)
			}
		}
	}
}

func (p *plot) drawMark(m Mark, colour int, r float64) {
	at, s := p.at(m.X, m.Y), shape(wrapIndex(colour))
	if m.Doubted {
		s, r = cross, r*1.05
	}
	switch {
	case at.x < p.area.x0-0.5 || at.x > p.area.x1+0.5:
		return
	case at.y < p.area.y0:
		at.y, s = p.area.y0, arrowUp
	case at.y > p.area.y1:
		at.y, s = p.area.y1, arrowDown
	}
	p.c.marker(s, at, r, p.c.col.seriesColour(colour))
	p.taken.mark(box{at.x - r, at.y - r, at.x + r, at.y + r})
}

func (p *plot) drawLevels() {
	for _, l := range p.f.Levels {
		if y := p.y.at(l.Y); y >= p.area.y0 && y <= p.area.y1 {
			p.c.line([]pt{{p.area.x0, y}, {p.area.x1, y}}, p.c.col.warn, p.c.thick(1.6), levelDash)
		}
	}
}

func (p *plot) drawEvents() {
	for _, e := range p.f.Events {
		if x := p.x.at(e.X); x >= p.area.x0 && x <= p.area.x1 {
			p.c.line([]pt{{x, p.area.y0}, {x, p.area.y1}}, p.c.col.soft, p.c.thick(1.3), []float64{2, 3})
		}
	}
}

// splitRuns parts a series at its breaks.
func splitRuns[T any](s []T, broken func(T) bool) [][]T {
	var runs [][]T
	start := 0
	for i := 1; i <= len(s); i++ {
		if i == len(s) || broken(s[i]) {
			if i > start {
				runs = append(runs, s[start:i])
			}
			start = i
		}
	}
	return runs
}

// sameBucket tells whether two places fall into the same half unit of width.
func sameBucket(a, b float64) bool { return math.Floor(a*2) == math.Floor(b*2) }

// thinLine keeps of all places within one half unit of width the first, the lowest, the highest and the last, in
// their order: the picture stays as it is, peaks too.
func thinLine(ps []pt) []pt {
	out := make([]pt, 0, min(len(ps), 4096))
	for i := 0; i < len(ps); {
		j, low, high := i, i, i
		for ; j < len(ps) && sameBucket(ps[i].x, ps[j].x); j++ {
			if ps[j].y < ps[low].y {
				low = j
			}
			if ps[j].y > ps[high].y {
				high = j
			}
		}
		last := -1
		for _, k := range []int{i, min(low, high), max(low, high), j - 1} {
			if k > last {
				out = append(out, ps[k])
				last = k
			}
		}
		i = j
	}
	return out
}

// thinMarks gives the marks, doubted or not, of which no two fall into the same small square: the first of those that do.
func thinMarks(marks []Mark, doubted bool, at func(x, y float64) pt) []Mark {
	const side = 1.5
	type cell struct{ x, y int32 }
	seen := make(map[cell]bool, min(len(marks), 4096))
	var out []Mark
	for _, m := range marks {
		if m.Doubted != doubted {
			continue
		}
		p := at(m.X, m.Y)
		k := cell{gridIndex(p.x / side), gridIndex(p.y / side)}
		if !seen[k] {
			seen[k] = true
			out = append(out, m)
		}
	}
	return out
}

// gridIndex rounds a place down to whole units, within what fits the type.
func gridIndex(v float64) int32 { return int32(min(max(math.Floor(v), -1e9), 1e9)) }
