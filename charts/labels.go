package charts

import "math"

// occupancy remembers which small squares of a plot have something drawn in them, so that labels can keep clear of it.
type occupancy struct {
	area box
	w, h int
	used []bool
}

// cellPx is the side of one square.
const cellPx = 4

func newOccupancy(area box) *occupancy {
	o := &occupancy{area: area, w: int(area.width()/cellPx) + 1, h: int(area.height()/cellPx) + 1}
	o.used = make([]bool, o.w*o.h)
	return o
}

// each calls do with every square that b touches.
func (o *occupancy) each(b box, do func(i int)) {
	x0, x1 := o.cell(b.x0-o.area.x0, o.w), o.cell(b.x1-o.area.x0, o.w)
	y0, y1 := o.cell(b.y0-o.area.y0, o.h), o.cell(b.y1-o.area.y0, o.h)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			do(y*o.w + x)
		}
	}
}

func (o *occupancy) cell(v float64, n int) int {
	return int(min(max(math.Floor(v/cellPx), 0), float64(n-1)))
}

func (o *occupancy) mark(b box) { o.each(b, func(i int) { o.used[i] = true }) }

// markLine marks the squares along a line.
func (o *occupancy) markLine(ps []pt) {
	for i := 1; i < len(ps); i++ {
		p, q := ps[i-1], ps[i]
		n := int(math.Hypot(q.x-p.x, q.y-p.y)/(cellPx/2)) + 1
		for k := 0; k <= n; k++ {
			t := float64(k) / float64(n)
			x, y := p.x+t*(q.x-p.x), p.y+t*(q.y-p.y)
			o.mark(box{x, y, x, y})
		}
	}
}

// count gives the number of used squares that b touches.
func (o *occupancy) count(b box) (n int) {
	o.each(b, func(i int) {
		if o.used[i] {
			n++
		}
	})
	return n
}

// best gives the first of the candidates that lie in the plot with the fewest used squares; ok is false where none
// lies in it.
func (o *occupancy) best(candidates []box) (b box, ok bool) {
	least := math.MaxInt
	for _, c := range candidates {
		if c.x0 < o.area.x0 || c.x1 > o.area.x1 || c.y0 < o.area.y0 || c.y1 > o.area.y1 {
			continue
		}
		if n := o.count(c); n < least {
			b, least, ok = c, n, true
		}
	}
	return b, ok
}

// writeLevels labels the levels inside the plot, over or under their lines, where the least is covered.
func (p *plot) writeLevels() {
	size := small(p.c)
	for _, l := range p.f.Levels {
		y := p.y.at(l.Y)
		text := fitText(p.c.font, l.Label, size, p.area.width()*0.9)
		if text == "" || y < p.area.y0 || y > p.area.y1 {
			continue
		}
		w, h := p.c.width(text, size)+size*0.6, size*1.25
		var candidates []box
		for _, top := range []float64{y - h - 2, y + 2} {
			for _, share := range []float64{1, 0, 0.5, 0.75, 0.25} {
				x := p.area.x0 + 2 + share*(p.area.width()-w-4)
				candidates = append(candidates, box{x, top, x + w, top + h})
			}
		}
		if b, ok := p.taken.best(candidates); ok {
			p.plate(b, []string{text}, size, "level", true)
		}
	}
}

// plate writes lines of text on a ground of paper that lets a little of what is under it through.
func (p *plot) plate(b box, lines []string, size float64, class string, warn bool) {
	col := p.c.col.ink
	if warn {
		col = p.c.col.warn
	}
	p.c.rect(b, faded(p.c.col.paper, 0xd8))
	for i, line := range lines {
		p.c.write(line, pt{middle(b).x, b.y0 + size*(1.25*float64(i)+0.93)}, size, col, alignMiddle, class)
	}
	p.taken.mark(b)
}

// writeNotes rings the place of each note and writes its text beside it, where the least is covered, with a thin line
// between the two.
func (p *plot) writeNotes() {
	size := small(p.c)
	for _, n := range p.f.Notes {
		at := p.at(n.X, n.Y)
		if !p.area.contains(at) {
			continue
		}
		r := size * 0.45
		p.c.marker(ring, at, r, p.c.col.ink)
		lines := wrapText(p.c.font, n.Text, size, p.area.width()*0.45, 3)
		if len(lines) == 0 {
			continue
		}
		w, h := 0.0, float64(len(lines))*size*1.25
		for _, line := range lines {
			w = max(w, p.c.width(line, size)+size*0.6)
		}
		b, ok := p.taken.best(around(at, w, h, size))
		if !ok {
			continue
		}
		near := pt{min(max(at.x, b.x0), b.x1), min(max(at.y, b.y0), b.y1)}
		d := math.Hypot(near.x-at.x, near.y-at.y)
		if d > r {
			from := pt{at.x + (near.x-at.x)*r/d, at.y + (near.y-at.y)*r/d}
			p.c.line([]pt{from, near}, p.c.col.ink, 1, nil)
		}
		p.plate(b, lines, size, "note", false)
	}
}

// around gives places for a box w by h beside a point, near ones first.
func around(at pt, w, h, size float64) []box {
	var bs []box
	for _, d := range []float64{size * 0.9, size * 2, size * 3.5, size * 5.5} {
		for _, dir := range []pt{{1, -1}, {1, 1}, {-1, -1}, {-1, 1}, {0, -1}, {0, 1}, {1, 0}, {-1, 0}} {
			m := pt{at.x + dir.x*(d+w/2), at.y + dir.y*(d+h/2)}
			bs = append(bs, box{m.x - w/2, m.y - h/2, m.x + w/2, m.y + h/2})
		}
	}
	return bs
}
