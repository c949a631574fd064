package charts

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// svgText is a text of an SVG with the area that it takes and its class.
type svgText struct {
	body, class string
	at          box
}

// svgPicture is an SVG as its readers see it.
type svgPicture struct {
	title, desc   string
	width, height float64
	texts         []svgText
	elements      map[string]int
}

var (
	number   = regexp.MustCompile(`-?\d+(?:\.\d+)?`)
	pathLong = regexp.MustCompile(`^(?:[MLQZ][-\d. ]*|a[-\d. ]+)*$`)
	lengthRE = regexp.MustCompile(`^-?\d+(\.\d{1,2})?$`)
	colour   = regexp.MustCompile(`^(#[0-9a-f]{6}|none)$`)
)

// parseSVG reads an SVG strictly and fails the test for everything that no picture of this package may have.
func parseSVG(t testing.TB, data []byte) svgPicture {
	t.Helper()
	p := svgPicture{elements: map[string]int{}}
	d := xml.NewDecoder(bytes.NewReader(data))
	d.Strict = true
	var open []xml.StartElement
	inherit := func(name string) string {
		for i := len(open) - 1; i >= 0; i-- {
			for _, a := range open[i].Attr {
				if a.Name.Local == name {
					return a.Value
				}
			}
		}
		return ""
	}
	var body strings.Builder
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not XML: %v\n%s", err, data)
		}
		switch token := token.(type) {
		case xml.StartElement:
			open = append(open, token.Copy())
			p.elements[token.Name.Local]++
			checkAttrs(t, token)
			p.checkPlaces(t, token)
			if len(open) == 1 {
				p.readRoot(t, token)
			}
			body.Reset()
		case xml.CharData:
			body.Write(token)
		case xml.EndElement:
			switch token.Name.Local {
			case "title":
				p.title = body.String()
			case "desc":
				p.desc = body.String()
			case "text":
				p.texts = append(p.texts, measured(t, inherit, body.String()))
			}
			open = open[:len(open)-1]
		case xml.ProcInst, xml.Directive, xml.Comment:
			t.Fatalf("a picture has no place for %T", token)
		}
	}
	if p.elements["svg"] != 1 || p.elements["title"] != 1 || p.elements["desc"] != 1 {
		t.Fatalf("elements %v: want one svg, one title, one desc", p.elements)
	}
	return p
}

// checkAttrs refuses what could clash with a page around, fetch something, or is not finite.
func checkAttrs(t testing.TB, e xml.StartElement) {
	t.Helper()
	allowed := map[string]bool{"svg": true, "title": true, "desc": true, "g": true, "path": true, "text": true}
	if !allowed[e.Name.Local] {
		t.Fatalf("element %s", e.Name.Local)
	}
	seen := map[string]bool{}
	for _, a := range e.Attr {
		name := a.Name.Local
		if seen[name] {
			t.Fatalf("%s has %s twice", e.Name.Local, name)
		}
		seen[name] = true
		switch {
		case name == "id", name == "style", strings.Contains(name, "href"), strings.HasPrefix(name, "on"):
			t.Fatalf("%s has %s", e.Name.Local, name)
		case name == "fill", name == "stroke":
			if !colour.MatchString(a.Value) {
				t.Fatalf("%s = %q", name, a.Value)
			}
		case name == "x", name == "y", name == "textLength", strings.HasSuffix(name, "-opacity"), name == "stroke-width", name == "font-size":
			if !svgLengthOK(a.Value) {
				t.Fatalf("%s = %q", name, a.Value)
			}
		case name == "d":
			if !pathLong.MatchString(a.Value) {
				t.Fatalf("path %q", a.Value)
			}
		}
	}
}

func svgLengthOK(s string) bool { return lengthRE.MatchString(s) }

func (p *svgPicture) readRoot(t testing.TB, e xml.StartElement) {
	t.Helper()
	attrs := map[string]string{}
	for _, a := range e.Attr {
		attrs[a.Name.Local] = a.Value
	}
	f := strings.Fields(attrs["viewBox"])
	if len(f) != 4 || attrs["role"] != "img" {
		t.Fatalf("root %v", attrs)
	}
	p.width, p.height = atof(t, f[2]), atof(t, f[3])
}

// checkPlaces fails where a path leaves the canvas.
func (p *svgPicture) checkPlaces(t testing.TB, e xml.StartElement) {
	t.Helper()
	for _, a := range e.Attr {
		if a.Name.Local != "d" {
			continue
		}
		absolute := strings.ContainsRune(a.Value, 'a')
		ns := number.FindAllString(a.Value, -1)
		if absolute {
			ns = ns[:2] // a circle: where it starts
		}
		for i, n := range ns {
			v, top := atof(t, n), p.width
			if i%2 == 1 {
				top = p.height
			}
			if v < -1e-9 || v > top+1e-9 {
				t.Fatalf("%v lies outside of 0 to %v in path %.80q", v, top, a.Value)
			}
		}
	}
}

// measured gives the text that ends here with the area it takes.
func measured(t testing.TB, inherit func(string) string, body string) svgText {
	t.Helper()
	f, err := font()
	if err != nil {
		t.Fatal(err)
	}
	x, y, size := atof(t, inherit("x")), atof(t, inherit("y")), atof(t, inherit("font-size"))
	w := textWidth(f, body, size)
	switch inherit("text-anchor") {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	return svgText{body, strings.TrimPrefix(inherit("class"), "chart-"), box{x, y - ascent*size, x + w, y + descent*size}}
}

func atof(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		t.Fatalf("%q is not a length", s)
	}
	return v
}

// checkTexts fails where a text leaves the canvas, or where two of the texts around a plot meet. Labels inside a plot
// (levels, notes) keep clear as best they can.
func (p svgPicture) checkTexts(t testing.TB) {
	t.Helper()
	inside := map[string]bool{"level": true, "note": true}
	for i, a := range p.texts {
		if a.at.x0 < -0.1 || a.at.x1 > p.width+0.1 || a.at.y0 < -0.1 || a.at.y1 > p.height+0.1 {
			t.Errorf("%s %q at %.1f leaves the canvas of %v by %v", a.class, a.body, a.at, p.width, p.height)
		}
		for _, b := range p.texts[:i] {
			if !inside[a.class] && !inside[b.class] && a.at.inset(0.2).overlaps(b.at.inset(0.2)) {
				t.Errorf("%s %q at %.1f and %s %q at %.1f meet", a.class, a.body, a.at, b.class, b.body, b.at)
			}
		}
	}
}

// svgOf renders p and reads it back.
func svgOf(t testing.TB, p Picture, o Options) svgPicture {
	t.Helper()
	var buf bytes.Buffer
	if err := WriteSVG(&buf, p, o); err != nil {
		t.Fatal(err)
	}
	return parseSVG(t, buf.Bytes())
}
