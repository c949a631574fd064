package trace

import (
	"bytes"
)

// cols returns the column of a slot.
func (b *batch) cols(slot int) []float64 {
	switch slot {
	case slotTime:
		return b.t
	case slotVolts:
		return b.v
	case slotAmps:
		return b.i
	}
	return b.extra[slot-slotExtra]
}

// reset empties the batch and makes room for a row a line of the block.
func (b *batch) reset(src block, slots int) {
	n := int(src.lines)
	b.block = src
	b.t, b.v, b.i = room(b.t, n), room(b.v, n), room(b.i, n)
	for len(b.extra) < slots-slotExtra {
		b.extra = append(b.extra, nil)
	}
	for i := range b.extra {
		b.extra[i] = room(b.extra[i], n)
	}
	b.line = nil
	b.rows, b.bad, b.restarts = 0, 0, 0
	b.firstBad, b.err, b.directed = nil, nil, false
}

func room(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n, n+n/8)
	}
	return s[:n]
}

// trim cuts the columns to the rows that were read.
func (b *batch) trim() {
	b.t, b.v, b.i = b.t[:b.rows], b.v[:b.rows], b.i[:b.rows]
	for i := range b.extra {
		b.extra[i] = b.extra[i][:b.rows]
	}
}

// irregular notes that from here on rows and lines no longer run together.
func (b *batch) irregular() {
	if b.line != nil {
		return
	}
	b.line = make([]int32, b.rows, len(b.t))
	for k := range b.line {
		b.line[k] = int32(k)
	}
}

// explain finds out why a row could not be read: the first field that is
// wrong. cut says that it is the last line and has no line end.
func (p *plan) explain(row []byte, cut bool) *InputError {
	row = bytes.TrimSuffix(row, []byte("\r"))
	if at := bytes.IndexByte(row, 0); at >= 0 {
		return &InputError{Column: p.columnAt(row[:at]), Want: "a NUL byte: want text"}
	}
	fields := splitFields(row, p.delim)
	for c := range max(len(p.columns), p.width) {
		if c >= len(p.columns) && (c < len(fields) || !cut) {
			continue
		}
		if c >= len(fields) {
			e := &InputError{Column: p.name(c), Want: "the row ends before this column: want all columns in each row"}
			if cut {
				e.Want = "the file is cut in the middle of this row: want it whole, or leave bad rows out (--skip-bad)"
			}
			return e
		}
		col := &p.columns[c]
		if col.action == actSkip {
			continue
		}
		if _, ok := p.cell(col, fields[c]); ok {
			continue
		}
		e := &InputError{Column: p.name(c), Value: string(bytes.TrimSpace(fields[c])), Want: wants[col.action]}
		if col.action == actChannel {
			e.Want = "rows of several channels, " + string(p.channel) + " before: want channel=" + string(p.channel) + " or another in the map"
		}
		return e
	}
	return &InputError{Value: string(row), Want: "the row cannot be read: want fields parted as in the rows before"}
}

var wants = map[cellAction]string{
	actNumber: "want a number",
	actClock:  "want a time such as 13:05:09",
	actStamp:  "want a date and time as in the rows before",
	actDate:   "want a date as in the rows before",
}

// columnAt returns the name of the column in which the text of a row ends.
func (p *plan) columnAt(row []byte) string {
	return p.name(len(splitFields(row, p.delim)) - 1)
}
