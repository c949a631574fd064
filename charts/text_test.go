package charts

import (
	"bytes"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/golang/freetype/truetype"
	xfont "golang.org/x/image/font"
)

func TestCleanText(t *testing.T) {
	for in, want := range map[string]string{
		"  two\t\nlines ":                   "two lines",
		"\x1b[31mred\x1b[0m":                "red",
		"\x1b]0;title\x07after":             "after",
		"\x1b]8;;http://x\x1b\\link":        "link",
		"a\x00b\x7fc\u0085d":                "abc d", // U+0085 is a line end
		"\u202eevil\u2066":                  "evil",
		"\xff":                              "\uFFFD",
		"\uFFFE\uFFFF":                      "",
		"木板 Ελληνικά é":                     "木板 Ελληνικά é",
		`A&B <b>"'`:                         `A&B <b>"'`,
		strings.Repeat("x", 2*maxTextRunes): strings.Repeat("x", maxTextRunes) + "…",
	} {
		if got := cleanText(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// FuzzText: whatever stands in the texts of a figure, the SVG is valid, its title reads back as the cleaned title,
// and every text drawn is free of controls.
func FuzzText(f *testing.F) {
	for _, s := range anyTexts {
		f.Add(s, s)
	}
	f.Add("]]>&#0;<!--", "<script>alert(1)</script>")
	f.Add("\x1b[", "\x1b]\x1b]")
	f.Fuzz(func(t *testing.T, title, label string) {
		fig := capacityFigure(3, 1)
		fig.Title, fig.Y.Unit, fig.Points[0].Name = title, label, label
		fig.Levels[0].Label, fig.Events[0].Label = label, title
		fig.Notes = []Note{{X: onDay(100), Y: 11, Text: title}}
		got := svgOf(t, fig, Options{Size: Phone()})
		if want := cleanText(title); got.title != want {
			t.Errorf("title reads back as %q, want %q", got.title, want)
		}
		if again := cleanText(cleanText(label)); again != cleanText(label) {
			t.Errorf("cleaning %q twice gives %q", label, again)
		}
		got.checkTexts(t)
		for _, text := range got.texts {
			if !utf8.ValidString(text.body) || strings.ContainsFunc(text.body, unicode.IsControl) {
				t.Errorf("text %q", text.body)
			}
		}
	})
}

// TestTextWidth compares with golang.org/x/image/font, which measures in whole 64ths of a pixel: within a 64th for
// each character.
func TestTextWidth(t *testing.T) {
	f, err := font()
	if err != nil {
		t.Fatal(err)
	}
	const size = 40
	face := truetype.NewFace(f, &truetype.Options{Size: size, DPI: 72})
	for _, s := range []string{"", "H", "AVAVA To", "retire below 70 %", "−12.5 mΩ ± 0.3 °C", "21 Mar 2026"} {
		got := textWidth(f, s, size)
		want := float64(xfont.MeasureString(face, s)) / 64
		if d := got - want; d*d > float64(len(s)*len(s))/64/64 {
			t.Errorf("%q: %.3f, want %.3f", s, got, want)
		}
	}
	// A character that the font lacks is one em.
	if got := textWidth(f, "木", size); got != size {
		t.Errorf("a missing character is %v wide, want %v", got, size)
	}
}

// TestFontHasWhatLabelsNeed checks the signs that this package itself writes or that units need.
func TestFontHasWhatLabelsNeed(t *testing.T) {
	f, err := font()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range "0123456789 +−±.…°Ωµ%()/\u2009" {
		if f.Index(r) == 0 {
			t.Errorf("the font lacks %U", r)
		}
	}
}

func TestFitAndWrap(t *testing.T) {
	f, err := font()
	if err != nil {
		t.Fatal(err)
	}
	long := "the quick summary of a very long story about a pack"
	for width := 0.0; width < 400; width += 7 {
		got := fitText(f, long, 14, width)
		if textWidth(f, got, 14) > width {
			t.Errorf("%q does not fit into %v", got, width)
		}
		if got != long && got != "" && (!strings.HasSuffix(got, "…") || !strings.HasPrefix(long, strings.TrimSuffix(got, "…"))) {
			t.Errorf("%q is not the beginning of the text", got)
		}
		lines := wrapText(f, long, 14, width, 3)
		if len(lines) > 3 {
			t.Errorf("%d lines", len(lines))
		}
		for _, line := range lines {
			if textWidth(f, line, 14) > width {
				t.Errorf("%q does not fit into %v", line, width)
			}
		}
	}
	if got := strings.Join(wrapText(f, long, 14, 150, 9), " "); got != long {
		t.Errorf("wrapped and joined: %q", got)
	}
}

// TestSVGRenderer checks the parts of go-chart's renderer interface that the pictures of this package do not use.
func TestSVGRenderer(t *testing.T) {
	s := newSVG(svgHead{width: 100, height: 100, title: `A&B "x"`, desc: "<d>"})
	f, err := font()
	if err != nil {
		t.Fatal(err)
	}
	s.SetFont(f)
	s.SetFontSize(12 * svgUnits)
	s.SetFontColor(hex(0x123456))
	s.SetTextRotation(1.5707963267948966)
	s.Text("up & down", 50*svgUnits, 60*svgUnits)
	s.ClearTextRotation()
	s.SetStrokeColor(hex(0xabcdef))
	s.SetStrokeWidth(2.5 * svgUnits)
	s.ArcTo(50*svgUnits, 50*svgUnits, 10*svgUnits, 10*svgUnits, 0, 3.141592653589793)
	s.Stroke()
	var buf bytes.Buffer
	if err := s.Save(&buf); err != nil {
		t.Fatal(err)
	}
	p := parseSVG(t, buf.Bytes())
	if p.title != `A&B "x"` || p.desc != "<d>" || p.texts[0].body != "up & down" {
		t.Errorf("read back: %q, %q, %q", p.title, p.desc, p.texts[0].body)
	}
	for _, want := range []string{`transform="rotate(90 50 60)"`, `stroke-width="2.5"`, "M60 50", "L40 50"} {
		if !strings.Contains(buf.String(), want) {
			t.Errorf("no %s in\n%s", want, buf.String())
		}
	}
	s.SetFontSize(12 * svgUnits)
	if w := s.MeasureText("Hi").Right; w <= 0 {
		t.Errorf("text measures %d", w)
	}
}
