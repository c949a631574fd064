package trace

import (
	"bytes"
	"math"
)

// batch is the rows of one block as columns. All columns have the same length.
// A value that was not measured is NaN here and nowhere else.
type batch struct {
	block
	t, v, i []float64 // as the file counts: seconds, volts, amperes with the file's sign
	extra   [][]float64
	line    []int32 // of each row, from the block's first; nil where each line is a row
	fast    []fastColumn
	rows    int

	bad      int         // rows left out because they could not be read
	firstBad *InputError // the first of them
	directed bool        // words said which way the current flows
	restarts int         // headers that stand again between rows
	err      *InputError // ends the reading behind the rows of the batch
}

// lineOf returns the line of the file on which row k stands.
func (b *batch) lineOf(k int) int64 {
	if b.line != nil {
		return b.first + int64(b.line[k])
	}
	return b.first + int64(k)
}

// cellAction is what the parser does with a field.
type cellAction uint8

const (
	actSkip cellAction = iota
	actNumber
	actClock
	actStamp
	actDate
	actState
	actChannel
)

type columnPlan struct {
	action cellAction
	slot   int
	scale  affine
}

// The slots of the columns that each row has; extras follow from slotExtra on.
const (
	slotTime = iota
	slotVolts
	slotAmps
	slotExtra
)

// plan is what the parser of rows works by: one entry a column of the file, up
// to the last one that is read.
type plan struct {
	delim, point byte
	width        int  // fields that a row has
	plain        bool // all columns that are read hold numbers, and one byte parts them
	columns      []columnPlan
	slots        int
	extraRole    []Role // of each extra slot
	dateSlot     int    // -1 where there is none
	inSlot       int    // charging current, -1
	outSlot      int    // discharging current, -1
	stateSlot    int    // -1
	firstGroup   int    // slot of the first group, -1
	groups       int
	sumGroups    bool
	order        dateOrder
	minutes      bool
	channel      []byte
	oneChannel   bool // rows of another channel are refused, not left out
	header       []byte
	skipBad      bool
	name         func(index int) string
}

// newPlan lays out the columns of a file.
func (l *layout) newPlan(header []byte, skipBad bool) *plan {
	p := &plan{
		delim: l.delim, point: l.point, width: l.width, slots: slotExtra, dateSlot: -1, inSlot: -1, outSlot: -1, stateSlot: -1, firstGroup: -1,
		sumGroups: l.sumGroups, order: l.time.order, minutes: l.time.minutes, header: bytes.TrimSpace(header), skipBad: skipBad, name: l.name,
	}
	var picks [numRoles][]pick
	for _, k := range l.picks {
		picks[k.role] = append(picks[k.role], k)
	}
	for r := range numRoles {
		if r == StartClock {
			continue // it is read once, before the rows
		}
		for _, k := range picks[r] {
			c := p.column(l, r, k)
			for len(p.columns) <= k.index {
				p.columns = append(p.columns, columnPlan{})
			}
			p.columns[k.index] = c
		}
	}
	p.plain = p.delim != ' '
	for _, c := range p.columns {
		p.plain = p.plain && (c.action == actNumber || c.action == actSkip)
	}
	return p
}

// timeActions are how a column of times is read, by what it holds.
var timeActions = [...]cellAction{timeNumber: actNumber, timeClock: actClock, timeStamp: actStamp, timeDate: actDate}

// column lays out one column, and notes where in the plan it goes.
func (p *plan) column(l *layout, r Role, k pick) columnPlan {
	c := columnPlan{action: actNumber, scale: k.scale}
	switch r {
	case Time:
		c.slot, c.action = slotTime, timeActions[l.time.kind]
		return c
	case Voltage:
		c.slot = slotVolts
		return c
	case Current:
		c.slot = slotAmps
		return c
	case Channel:
		c.action = actChannel
		if p.channel = l.channel; p.channel == nil && k.index < len(l.sample[0]) {
			p.oneChannel = true
			p.channel = bytes.Clone(unquote(bytes.TrimSpace(l.sample[0][k.index])))
		}
		return c
	}
	c.slot = p.slots
	p.slots++
	p.extraRole = append(p.extraRole, r)
	switch r {
	case ChargeCurrent:
		p.inSlot = c.slot
	case DischargeCurrent:
		p.outSlot = c.slot
	case Date:
		c.action, p.dateSlot = actDate, c.slot
	case State:
		c.action, p.stateSlot = actState, c.slot
	case Groups:
		if p.groups == 0 {
			p.firstGroup = c.slot
		}
		p.groups++
	}
	return c
}

// parse reads the rows of a block into out, whose columns it reuses. It stops
// at the first row that cannot be read, unless such rows are left out.
func (p *plan) parse(b block, out *batch) {
	out.reset(b, p.slots)
	nul := bytes.IndexByte(b.text, 0)
	if nul < 0 || p.skipBad {
		p.rows(b, out)
	} else {
		begin := bytes.LastIndexByte(b.text[:nul], '\n') + 1
		before := b
		before.text, before.cut = b.text[:begin], false
		p.rows(before, out)
		if out.err == nil {
			row := b.first + int64(bytes.Count(b.text[:nul], []byte("\n")))
			out.err = &InputError{Row: row, Column: p.columnAt(b.text[begin:nul]), Want: "a NUL byte: want text"}
		}
	}
	out.trim()
	p.combine(out)
}

// rows reads the rows of b.text.
func (p *plan) rows(b block, out *batch) {
	text := b.text
	line := 0
	for at := 0; at < len(text); line++ {
		if p.plain {
			next, n := p.plainRows(text, at, b.cut, out)
			if out.line != nil {
				for k := range n {
					out.line = append(out.line, int32(line+k))
				}
			}
			line += n
			if at = next; at >= len(text) {
				return
			}
		}
		switch c := text[at]; {
		case c == '\n' || c == '\r' || c == '#' || c == ' ' || c == '\t' && p.delim != '\t' || c == '/':
			if end := lineEnd(text, at); isNote(text[at:end]) {
				out.irregular()
				at = end + 1
				continue
			}
		}
		next := p.row(text, at, out)
		if next == len(text) && b.cut && len(splitFields(text[at:next-1], p.delim)) < p.width {
			next = rowBad
		}
		if next > 0 {
			if out.line != nil {
				out.line = append(out.line, int32(line))
			}
			out.rows++
			at = next
			continue
		}
		end := lineEnd(text, at)
		row := text[at:end]
		last := end+1 >= len(text) && b.cut
		out.irregular()
		at = end + 1
		if next == rowOfOther {
			continue
		}
		if len(p.header) > 0 && bytes.Equal(bytes.TrimSpace(row), p.header) {
			out.restarts++
			continue
		}
		e := p.explain(row, last)
		e.Row = b.first + int64(line)
		if !p.skipBad {
			out.err = e
			break
		}
		if out.bad++; out.firstBad == nil {
			out.firstBad = e
		}
	}
}

// What row returns in place of the index of the next row.
const (
	rowBad     = 0
	rowOfOther = -1 // of a channel that is not read
)

// lineEnd returns the index of the line feed at or behind at.
func lineEnd(text []byte, at int) int {
	return at + bytes.IndexByte(text[at:], '\n')
}

// row reads the fields of the row that begins at i into row out.rows and
// returns where the next one begins.
func (p *plan) row(text []byte, i int, out *batch) (next int) {
	n := out.rows
	last := len(p.columns) - 1
	for c := range p.columns {
		col := &p.columns[c]
		if p.delim == ' ' {
			for text[i] == ' ' {
				i++
			}
		}
		if col.action == actNumber {
			if v, k := fixed(text[i:], p.point); k > 0 {
				if ch := text[i+k]; ch == p.delim || ch == '\n' || ch == '\r' {
					i += k
					out.cols(col.slot)[n] = col.scale.to(v)
					if c == last {
						break
					}
					if ch != p.delim {
						return rowBad
					}
					i++
					continue
				}
			}
		}
		end := fieldEnd(text, i, p.delim)
		if col.action != actSkip {
			v, ok := p.cell(col, text[i:end])
			if !ok {
				if col.action == actChannel && !p.oneChannel {
					return rowOfOther
				}
				return rowBad
			}
			if col.action != actChannel {
				out.cols(col.slot)[n] = v
			}
		}
		i = end
		if c == last {
			break
		}
		if text[i] != p.delim {
			return rowBad
		}
		i++
	}
	return lineEnd(text, i) + 1
}

// cell reads one field the general way.
func (p *plan) cell(col *columnPlan, field []byte) (v float64, ok bool) {
	switch col.action {
	case actNumber:
		v, ok = slowNumber(field, p.point)
		return col.scale.to(v), ok
	case actClock:
		return parseClock(field, p.minutes)
	case actStamp:
		st, ok := parseStamp(field, p.order, false)
		return st.sec, ok
	case actDate:
		st, ok := parseStamp(field, p.order, true)
		return st.sec, ok
	case actState:
		return directionOf(field), true
	case actChannel:
		return 0, bytes.Equal(unquote(bytes.TrimSpace(field)), p.channel)
	}
	return 0, true
}

// combine makes time, volts and amperes of the columns that hold parts of them.
func (p *plan) combine(out *batch) {
	if p.dateSlot >= 0 {
		for k, d := range out.cols(p.dateSlot) {
			out.t[k] += d
		}
	}
	if p.inSlot >= 0 || p.outSlot >= 0 {
		clear(out.i)
		for k := range out.i {
			if p.inSlot >= 0 {
				out.i[k] += orZero(math.Abs(out.cols(p.inSlot)[k]))
			}
			if p.outSlot >= 0 {
				out.i[k] -= orZero(math.Abs(out.cols(p.outSlot)[k]))
			}
		}
	}
	if p.stateSlot >= 0 {
		for k, way := range out.cols(p.stateSlot) {
			if way != 0 {
				out.i[k] = way * math.Abs(out.i[k])
				out.directed = true
			}
		}
	}
	if p.sumGroups {
		clear(out.v)
		for g := range p.groups {
			for k, u := range out.cols(p.firstGroup + g) {
				out.v[k] += u
			}
		}
	}
}

func orZero(v float64) float64 {
	if v != v {
		return 0
	}
	return v
}
