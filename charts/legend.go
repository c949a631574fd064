package charts

// key is one entry of a legend: a swatch, drawn around the middle of a small area, and its words.
type key struct {
	text   string
	swatch func(c *canvas, b box)
	narrow bool // the swatch is a marker alone
}

// legend is a laid out legend: it stands above the plot, so that it never covers data.
type legend struct {
	keys   []key
	at     []pt // left end of each, on its baseline
	size   float64
	height float64
}

// layLegend sets the keys in rows from left to right within the width, in at most maxRows rows; what does not fit is
// counted in a last entry.
func layLegend(c *canvas, keys []key, width float64, maxRows int) legend {
	l := legend{size: small(c)}
	if len(keys) == 0 {
		return l
	}
	row, x := 0, 0.0
	rowHeight := l.size * 1.5
	for i, k := range keys {
		lead := k.lead(c)
		k.text = fitText(c.font, k.text, l.size, width-lead)
		w := lead + c.width(k.text, l.size)
		if x > 0 && x+w > width {
			if row == maxRows-1 {
				l.more(c, len(keys)-i, x, row, rowHeight, width)
				break
			}
			row, x = row+1, 0
		}
		l.keys = append(l.keys, k)
		l.at = append(l.at, pt{x, float64(row)*rowHeight + l.size})
		x += w + l.size*1.6
	}
	l.height = float64(row+1)*rowHeight + l.size*0.3
	return l
}

// lead is the width of the swatch and the space after it.
func (k key) lead(c *canvas) float64 {
	switch {
	case k.swatch == nil:
		return 0
	case k.narrow:
		return c.text*0.8 + small(c)*0.5
	}
	return c.text*2 + small(c)*0.5
}

// more notes how many keys were left out, if there is room to say so.
func (l *legend) more(c *canvas, n int, x float64, row int, rowHeight, width float64) {
	text := "+" + formatNumber(float64(n), 0) + " more"
	if x+c.width(text, l.size) > width {
		return
	}
	l.keys = append(l.keys, key{text: text})
	l.at = append(l.at, pt{x, float64(row)*rowHeight + l.size})
}

// draw draws the legend with its top left corner at p.
func (l legend) draw(c *canvas, p pt) {
	for i, k := range l.keys {
		at := pt{p.x + l.at[i].x, p.y + l.at[i].y}
		if k.swatch != nil {
			lead := k.lead(c)
			k.swatch(c, box{at.x, at.y - l.size*0.8, at.x + lead - l.size*0.5, at.y + l.size*0.1})
			at.x += lead
		}
		c.write(k.text, at, l.size, c.col.ink, alignLeft, "legend")
	}
}

// small is the height of the text around a plot.
func small(c *canvas) float64 { return c.text * 0.93 }

func middle(b box) pt { return pt{(b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2} }

// keys gives the legend of a clean figure.
func (f Figure) keys(cut bool) []key {
	var ks []key
	doubted := 0
	var doubtedColour int
	for _, p := range f.Points {
		if n := doubtedMarks(p.Marks); n > 0 {
			doubted, doubtedColour = doubted+n, p.Colour
			if n == len(p.Marks) {
				continue
			}
		}
		if p.Name != "" {
			line, joined := f.namesake(p)
			ks = append(ks, key{text: p.Name, narrow: !joined, swatch: func(c *canvas, b box) {
				if joined {
					f.lineSwatch(line)(c, b)
				}
				c.marker(shape(wrapIndex(p.Colour)), middle(b), c.text*0.3, c.col.seriesColour(p.Colour))
			}})
		}
	}
	if doubted > 0 {
		ks = append(ks, key{text: "doubted", narrow: true, swatch: func(c *canvas, b box) {
			c.marker(cross, middle(b), c.text*0.3, c.col.seriesColour(doubtedColour))
		}})
	}
	for _, l := range f.Lines {
		if l.Name != "" && !f.joined(l) {
			ks = append(ks, key{text: l.Name, swatch: f.lineSwatch(l)})
		}
	}
	for _, b := range f.Bands {
		if b.Name != "" {
			ks = append(ks, key{text: b.Name, swatch: bandSwatch(b.Colour)})
		}
	}
	for i, label := range f.shadeLabels() {
		ks = append(ks, key{text: label, swatch: func(c *canvas, b box) { c.shade(b, i) }})
	}
	if cut {
		ks = append(ks, key{text: "(some runs off the scale)"})
	}
	return ks
}

// namesake gives the line that goes with some points: of the same name and colour. The two are one entry.
func (f Figure) namesake(p Points) (Line, bool) {
	for _, l := range f.Lines {
		if l.Name == p.Name && wrapIndex(l.Colour) == wrapIndex(p.Colour) {
			return l, true
		}
	}
	return Line{}, false
}

// joined tells whether a line is shown together with points.
func (f Figure) joined(l Line) bool {
	for _, p := range f.Points {
		if l.Name == p.Name && wrapIndex(l.Colour) == wrapIndex(p.Colour) && doubtedMarks(p.Marks) < len(p.Marks) {
			return true
		}
	}
	return false
}

// lineSwatch shows the line as drawn, with the nameless band of its colour behind it.
func (f Figure) lineSwatch(l Line) func(c *canvas, b box) {
	return func(c *canvas, b box) {
		for _, band := range f.Bands {
			if band.Name == "" && wrapIndex(band.Colour) == wrapIndex(l.Colour) {
				bandSwatch(band.Colour)(c, b)
				break
			}
		}
		m := middle(b)
		c.line([]pt{{b.x0, m.y}, {b.x1, m.y}}, c.col.seriesColour(l.Colour), c.thick(lineWidth), lineDash(l))
	}
}

func bandSwatch(colour int) func(c *canvas, b box) {
	return func(c *canvas, b box) {
		col := c.col.seriesColour(colour)
		c.rect(b, faded(col, c.col.bandAlpha))
		c.line([]pt{{b.x0, b.y0}, {b.x1, b.y0}}, faded(col, bandEdge), 1, nil)
		c.line([]pt{{b.x0, b.y1}, {b.x1, b.y1}}, faded(col, bandEdge), 1, nil)
	}
}

// shadeLabels gives the different labels of the shades, in their order.
func (f Figure) shadeLabels() []string {
	var labels []string
	for _, s := range f.Shades {
		if s.Label != "" && f.shadeOf(labels, s) < 0 {
			labels = append(labels, s.Label)
		}
	}
	return labels
}

// shadeOf gives the place of a shade's label among labels, or -1.
func (f Figure) shadeOf(labels []string, s Shade) int {
	for i, l := range labels {
		if l == s.Label {
			return i
		}
	}
	return -1
}

func doubtedMarks(ms []Mark) (n int) {
	for _, m := range ms {
		if m.Doubted {
			n++
		}
	}
	return n
}
