package gpx

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

const mostQuoted = 40 // bytes of the file that an error text repeats

// quoteShort quotes s so that no control character reaches a terminal, and cuts it.
func quoteShort(s string) string {
	if len(s) > mostQuoted {
		s = cut(s) + "..."
	}
	return strconv.Quote(s)
}

// shorten cuts the name of a tag and takes out what does not print.
func shorten(name string) string {
	q := quoteShort(name)
	return q[1 : len(q)-1]
}

func cut(s string) string {
	n := mostQuoted
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n]
}

func blank(s string) bool { return strings.Trim(s, xmlSpace) == "" }
