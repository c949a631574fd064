package charts

import (
	"math"

	chart "github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"
)

// roundRaster is go-chart's raster renderer with rounder circles: its own are four quadratic curves, 6 % too far out
// between them.
type roundRaster struct{ chart.Renderer }

// Circle adds a circle to the path, as eight quadratic curves (within 0.1 % of the radius).
func (r roundRaster) Circle(radius float64, x, y int) {
	const n = 8
	at := func(rad, turn float64) (int, int) {
		a := turn * 2 * math.Pi / n
		return x + int(math.Round(rad*math.Cos(a))), y + int(math.Round(rad*math.Sin(a)))
	}
	far := radius / math.Cos(math.Pi/n)
	px, py := at(radius, 0)
	r.MoveTo(px, py)
	for i := range n {
		cx, cy := at(far, float64(i)+0.5)
		px, py = at(radius, float64(i)+1)
		r.QuadCurveTo(cx, cy, px, py)
	}
	r.Close()
}

// shape is the form of a marker. The first Colours of them go with the series colours.
type shape int

const (
	disc shape = iota
	square
	triangle
	diamond
	wedge // a triangle on its tip
	plus
	cross     // a doubted measurement
	arrowUp   // a measurement above the axis
	arrowDown // a measurement below the axis
	ring      // where a note points to
)

// marker draws a shape of radius r around p. Solid shapes that are not tiny are set off from what lies under them by
// a thin line in the colour of the paper.
func (c *canvas) marker(s shape, p pt, r float64, col drawing.Color) {
	switch s {
	case disc:
		c.pen(col, c.col.paper, rim(r))
		x, y := c.devXY(p)
		c.r.Circle(r*c.k, x, y)
		c.r.FillStroke()
	case ring:
		c.r.ResetStyle()
		c.r.SetStrokeColor(col)
		c.r.SetStrokeWidth(1.5 * c.k)
		x, y := c.devXY(p)
		c.r.Circle(r*c.k, x, y)
		c.r.Stroke()
	case cross:
		d := r * 0.95
		w := max(1, r*0.5)
		c.line([]pt{{p.x - d, p.y - d}, {p.x + d, p.y + d}}, col, w, nil)
		c.line([]pt{{p.x - d, p.y + d}, {p.x + d, p.y - d}}, col, w, nil)
	case plus:
		w := max(1, r*0.6)
		c.line([]pt{{p.x - r, p.y}, {p.x + r, p.y}}, col, w, nil)
		c.line([]pt{{p.x, p.y - r}, {p.x, p.y + r}}, col, w, nil)
	default:
		var ps []pt
		for _, q := range outlines[s] {
			ps = append(ps, pt{p.x + q.x*r, p.y + q.y*r})
		}
		c.pen(col, c.col.paper, rim(r))
		c.trace(ps)
		c.r.Close()
		c.r.FillStroke()
	}
}

// rim is the width of the thin line around a solid marker of radius r; in a crowd there is none.
func rim(r float64) float64 {
	if r < 3 {
		return 0
	}
	return 0.9
}

// pen sets the colours of the next FillStroke.
func (c *canvas) pen(fill, stroke drawing.Color, width float64) {
	c.r.ResetStyle()
	c.r.SetFillColor(fill)
	if width == 0 {
		stroke = drawing.ColorTransparent
	}
	c.r.SetStrokeColor(stroke)
	c.r.SetStrokeWidth(width * c.k)
}

// outlines are the corners of the angular markers for a radius of 1, of about the same area as the disc.
var outlines = map[shape][]pt{
	square:    {{-0.88, -0.88}, {0.88, -0.88}, {0.88, 0.88}, {-0.88, 0.88}},
	triangle:  {{0, -1.2}, {1.1, 0.8}, {-1.1, 0.8}},
	diamond:   {{0, -1.25}, {1.25, 0}, {0, 1.25}, {-1.25, 0}},
	wedge:     {{0, 1.2}, {1.1, -0.8}, {-1.1, -0.8}},
	arrowUp:   {{0, 0}, {1, 1.6}, {-1, 1.6}},
	arrowDown: {{0, 0}, {1, -1.6}, {-1, -1.6}},
}

// hatch draws slanted lines over an area: lean 1 rises to the right, -1 falls.
func (c *canvas) hatch(b box, lean int, col drawing.Color, gap float64) {
	h := b.height()
	for x := b.x0 - h; x < b.x1; x += gap {
		p, q := pt{x, b.y1}, pt{x + h, b.y0}
		if lean < 0 {
			p, q = pt{x, b.y0}, pt{x + h, b.y1}
		}
		if from, to, ok := clipSegment(b, p, q); ok {
			c.line([]pt{from, to}, col, 1, nil)
		}
	}
}

// shade tints an area in the manner of index k: plain, hatched one way, hatched the other way, and so on, darker,
// from the fourth on.
func (c *canvas) shade(b box, k int) {
	round := uint8(min(k/3, 3))
	c.rect(b, faded(c.col.axis, c.col.shadeAlpha*(1+round)))
	switch k % 3 {
	case 1:
		c.hatch(b, 1, faded(c.col.axis, 0x70), 10)
	case 2:
		c.hatch(b, -1, faded(c.col.axis, 0x70), 10)
	}
}
