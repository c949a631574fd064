package logbook

import (
	"bufio"
	"encoding/csv"
	"io"
	"strings"
	"sync"
)

// Writer writes records to a file; Close flushes it but does not close the
// file beneath.
type Writer interface {
	Write(Record) error
	Close() error
}

// NewJSONWriter writes JSON Lines: one object a line.
func NewJSONWriter(w io.Writer) Writer { return &jsonWriter{w: bufio.NewWriterSize(w, 64<<10)} }

type jsonWriter struct {
	w   *bufio.Writer
	buf []byte
}

func (j *jsonWriter) Write(r Record) error {
	j.buf = append(AppendJSON(j.buf[:0], r), '\n')
	_, err := j.w.Write(j.buf)
	return err
}

func (j *jsonWriter) Close() error { return j.w.Flush() }

// NewCSVWriter writes CSV (RFC 4180) with one column for every field of every
// kind, the header first. A text that a spreadsheet would take for a formula gets
// an apostrophe in front, which Read takes away again.
func NewCSVWriter(w io.Writer) Writer { return &csvWriter{w: csv.NewWriter(w)} }

type csvWriter struct {
	w      *csv.Writer
	header bool
	row    []string
}

// guardFormula puts an apostrophe before a text that begins as a formula does, or
// that looks like one guarded already.
func guardFormula(text string) string {
	if beginsFormula(text) {
		return "'" + text
	}
	return text
}

// withoutGuard undoes guardFormula.
func withoutGuard(text string) string {
	if text != "" && text[0] == '\'' && beginsFormula(text) {
		return text[1:]
	}
	return text
}

// beginsFormula reports whether text, after any apostrophes, begins with what
// spreadsheets evaluate (OWASP, CSV injection: = + - @, tab and return).
func beginsFormula(text string) bool {
	text = strings.TrimLeft(text, "'")
	return text != "" && strings.IndexByte("=+-@\t\r", text[0]) >= 0
}

// Columns lists the CSV columns: record, then every field of every kind, each
// once.
func Columns() []string {
	columns := []string{"record"}
	seen := map[string]bool{"record": true}
	for _, k := range Kinds {
		for _, f := range tables[k] {
			if !seen[f.Name] {
				seen[f.Name] = true
				columns = append(columns, f.Name)
			}
		}
	}
	return columns
}

var csvHeader = sync.OnceValue(Columns)

func (c *csvWriter) Write(r Record) error {
	if !c.header {
		c.header = true
		if err := c.w.Write(csvHeader()); err != nil {
			return err
		}
	}
	c.row = append(c.row[:0], r.Kind().String())
	for _, name := range csvHeader()[1:] {
		cell := ""
		if f, ok := FieldNamed(r.Kind(), name); ok {
			cell = f.Text(r)
			if f.Type == TypeText {
				cell = guardFormula(cell)
			}
		}
		c.row = append(c.row, cell)
	}
	return c.w.Write(c.row)
}

func (c *csvWriter) Close() error {
	if !c.header {
		c.header = true
		if err := c.w.Write(csvHeader()); err != nil {
			return err
		}
	}
	c.w.Flush()
	return c.w.Error()
}
