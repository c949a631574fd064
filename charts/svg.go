package charts

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/golang/freetype/truetype"
	chart "github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"
)

// svgUnits is how many device steps of the SVG backend make one picture unit: go-chart's renderers take whole
// numbers, so lengths are rounded to a twentieth.
const svgUnits = 20

// svgRenderer is a go-chart renderer that writes SVG 1.1. Beside go-chart's own it escapes text, keeps fractions of a
// pixel, names the picture for screen readers, fixes the width of a text whatever font the reader has, and needs
// neither style attributes nor ids, so that it may stand several times in one page under a strict content security
// policy.
type svgRenderer struct {
	head  svgHead
	body  bytes.Buffer
	path  bytes.Buffer
	style chart.Style
	group string // attributes of the group that is open, if any
	theta float64
	hold  align // which end of the next text stays where it is in a font of other widths
}

// svgHead is what stands before the drawing. Lengths are picture units; unit is empty or "mm".
type svgHead struct {
	width, height float64
	paper         bool
	title, desc   string
}

func newSVG(h svgHead) *svgRenderer { return &svgRenderer{head: h} }

func (s *svgRenderer) ResetStyle()                     { s.style = chart.Style{Font: s.style.Font}; s.theta = 0 }
func (s *svgRenderer) GetDPI() float64                 { return 72 }
func (s *svgRenderer) SetDPI(float64)                  {}
func (s *svgRenderer) SetClassName(name string)        { s.style.ClassName = name }
func (s *svgRenderer) SetStrokeColor(c drawing.Color)  { s.style.StrokeColor = c }
func (s *svgRenderer) SetFillColor(c drawing.Color)    { s.style.FillColor = c }
func (s *svgRenderer) SetStrokeWidth(w float64)        { s.style.StrokeWidth = w }
func (s *svgRenderer) SetStrokeDashArray(d []float64)  { s.style.StrokeDashArray = d }
func (s *svgRenderer) SetFont(f *truetype.Font)        { s.style.Font = f }
func (s *svgRenderer) SetFontColor(c drawing.Color)    { s.style.FontColor = c }
func (s *svgRenderer) SetFontSize(size float64)        { s.style.FontSize = size }
func (s *svgRenderer) SetTextRotation(radians float64) { s.theta = radians }
func (s *svgRenderer) ClearTextRotation()              { s.theta = 0 }
func (s *svgRenderer) MoveTo(x, y int)                 { s.step('M', x, y) }
func (s *svgRenderer) LineTo(x, y int)                 { s.step('L', x, y) }
func (s *svgRenderer) QuadCurveTo(cx, cy, x, y int)    { s.step('Q', cx, cy, x, y) }
func (s *svgRenderer) Close()                          { s.path.WriteByte('Z') }

// ArcTo adds the arc as short straight lines, the first of them from the current point as go-chart does.
func (s *svgRenderer) ArcTo(cx, cy int, rx, ry, startAngle, delta float64) {
	const steps = 24
	for i := 0; i <= steps; i++ {
		a := startAngle + delta*float64(i)/steps
		x, y := cx+int(math.Round(rx*math.Cos(a))), cy+int(math.Round(ry*math.Sin(a)))
		if s.path.Len() == 0 {
			s.MoveTo(x, y)
		} else {
			s.LineTo(x, y)
		}
	}
}

func (s *svgRenderer) step(letter byte, xy ...int) {
	s.path.WriteByte(letter)
	for i, v := range xy {
		if i > 0 {
			s.path.WriteByte(' ')
		}
		s.path.WriteString(svgLength(float64(v) / svgUnits))
	}
}

func (s *svgRenderer) Stroke()     { s.draw(` fill="none"` + s.strokeAttrs() + s.classAttr()) }
func (s *svgRenderer) Fill()       { s.draw(s.fillAttrs()) }
func (s *svgRenderer) FillStroke() { s.draw(s.fillAttrs() + s.strokeAttrs()) }

// draw writes the pending path with the given attributes.
func (s *svgRenderer) draw(attrs string) {
	s.open(attrs)
	fmt.Fprintf(&s.body, `<path d="%s"/>`, s.path.Bytes())
	s.path.Reset()
}

// Circle adds a circle to the path.
func (s *svgRenderer) Circle(radius float64, x, y int) {
	r := svgLength(radius / svgUnits)
	s.step('M', x-int(math.Round(radius)), y)
	d := svgLength(2 * math.Round(radius) / svgUnits)
	fmt.Fprintf(&s.path, "a%s %s 0 1 0 %s 0a%s %s 0 1 0 -%s 0Z", r, r, d, r, r, d)
}

// Text writes body with its left end on the baseline at x, y. Readers that know textLength draw it exactly as wide as
// it was measured; to others it says which end to hold.
func (s *svgRenderer) Text(body string, x, y int) {
	size := s.style.FontSize / svgUnits
	s.open(colourAttrs("fill", s.style.FontColor) + ` font-size="` + svgLength(size) + `"` + s.classAttr())
	width := 0.0
	if s.style.Font != nil {
		width = textWidth(s.style.Font, body, size)
	}
	at, anchor := float64(x)/svgUnits, ""
	switch s.hold {
	case alignMiddle:
		at, anchor = at+width/2, ` text-anchor="middle"`
	case alignRight:
		at, anchor = at+width, ` text-anchor="end"`
	}
	s.hold = alignLeft
	px, py := svgLength(at), svgLength(float64(y)/svgUnits)
	fmt.Fprintf(&s.body, `<text x="%s" y="%s"%s`, px, py, anchor)
	if s.theta != 0 {
		fmt.Fprintf(&s.body, ` transform="rotate(%s %s %s)"`, svgLength(s.theta*180/math.Pi), px, py)
	}
	if f := s.style.Font; f != nil && covered(f, body) {
		fmt.Fprintf(&s.body, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, svgLength(width))
	}
	fmt.Fprintf(&s.body, `>%s</text>`, escapeXML(body))
}

// MeasureText gives the box of body in device steps.
func (s *svgRenderer) MeasureText(body string) chart.Box {
	if s.style.Font == nil {
		return chart.Box{}
	}
	return chart.Box{Right: int(math.Ceil(textWidth(s.style.Font, body, s.style.FontSize))), Bottom: int(math.Ceil(s.style.FontSize))}
}

// Save writes the whole picture.
func (s *svgRenderer) Save(w io.Writer) error {
	s.open("")
	h, suffix, k := s.head, "", 1.0
	if h.paper {
		suffix, k = "mm", 25.4/96
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="%s" width="%s%s" height="%s%s" viewBox="0 0 %s %s"`+
		` font-family="Roboto,'Helvetica Neue',Arial,sans-serif" font-weight="500" stroke-linejoin="round">`,
		escapeXML(h.title), svgLength(h.width*k), suffix, svgLength(h.height*k), suffix, svgLength(h.width), svgLength(h.height))
	fmt.Fprintf(&out, `<title>%s</title><desc>%s</desc>`, escapeXML(h.title), escapeXML(h.desc))
	out.Write(s.body.Bytes())
	out.WriteString("</svg>\n")
	_, err := w.Write(out.Bytes())
	return err
}

// open closes the group that is open, if it has other attributes, and opens one with these; none for the empty string.
func (s *svgRenderer) open(attrs string) {
	if attrs == s.group {
		return
	}
	if s.group != "" {
		s.body.WriteString("</g>\n")
	}
	if attrs != "" {
		s.body.WriteString("<g" + attrs + ">")
	}
	s.group = attrs
}

func (s *svgRenderer) classAttr() string {
	if s.style.ClassName == "" {
		return ""
	}
	return ` class="` + escapeXML(s.style.ClassName) + `"`
}

func (s *svgRenderer) fillAttrs() string {
	return colourAttrs("fill", s.style.FillColor) + s.classAttr()
}

func (s *svgRenderer) strokeAttrs() string {
	if s.style.StrokeWidth == 0 || s.style.StrokeColor.A == 0 {
		return ""
	}
	a := colourAttrs("stroke", s.style.StrokeColor) + ` stroke-width="` + svgLength(s.style.StrokeWidth/svgUnits) + `"`
	if len(s.style.StrokeDashArray) > 0 {
		parts := make([]string, len(s.style.StrokeDashArray))
		for i, d := range s.style.StrokeDashArray {
			parts[i] = svgLength(d / svgUnits)
		}
		a += ` stroke-dasharray="` + strings.Join(parts, " ") + `"`
	}
	return a
}

// colourAttrs gives a colour and, if it is not opaque, its opacity, as the presentation attributes fill or stroke.
func colourAttrs(what string, c drawing.Color) string {
	a := fmt.Sprintf(` %s="#%02x%02x%02x"`, what, c.R, c.G, c.B)
	if c.A != 0xff {
		a += fmt.Sprintf(` %s-opacity="%s"`, what, svgLength(float64(c.A)/255))
	}
	return a
}

// svgLength prints v with at most two decimals.
func svgLength(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64)
}

// escapeXML makes s safe as character data and inside a quoted attribute (XML 1.0, section 2.4).
var xmlEscaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

func escapeXML(s string) string { return xmlEscaper.Replace(s) }
