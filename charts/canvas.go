package charts

import (
	"math"

	"github.com/golang/freetype/truetype"
	chart "github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"
)

// pt is a place on the canvas in picture units, from the top left.
type pt struct{ x, y float64 }

// box is an area of the canvas in picture units.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) width() float64  { return b.x1 - b.x0 }
func (b box) height() float64 { return b.y1 - b.y0 }

// inset gives b without a margin of d on every side.
func (b box) inset(d float64) box { return box{b.x0 + d, b.y0 + d, b.x1 - d, b.y1 - d} }

// overlaps tells whether the two areas share more than an edge.
func (b box) overlaps(c box) bool {
	return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1
}

// contains tells whether p lies in b or on its edge.
func (b box) contains(p pt) bool { return p.x >= b.x0 && p.x <= b.x1 && p.y >= b.y0 && p.y <= b.y1 }

// align says which end of a text stands at its x.
type align int

const (
	alignLeft align = iota
	alignMiddle
	alignRight
)

// canvas draws in picture units through a go-chart renderer, whose whole device steps are k to the unit.
type canvas struct {
	r     chart.Renderer
	k     float64
	bound box
	size  Size // what is drawn is laid out for
	col   *palette
	font  *truetype.Font
	text  float64 // height of ordinary text
}

// dev turns a length into device steps. Places are kept on the canvas, so that no oddity of the input can lead outside.
func (c *canvas) dev(v float64) int { return int(math.Round(v * c.k)) }

func (c *canvas) devXY(p pt) (int, int) {
	p = c.bound.nearest(p)
	return c.dev(p.x), c.dev(p.y)
}

// trace moves along the points, without stroking or filling.
func (c *canvas) trace(ps []pt) {
	x, y := c.devXY(ps[0])
	c.r.MoveTo(x, y)
	for _, p := range ps[1:] {
		nx, ny := c.devXY(p)
		if nx == x && ny == y {
			continue
		}
		x, y = nx, ny
		c.r.LineTo(x, y)
	}
}

// line strokes the points; a nil dash is unbroken.
func (c *canvas) line(ps []pt, col drawing.Color, width float64, dash []float64) {
	if len(ps) < 2 {
		return
	}
	steps := make([]float64, len(dash))
	for i, d := range dash {
		steps[i] = d * c.k
	}
	c.r.ResetStyle()
	c.r.SetStrokeColor(col)
	c.r.SetStrokeWidth(width * c.k)
	c.r.SetStrokeDashArray(steps)
	if _, bitmap := c.r.(roundRaster); bitmap && len(dash) == 0 && col.A == 255 {
		for ; len(ps) > mostStroked; ps = ps[mostStroked-2:] { // a line of one chunk is drawn again, so that the next is joined
			c.trace(ps[:mostStroked])
			c.r.Stroke()
		}
	}
	c.trace(ps)
	c.r.Stroke()
}

// mostStroked is how many points of a line a bitmap takes at once: the time it
// takes for a row of pixels goes with the square of the strokes that cross it,
// minutes for a long trace that goes up and down.
var mostStroked = 200

// fill fills the polygon of the points.
func (c *canvas) fill(ps []pt, col drawing.Color) {
	if len(ps) < 3 {
		return
	}
	c.r.ResetStyle()
	c.r.SetFillColor(col)
	c.trace(ps)
	c.r.Close()
	c.r.Fill()
}

// rect fills an area.
func (c *canvas) rect(b box, col drawing.Color) { c.fill(corners(b), col) }

// outline strokes the edge of an area.
func (c *canvas) outline(b box, col drawing.Color, width float64, dash []float64) {
	c.line(append(corners(b), pt{b.x0, b.y0}), col, width, dash)
}

// rule draws an upright or level line as a filled bar on whole device steps, which stays sharp where a stroke would blur.
func (c *canvas) rule(a, b pt, col drawing.Color, width float64) {
	w := math.Max(1, math.Round(width*c.k)) / c.k
	snap := func(v float64) float64 { return math.Round((v-w/2)*c.k) / c.k }
	if a.y == b.y {
		y := snap(a.y)
		c.rect(box{a.x, y, b.x, y + w}, col)
		return
	}
	x := snap(a.x)
	c.rect(box{x, a.y, x + w, b.y}, col)
}

func corners(b box) []pt { return []pt{{b.x0, b.y0}, {b.x1, b.y0}, {b.x1, b.y1}, {b.x0, b.y1}} }

// thick gives a stroke width that goes with the height of the text, w for text 14 units high.
func (c *canvas) thick(w float64) float64 { return max(w*c.text/14, 0.8) }

// width gives the width of s at a text height.
func (c *canvas) width(s string, size float64) float64 { return textWidth(c.font, s, size) }

// Of the text height, so much is above the baseline in capitals and so much below it in descenders (read off the
// font's own outlines).
const (
	ascent  = 0.76
	descent = 0.22
)

// write draws s, already clean, with its baseline at p.y, and gives the area that it takes. The class names its role
// in an SVG.
func (c *canvas) write(s string, p pt, size float64, col drawing.Color, a align, class string) box {
	w := c.width(s, size)
	switch a {
	case alignMiddle:
		p.x -= w / 2
	case alignRight:
		p.x -= w
	}
	b := box{p.x, p.y - ascent*size, p.x + w, p.y + descent*size}
	if s == "" {
		return b
	}
	c.r.ResetStyle()
	c.r.SetClassName("chart-" + class)
	c.r.SetFont(c.font)
	c.r.SetFontColor(col)
	c.r.SetFontSize(size * c.k)
	if svg, ok := c.r.(*svgRenderer); ok {
		svg.hold = a
	}
	x, y := c.devXY(p)
	c.r.Text(s, x, y)
	return b
}

// faded gives the colour with another opacity.
func faded(col drawing.Color, alpha uint8) drawing.Color {
	col.A = alpha
	return col
}
