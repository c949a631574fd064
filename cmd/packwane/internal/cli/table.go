package cli

import (
	"bufio"
	"io"
	"strconv"
	"strings"
)

func itoa(n int) string { return strconv.Itoa(n) }

// table is rows under headings. On a terminal its columns are aligned and its
// last column is cut where it would not fit; in a pipe they are parted by tabs
// and nothing is cut.
type table struct {
	heads []string
	right []bool // columns that hold figures
	rows  [][]string
}

// newTable returns a table with these headings; one that begins with ">"
// heads a column of figures, which is set flush right.
func newTable(heads ...string) *table {
	t := &table{}
	for _, h := range heads {
		name, figures := strings.CutPrefix(h, ">")
		t.heads = append(t.heads, name)
		t.right = append(t.right, figures)
	}
	return t
}

// add appends a row; it has as many cells as the table has headings.
func (t *table) add(cells ...string) {
	row := make([]string, len(t.heads))
	for i := range row {
		if i < len(cells) {
			row[i] = clean(cells[i])
		}
	}
	t.rows = append(t.rows, row)
}

// write prints the table for the reader of out.
func (t *table) write(out io.Writer, terminal bool, width int, ink palette) error {
	w := bufio.NewWriter(out)
	if terminal {
		t.writeAligned(w, width, ink)
	} else {
		t.writeTabs(w)
	}
	return w.Flush()
}

func (t *table) writeTabs(w *bufio.Writer) {
	writeTabs(w, t.heads)
	for _, row := range t.rows {
		writeTabs(w, row)
	}
}

// writeTabs writes one row for a pipe.
func writeTabs(w *bufio.Writer, cells []string) {
	for i, cell := range cells {
		if i > 0 {
			w.WriteByte('\t')
		}
		w.WriteString(cell)
	}
	w.WriteByte('\n')
}

const gutter = "  "

func (t *table) writeAligned(w *bufio.Writer, width int, ink palette) {
	wide := t.widths(width)
	w.WriteString(ink.head(t.line(t.heads, wide)) + "\n")
	for _, row := range t.rows {
		w.WriteString(t.line(row, wide) + "\n")
	}
}

// widths gives each column what its widest cell needs, and the last one what
// is left, but never less than a dozen columns.
func (t *table) widths(width int) []int {
	wide := make([]int, len(t.heads))
	for i, h := range t.heads {
		wide[i] = columns(h)
		for _, row := range t.rows {
			wide[i] = max(wide[i], columns(row[i]))
		}
	}
	used := 0
	for _, n := range wide[:len(wide)-1] {
		used += n + len(gutter)
	}
	last := &wide[len(wide)-1]
	*last = min(*last, max(12, width-used))
	return wide
}

func (t *table) line(cells []string, wide []int) string {
	parts := make([]string, len(cells))
	for i, c := range cells {
		parts[i] = pad(fit(c, wide[i]), wide[i], t.right[i])
	}
	return strings.TrimRight(strings.Join(parts, gutter), " ")
}

// palette holds the few inks of the text output; the zero value prints plain.
type palette struct{ on bool }

func (p palette) ink(code, s string) string {
	if !p.on || s == "" {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

// head is for headings and titles.
func (p palette) head(s string) string { return p.ink("1", s) }

// footnotes collects remarks under an answer; equal remarks share a number.
type footnotes struct{ texts []string }

// mark returns the reference of a remark, such as "[1]", or "" for no remark.
func (f *footnotes) mark(text string) string {
	if text == "" {
		return ""
	}
	for i, t := range f.texts {
		if t == text {
			return "[" + itoa(i+1) + "]"
		}
	}
	f.texts = append(f.texts, text)
	return "[" + itoa(len(f.texts)) + "]"
}

// write prints the remarks behind their numbers.
func (f *footnotes) write(out io.Writer, width int) error {
	for i, t := range f.texts {
		if _, err := io.WriteString(out, wrap("["+itoa(i+1)+"] ", t, width)); err != nil {
			return err
		}
	}
	return nil
}
