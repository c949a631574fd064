package trace

import (
	"io"
	"strconv"
	"strings"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// Proposal shows how a file is read, before or after it is: what it is written
// in, which column is what, and the first rows as they come out.
type Proposal struct {
	Packed    string           `json:"packed,omitempty"` // gzip or zstd
	Encoding  string           `json:"encoding"`         // utf-8, utf-16 or latin-1
	Delimiter string           `json:"delimiter"`
	Decimal   string           `json:"decimal"`
	HeaderRow int              `json:"header_row,omitempty"` // 0 where there are no headers
	FirstRow  int              `json:"first_row"`
	Columns   []ProposedColumn `json:"columns"`
	Rows      [][]string       `json:"rows"` // up to ten, a cell for each of Columns
	Unused    []string         `json:"unused"`
	Mapping   Mapping          `json:"-"`
	Warnings  []Warning        `json:"-"`
}

// ProposedColumn is a column and what it is read as.
type ProposedColumn struct {
	Role   string `json:"role"`
	Column string `json:"column"`
	Unit   string `json:"unit"`  // as the file has it
	Shown  string `json:"shown"` // unit of the cells of Rows
}

// proposedRows is how many rows a proposal shows.
const proposedRows = 10

// Propose reads only the head of a time series and returns how Read would
// take it, or the error with which Read would refuse it.
func Propose(r io.Reader, opts Options) (*Proposal, error) {
	o, err := open(r, opts)
	if err != nil {
		return nil, err
	}
	defer o.src.close()
	return o.proposal(), nil
}

func (o *opened) proposal() *Proposal {
	l := o.lay
	m := l.mapping(l.sign)
	p := &Proposal{Packed: o.src.packed, Encoding: o.src.encoding, Delimiter: m.delim, Decimal: "point", HeaderRow: l.headerRow, FirstRow: l.firstRow,
		Mapping: m, Warnings: l.notes, Rows: [][]string{}, Unused: []string{}}
	if p.Encoding == "" {
		if p.Encoding = "utf-8"; l.latin1 {
			p.Encoding = "latin-1"
		}
	}
	if l.point == ',' {
		p.Decimal = "comma"
	}
	used := map[int]bool{}
	for _, k := range l.picks {
		used[k.index] = true
		shown := unitOfRole[k.role].String()
		if k.role == Time && l.time.kind == timeStamp {
			shown = ""
		}
		p.Columns = append(p.Columns, ProposedColumn{k.role.String(), l.name(k.index), k.usedUnit(), shown})
	}
	for i := range l.width {
		if !used[i] {
			p.Unused = append(p.Unused, l.name(i))
		}
	}
	for _, row := range l.sample[:min(proposedRows, len(l.sample))] {
		var cells []string
		for _, k := range l.picks {
			cells = append(cells, l.shown(k, row))
		}
		p.Rows = append(p.Rows, cells)
	}
	return p
}

// shown is a field as it is read: numbers in the canonical unit, dates and
// words as they stand.
func (l *layout) shown(k pick, row [][]byte) string {
	if k.index >= len(row) {
		return ""
	}
	text := strings.TrimSpace(string(unquote(row[k.index])))
	switch {
	case k.role == Time && l.time.kind != timeNumber:
		if sec, ok := l.timeOf(row); ok && l.time.kind == timeClock && !l.time.daily && l.column(Date) < 0 {
			return strconv.FormatFloat(sec, 'f', -1, 64)
		}
		return text
	case k.role == Time && l.time.absolute:
		if sec, ok := l.timeOf(row); ok {
			return logbook.FormatTime(time.UnixMilli(int64(sec * 1e3)).UTC())
		}
	case unitOfRole[k.role] == units.None:
		return text
	}
	if v, ok := slowNumber(row[k.index], l.point); ok && v == v {
		return strconv.FormatFloat(roundTo(k.scale.to(v), 9), 'f', -1, 64)
	}
	return text
}
