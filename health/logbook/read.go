package logbook

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// MaxLine is the longest line, and the longest CSV record, that is read.
const MaxLine = 1 << 20

// Position is where a record stood.
type Position struct {
	File string
	Line int // counted from 1
}

// String prints file:line.
func (p Position) String() string { return p.File + ":" + strconv.Itoa(p.Line) }

// Entry is a record with the place that it came from.
type Entry struct {
	Record Record
	At     Position

	valid bool // Read made it: every field was checked when it was decoded
}

// Validate is Validate of the record, which must not have changed since Read gave
// it: what Read gave is valid already.
func (e Entry) Validate() error {
	if e.valid {
		return nil
	}
	return Validate(e.Record)
}

// InputError is a fault of the input at a place: a wrong call, not a failure
// of the program.
type InputError struct {
	At  Position
	Err error
}

// Error prints file:line: and what is wrong there.
func (e *InputError) Error() string {
	if e.At.Line == 0 {
		return e.At.File + ": " + e.Err.Error()
	}
	return e.At.String() + ": " + e.Err.Error()
}

// Unwrap returns the fault itself, often a *FieldError.
func (e *InputError) Unwrap() error { return e.Err }

// Read gives the records of src, JSON Lines or CSV by content, validated and
// each with an id. The name of the file is only printed. The first fault, an
// *InputError, or a failure to read src, ends the sequence.
func Read(src io.Reader, file string) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		in := bufio.NewReaderSize(src, 64<<10)
		first, err := firstByte(in, file)
		if err != nil {
			yield(Entry{}, err)
			return
		}
		read := readCSV
		if first == '{' {
			read = readLines
		}
		read(in, file, func(r Record, line int, err error) bool {
			at := Position{file, line}
			if err == nil {
				err = complete(r)
			}
			if err != nil {
				var failure readFailure
				if errors.As(err, &failure) {
					return yield(Entry{}, fmt.Errorf("%s: %w", file, failure.error))
				}
				return yield(Entry{}, &InputError{at, err})
			}
			return yield(Entry{r, at, true}, nil)
		})
	}
}

// complete checks r, whose single fields were checked when they were decoded, as
// a whole and gives it an id where it has none.
func complete(r Record) error {
	for _, f := range requiredFields[r.Kind()] {
		if err := f.missing(r); err != nil {
			return err
		}
	}
	if err := validateWhole(r); err != nil {
		return err
	}
	if h := r.head(); h.ID == "" {
		if h.Removed || h.Rev > 1 {
			return &FieldError{Field: "id", Want: "missing: an amendment or a removal must name its record"}
		}
		h.ID = MakeID(r)
	}
	return nil
}

// readFailure marks an error of the source itself.
type readFailure struct{ error }

// firstByte passes over a byte order mark and white space and returns the
// first byte of the content, unread.
func firstByte(in *bufio.Reader, file string) (byte, error) {
	fault := func(text string) error {
		return &InputError{Position{File: file}, errors.New(text)}
	}
	head, _ := in.Peek(3)
	switch {
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		in.Discard(3)
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}) || bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return 0, fault("text in UTF-16: want JSON Lines or CSV in UTF-8")
	}
	for n := 1; n <= 4096; n++ {
		head, err := in.Peek(n)
		if err != nil {
			if err == io.EOF {
				return 0, fault("holds no records: want JSON Lines or CSV")
			}
			return 0, fmt.Errorf("%s: %w", file, err)
		}
		switch c := head[n-1]; {
		case c == ' ' || c == '\t' || c == '\r' || c == '\n':
		case c < 0x20 || c >= 0x7f && !utf8.Valid(peekRune(in, n)):
			return 0, fault("not text: want JSON Lines or CSV in UTF-8")
		case c == '[':
			return 0, fault("a JSON array: want one object a line, without brackets and commas around them")
		default:
			return c, nil
		}
	}
	return 0, fault("begins with blank space only: want JSON Lines or CSV")
}

func peekRune(in *bufio.Reader, n int) []byte {
	all, _ := in.Peek(n + 3)
	_, size := utf8.DecodeRune(all[n-1:])
	return all[n-1 : n-1+size]
}

type yieldRecord func(r Record, line int, err error) bool

// readLines reads JSON Lines; blank lines are passed over.
func readLines(in *bufio.Reader, _ string, yield yieldRecord) {
	var long []byte
	for line := 1; ; line++ {
		text, err := in.ReadSlice('\n')
		if err == bufio.ErrBufferFull {
			long = append(long[:0], text...)
			for err == bufio.ErrBufferFull && len(long) <= MaxLine {
				text, err = in.ReadSlice('\n')
				long = append(long, text...)
			}
			text = long
		}
		if len(text) > MaxLine {
			yield(nil, line, &FieldError{Want: fmt.Sprintf("line is longer than %d bytes", MaxLine)})
			return
		}
		if err != nil && err != io.EOF {
			yield(nil, line, readFailure{err})
			return
		}
		if text = bytes.TrimSpace(text); len(text) > 0 {
			r, perr := ParseJSON(text)
			if !yield(r, line, perr) || perr != nil {
				return
			}
		}
		if err == io.EOF {
			return
		}
	}
}

// budget refuses to read more than MaxLine (and one buffer) for one CSV
// record, so that a quote left open cannot swallow a file.
type budget struct {
	src  io.Reader
	left int
}

var errRecordTooLong = fmt.Errorf("record is longer than %d bytes: a quote left open?", MaxLine)

func (b *budget) Read(p []byte) (int, error) {
	if b.left <= 0 {
		return 0, errRecordTooLong
	}
	n, err := b.src.Read(p)
	b.left -= n
	if err != nil && err != io.EOF {
		err = readFailure{err}
	}
	return n, err
}

// readCSV reads CSV (RFC 4180) with a header line that has a column record.
func readCSV(in *bufio.Reader, _ string, yield yieldRecord) {
	limited := &budget{src: in, left: MaxLine}
	c := csv.NewReader(limited)
	c.ReuseRecord = true
	next := 1 // line on which a record that is too long begins
	header, err := c.Read()
	if err != nil {
		line, err := csvFault(err, next)
		yield(nil, line, err)
		return
	}
	columns, err := csvColumns(header)
	if err != nil {
		line, _ := c.FieldPos(0)
		yield(nil, line, err)
		return
	}
	for row := header; ; {
		last, _ := c.FieldPos(len(row) - 1)
		next = last + strings.Count(row[len(row)-1], "\n") + 1
		limited.left = MaxLine
		row, err = c.Read()
		if err == io.EOF {
			return
		}
		if err != nil {
			line, err := csvFault(err, next)
			yield(nil, line, err)
			return
		}
		line, _ := c.FieldPos(0)
		r, err := csvRecord(columns, row)
		if !yield(r, line, err) || err != nil {
			return
		}
	}
}

// csvFault turns an error of encoding/csv into a line and a fault; next is the
// line where the error does not say one.
func csvFault(err error, next int) (int, error) {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		return next, err
	}
	if errors.Is(parse.Err, csv.ErrFieldCount) {
		return parse.StartLine, &FieldError{Want: "number of cells differs from the header's: want one cell a column"}
	}
	return parse.Line, &FieldError{Want: fmt.Sprintf("not CSV: %v (column %d)", parse.Err, parse.Column)}
}

// csvColumns checks the header; the result holds the field names in order.
func csvColumns(header []string) ([]string, error) {
	seen := map[string]bool{}
	for _, name := range header {
		if !slices.Contains(csvHeader(), name) {
			return nil, noSuchColumn(name)
		}
		if seen[name] {
			return nil, &FieldError{Field: "column", Value: name, Want: "given twice: give it once"}
		}
		seen[name] = true
	}
	if !seen["record"] {
		return nil, &FieldError{Field: "column", Value: "record", Want: "missing: want a column named record with the kind of each line"}
	}
	return append([]string(nil), header...), nil
}

// csvRecord builds the record of one row.
func csvRecord(columns, row []string) (Record, error) {
	var r Record
	for i, name := range columns {
		if name == "record" {
			k, ok := KindOf(row[i])
			if !ok {
				return nil, &FieldError{"record", row[i], "want one of board, pack, setup, charge, ride, check, service"}
			}
			r = New(k)
		}
	}
	for i, name := range columns {
		if name == "record" || row[i] == "" {
			continue
		}
		f, ok := FieldNamed(r.Kind(), name)
		if !ok {
			return nil, &FieldError{name, row[i], "a " + r.Kind().String() + " has no such field: want a blank"}
		}
		cell := row[i]
		if f.Type == TypeText {
			cell = withoutGuard(cell)
		}
		if err := f.SetText(r, cell); err != nil {
			return nil, err
		}
	}
	return r, nil
}
