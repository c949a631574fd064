package charts

import (
	"regexp"
	"sort"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/golang/freetype/truetype"
	chart "github.com/wcharczuk/go-chart/v2"
	"golang.org/x/image/math/fixed"
)

// font gives the one font of all pictures, parsed once for all goroutines (go-chart's own getter races when first
// called by several).
var font = sync.OnceValues(chart.GetDefaultFont)

// escapeSequence is a terminal's control sequence (ECMA-48: CSI, OSC and the two-byte forms).
var escapeSequence = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile("\x1b\\[[0-?]*[ -/]*[@-~]|\x1b\\][^\x07\x1b]*(\x07|\x1b\\\\)?|\x1b[@-_]?")
})

// maxTextRunes is the most that is kept of any one text that is drawn, maxAltRunes of a description: more fits no
// picture, and no reader.
const (
	maxTextRunes = 400
	maxAltRunes  = 4000
)

// cleanText makes s fit to be drawn: terminal sequences, control characters, direction overrides and what XML 1.0 has
// no place for are taken out, runs of white space become one space, and what is longer than maxTextRunes is cut.
func cleanText(s string) string { return cleanUpTo(s, maxTextRunes) }

// cleanAlt does the same for a description.
func cleanAlt(s string) string { return cleanUpTo(s, maxAltRunes) }

func cleanUpTo(s string, most int) string {
	if len(s) > 8*most {
		s = s[:8*most]
	}
	s = escapeSequence().ReplaceAllString(strings.ToValidUTF8(s, "\uFFFD"), "")
	var b strings.Builder
	space, n := false, 0
	for _, r := range s {
		switch {
		case unicode.IsSpace(r):
			space = b.Len() > 0
			continue
		case !drawable(r):
			continue
		}
		if n == most {
			b.WriteRune('…')
			return b.String()
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		b.WriteRune(r)
		n++
	}
	return b.String()
}

// drawable tells whether r may stand in a picture: a character of XML 1.0 (section 2.2) that controls neither
// terminal nor direction.
func drawable(r rune) bool {
	switch {
	case unicode.IsControl(r), r == '\uFFFE', r == '\uFFFF':
		return false
	case r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0x200E, r == 0x200F, r == '\uFEFF':
		return false
	}
	return utf8.ValidRune(r)
}

// textWidth gives the advance of s in units at a text height of sizePx, kerning included. A character that the font
// lacks counts as one em.
func textWidth(f *truetype.Font, s string, sizePx float64) float64 {
	em := fixed.Int26_6(f.FUnitsPerEm())
	var sum fixed.Int26_6
	var last truetype.Index
	for _, r := range s {
		i := f.Index(r)
		if i == 0 {
			sum, last = sum+em, 0
			continue
		}
		if last != 0 {
			sum += f.Kern(em, last, i)
		}
		sum, last = sum+f.HMetric(em, i).AdvanceWidth, i
	}
	return float64(sum) / float64(em) * sizePx
}

// covered tells whether the font has every character of s, so that its width is known whatever font a reader draws
// SVG text with.
func covered(f *truetype.Font, s string) bool {
	for _, r := range s {
		if f.Index(r) == 0 {
			return false
		}
	}
	return true
}

// fitText shortens s with an ellipsis until it is at most widthPx wide; it is empty where not even that fits.
func fitText(f *truetype.Font, s string, sizePx, widthPx float64) string {
	if textWidth(f, s, sizePx) <= widthPx {
		return s
	}
	runes := []rune(s)
	short := func(n int) string { return strings.TrimRight(string(runes[:n]), " ,;:·-(") + "…" }
	n := sort.Search(len(runes), func(n int) bool { return textWidth(f, short(n), sizePx) > widthPx }) - 1
	for ; n > 0; n-- { // kerning can make a longer text a little narrower
		if t := short(n); textWidth(f, t, sizePx) <= widthPx {
			return t
		}
	}
	return ""
}

// wrapText breaks s at spaces into at most maxLines lines of widthPx; what does not fit is cut with an ellipsis.
func wrapText(f *truetype.Font, s string, sizePx, widthPx float64, maxLines int) []string {
	var lines []string
	rest := strings.Fields(s)
	for len(rest) > 0 {
		n := 1
		for n < len(rest) && textWidth(f, strings.Join(rest[:n+1], " "), sizePx) <= widthPx {
			n++
		}
		if len(lines) == maxLines-1 {
			n = len(rest)
		}
		if line := fitText(f, strings.Join(rest[:n], " "), sizePx, widthPx); line != "" {
			lines = append(lines, line)
		}
		rest = rest[n:]
	}
	return lines
}
