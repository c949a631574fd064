package web

import (
	"bytes"
	"slices"
	"strings"
)

// content is what a file holds.
type content int

const (
	holdsRecords content = iota
	holdsTrace
	holdsTrack
)

// headOfFile is how many bytes of a file tell what it holds.
const headOfFile = 8 << 10

// contentOf tells by its first bytes what a file holds: records are objects of
// JSON, or a table with a column that names their kind; a track is XML; any
// other table is a time series.
func contentOf(head []byte) content {
	text := bytes.TrimPrefix(head, []byte("\xef\xbb\xbf"))
	for _, mark := range []string{"\xff\xfe", "\xfe\xff"} { // UTF-16
		if bytes.HasPrefix(text, []byte(mark)) {
			text = bytes.ReplaceAll(text[2:], []byte{0}, nil)
		}
	}
	text = bytes.TrimLeft(text, " \t\r\n")
	switch {
	case len(text) == 0 || text[0] == '{':
		return holdsRecords
	case text[0] == '<':
		return holdsTrack
	}
	line, _, _ := bytes.Cut(text, []byte("\n"))
	cells := strings.FieldsFunc(string(line), func(c rune) bool { return strings.ContainsRune(",;\t\"\r ", c) })
	if slices.Contains(cells, "record") || slices.Contains(cells, "pack") && slices.Contains(cells, "at") {
		return holdsRecords
	}
	return holdsTrace
}
