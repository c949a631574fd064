package trace

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// headBytes is how much of the beginning is looked at to learn the form of a file.
const headBytes = 256 << 10

// headLines is how many lines of it are taken apart.
const headLines = 400

// table is the form of a file: where its rows begin and what parts them.
type table struct {
	delim     byte
	point     byte // decimal mark
	width     int  // fields of a row
	headers   []string
	unitRow   []string // the units, where they have a row of their own; else nil
	headerRow int      // line of the headers, from 1; 0 where there are none
	firstRow  int      // line of the first row of data, from 1
	offset    int      // bytes before it
	sample    [][][]byte
	latin1    bool // headers have letters of one byte
	preamble  []string
}

// line is one line of the head without its end.
type line struct {
	b     []byte
	start int
}

func linesOf(head []byte, whole bool) []line {
	var out []line
	for at := 0; at < len(head) && len(out) < headLines; {
		n := bytes.IndexByte(head[at:], '\n')
		if n < 0 {
			if whole {
				out = append(out, line{bytes.TrimSuffix(head[at:], []byte("\r")), at})
			}
			break
		}
		out = append(out, line{bytes.TrimSuffix(head[at:at+n], []byte("\r")), at})
		at += n + 1
	}
	return out
}

// splitFields parts a line at delim; quoted fields may hold it. Where delim is
// a space, several count as one. The fields keep their quotes.
func splitFields(b []byte, delim byte) [][]byte {
	var out [][]byte
	i := 0
	for {
		if delim == ' ' {
			for i < len(b) && b[i] == ' ' {
				i++
			}
			if i == len(b) {
				return out
			}
		}
		end := fieldEnd(b, i, delim)
		out = append(out, b[i:end])
		if end >= len(b) {
			return out
		}
		i = end + 1
	}
}

// fieldEnd returns the index of the delimiter or line end behind the field
// that begins at i. A quotation that nobody closes ends with its line: it must
// not swallow the rows behind it.
func fieldEnd(b []byte, i int, delim byte) int {
	if i < len(b) && b[i] == '"' {
		for i++; i < len(b) && b[i] != '\n'; i++ {
			if b[i] != '"' {
				continue
			}
			if i+1 < len(b) && b[i+1] == '"' {
				i++
				continue
			}
			break
		}
	}
	for i < len(b) && b[i] != delim && b[i] != '\n' && b[i] != '\r' {
		i++
	}
	return i
}

// cellKind is what a field of the head looks like.
type cellKind uint8

const (
	cellText cellKind = iota
	cellEmpty
	cellNumber
	cellTime
)

func kindOfCell(f []byte, point byte) cellKind {
	f = bytes.TrimSpace(f)
	if len(unquote(f)) == 0 {
		return cellEmpty
	}
	if _, ok := slowNumber(f, point); ok {
		return cellNumber
	}
	if _, ok := parseClock(f, true); ok {
		return cellTime
	}
	for _, o := range []dateOrder{orderDMY, orderMDY, orderYMD} {
		if _, ok := parseStamp(f, o, true); ok {
			return cellTime
		}
	}
	return cellText
}

// findTable learns the form of a file from its head. whole says that the head
// is the whole file. A delimiter or decimal mark in the map is taken as given.
func findTable(head []byte, whole bool, m Mapping) (*table, error) {
	lines := linesOf(head, whole)
	if len(lines) == 0 && whole {
		return nil, ErrEmpty
	}
	noTable := &InputError{Want: "no table found: want rows of at least three fields parted by comma, semicolon, tab, bar or space, most of them numbers"}
	if row := endless(head, lines); row > 0 {
		noTable = &InputError{Row: row, Want: "a line longer than " + lineLimit + ": want a table with line ends"}
	}
	if len(lines) == 0 {
		return nil, noTable
	}
	if i := bytes.IndexByte(head, 0); i >= 0 && i < lines[len(lines)-1].start+len(lines[len(lines)-1].b) {
		return nil, &InputError{Row: int64(bytes.Count(head[:i], []byte("\n"))) + 1, Want: "a NUL byte: want text, UTF-8, UTF-16 or Latin-1"}
	}
	var best *table
	bestScore := 0
	for _, form := range formsOf(m) {
		t, score := tryForm(lines, form.delim, form.point)
		if score > bestScore {
			best, bestScore = t, score
		}
	}
	if best == nil {
		return nil, noTable
	}
	best.readHeaders(lines)
	return best, nil
}

// endless returns the row of the head that is too long to be read, or that does
// not end in it; 0 where there is none.
func endless(head []byte, lines []line) int64 {
	end := 0
	for k, l := range lines {
		if end = l.start + len(l.b) + 1; len(l.b) > maxLine {
			return int64(k) + 1
		}
	}
	if len(lines) < headLines && len(head)-end > maxLine {
		return int64(len(lines)) + 1
	}
	return 0
}

type form struct{ delim, point byte }

// formsOf lists the forms to try. Where two fit a file equally well, the
// first is taken: the order is the commonest first.
func formsOf(m Mapping) []form {
	var out []form
	for _, f := range []form{{',', '.'}, {';', '.'}, {';', ','}, {'\t', '.'}, {'\t', ','}, {'|', '.'}, {'|', ','}, {' ', '.'}, {' ', ','}} {
		if m.delim != "" && delimNames[m.delim] != f.delim || m.point != 0 && m.point != f.point {
			continue
		}
		out = append(out, f)
	}
	if m.delim == "comma" && m.point == ',' {
		out = append(out, form{',', ','}) // quoted numbers
	}
	if m.delim == "" && m.point == 0 {
		out = append(out, form{',', ','})
	}
	return out
}

// run is consecutive lines that read as rows of data of one width.
type run struct{ start, width, score int }

// tryForm scores how much of the lines reads as a table in this form: the
// fields that are numbers or times in all runs as wide as the fullest one. The
// table begins with the first of them, so that a line that is no row between
// two is found by the parser and not lost with what stands above it.
func tryForm(lines []line, delim, point byte) (*table, int) {
	var runs []run
	for i, l := range lines {
		good, n := goodCells(l.b, delim, point)
		if good == 0 {
			continue
		}
		last := len(runs) - 1
		if last < 0 || runs[last].width != n {
			runs = append(runs, run{start: i, width: n})
			last++
		}
		runs[last].score += good
	}
	scores := map[int]int{}
	width := 0
	for _, r := range runs {
		scores[r.width] += r.score
		if s := scores[r.width]; s > scores[width] || s == scores[width] && r.width > width {
			width = r.width
		}
	}
	for _, r := range runs {
		if r.width != width {
			continue
		}
		first := r.start
		for first > 0 { // rows of another width directly above belong to it
			if good, _ := goodCells(lines[first-1].b, delim, point); good == 0 {
				break
			}
			first--
		}
		t := &table{delim: delim, point: point, width: width, firstRow: first + 1, offset: lines[first].start}
		for _, l := range lines[first:] {
			if !isNote(l.b) {
				t.sample = append(t.sample, splitFields(l.b, delim))
			}
		}
		return t, scores[width]
	}
	return nil, 0
}

// goodCells counts the fields of a line and those of them that are numbers or
// times. A row of data has mostly such fields; else good is 0.
func goodCells(b []byte, delim, point byte) (good, n int) {
	fields := splitFields(b, delim)
	empty := 0
	for _, f := range fields {
		switch kindOfCell(f, point) {
		case cellNumber, cellTime:
			good++
		case cellEmpty:
			empty++
		}
	}
	if n = len(fields); n < 3 || good+empty < n-n/2 || good < 2 {
		return 0, n
	}
	return good, n
}

// isNote reports whether a line holds nothing: blank or a remark.
func isNote(b []byte) bool {
	b = bytes.TrimSpace(b)
	return len(b) == 0 || b[0] == '#' || bytes.HasPrefix(b, []byte("//"))
}

// readHeaders finds the headers above the first row, and a row of units
// between the two.
func (t *table) readHeaders(lines []line) {
	var above []int // lines with text over the table, the nearest first
	for i := t.firstRow - 2; i >= 0 && len(above) < 2; i-- {
		b := lines[i].b
		if len(bytes.TrimSpace(b)) == 0 {
			continue
		}
		if b[0] == '#' { // headers behind a mark of remark
			b = bytes.TrimLeft(b, "# ")
		}
		fields := splitFields(b, t.delim)
		if len(fields) < min(t.width, 3) && len(fields) < t.width-1 {
			break
		}
		above = append(above, i)
	}
	text := func(i int) []string {
		fields := splitFields(bytes.TrimLeft(lines[i].b, "# "), t.delim)
		out := make([]string, len(fields))
		for k, f := range fields {
			out[k] = t.decodeText(unquote(bytes.TrimSpace(f)))
		}
		return out
	}
	if len(above) > 0 {
		t.headerRow = above[0] + 1
		t.headers = text(above[0])
		if len(above) > 1 && areUnits(t.headers) {
			t.unitRow, t.headers = t.headers, text(above[1])
			t.headerRow = above[1] + 1
		}
	}
	for i := 0; i < t.headerRow-1; i++ {
		t.preamble = append(t.preamble, t.decodeText(lines[i].b))
	}
}

// areUnits reports whether the fields look like units, not like names.
func areUnits(fields []string) bool {
	known := 0
	for _, f := range fields {
		f = trimBrackets(f)
		switch {
		case f == "" || f == "-":
		case quantityOfUnit(f) != qNone:
			known++
		case len(f) > 12:
			return false
		}
	}
	return known >= 2 && known*2 >= len(fields)
}

// decodeText returns text of the head as UTF-8: as it is where it is that,
// else read as Windows-1252, of which Latin-1 is the printable part.
func (t *table) decodeText(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	t.latin1 = true
	s, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return string(bytes.ToValidUTF8(b, []byte("?")))
	}
	return string(s)
}
