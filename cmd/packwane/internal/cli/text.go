package cli

import (
	"bytes"
	"strings"
	"unicode"

	"github.com/rivo/uniseg"
)

// clean replaces what would steer a terminal (control characters, and the
// marks that turn the direction of writing) by a visible stand-in.
func clean(s string) string {
	if isPlain(s) {
		return s
	}
	if strings.IndexFunc(s, steers) < 0 {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r' || r == '\u0085' || r == '\u2028' || r == '\u2029':
			return ' '
		case steers(r):
			return '\uFFFD'
		}
		return r
	}, s)
}

// cleanFrom is as clean, of what stands in line from start on.
func cleanFrom(line []byte, start int) []byte {
	if bytes.IndexFunc(line[start:], steers) < 0 {
		return line
	}
	return append(line[:start], clean(string(line[start:]))...)
}

// steers reports whether a terminal may take r for more than a letter.
func steers(r rune) bool {
	if r >= ' ' && r <= '~' || r > '\u009f' && r < '\u0600' { // most texts hold no other
		return false
	}
	return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029'
}

// isPlain reports whether s is of printable ASCII alone.
func isPlain(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

// columns returns how many columns of a terminal s fills.
func columns(s string) int { return uniseg.StringWidth(s) }

// fit cuts s to at most n columns and marks the cut.
func fit(s string, n int) string {
	if columns(s) <= n {
		return s
	}
	var b strings.Builder
	used := 0
	for g := uniseg.NewGraphemes(s); g.Next(); {
		if used += g.Width(); used > n-1 {
			break
		}
		b.WriteString(g.Str())
	}
	return strings.TrimRight(b.String(), " ,") + "…"
}

// pad fills s with blanks to n columns, at its left where right is set.
func pad(s string, n int, right bool) string {
	blanks := strings.Repeat(" ", max(0, n-columns(s)))
	if right {
		return blanks + s
	}
	return s + blanks
}

// wrap breaks s at blanks into lines of at most n columns, the first behind
// first, the others behind as many blanks.
func wrap(first, s string, n int) string {
	indent := strings.Repeat(" ", columns(first))
	var b strings.Builder
	line, used := first, columns(first)
	fresh := true
	for _, word := range strings.Fields(clean(s)) {
		w := columns(word)
		if !fresh && used+1+w > n {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line, used, fresh = indent, len(indent), true
		}
		if !fresh {
			line, used = line+" ", used+1
		}
		line, used, fresh = line+word, used+w, false
	}
	b.WriteString(strings.TrimRight(line, " ") + "\n")
	return b.String()
}
