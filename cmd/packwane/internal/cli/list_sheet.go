package cli

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"
	"time"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

// sheet writes a list as its records pass.
type sheet interface {
	begin(a *app, l listing, who typed.Rider)
	add(logbook.Record) error
	end() (shown int, err error)
}

func (a *app) sheetFor(out io.Writer) sheet {
	if a.json {
		return &jsonSheet{out: out}
	}
	return &rowSheet{app: a, out: out}
}

// jsonSheet writes one JSON array, laid out as printJSON would.
type jsonSheet struct {
	out  io.Writer
	n    int
	line []byte
	b    bytes.Buffer
}

func (j *jsonSheet) begin(*app, listing, typed.Rider) {}

func (j *jsonSheet) add(r logbook.Record) error {
	j.b.Reset()
	if j.n++; j.n == 1 {
		j.b.WriteString("[\n  ")
	} else {
		j.b.WriteString(",\n  ")
	}
	j.line = logbook.AppendJSON(j.line[:0], r)
	if err := json.Indent(&j.b, j.line, "  ", "  "); err != nil {
		return err
	}
	_, err := j.out.Write(j.b.Bytes())
	return err
}

func (j *jsonSheet) end() (int, error) {
	tail := "\n]\n"
	if j.n == 0 {
		tail = "[]\n"
	}
	_, err := io.WriteString(j.out, tail)
	return j.n, err
}

// rowSheet writes a row a record: in a pipe every column and at once, on a
// terminal those that tell something, once all are known.
type rowSheet struct {
	*app
	out    io.Writer
	l      listing
	who    typed.Rider
	things bool            // boards or packs alone, as they are set up
	since  logbook.History // their setups and services, and until when
	heads  []string
	table  *table // for a terminal
	line   []byte // for a pipe, to be used again
	n      int
}

func (s *rowSheet) begin(_ *app, l listing, who typed.Rider) {
	s.l, s.who, s.things = l, who, len(l.kinds) == 1 && addable(l.kinds[0])
	for _, h := range []struct {
		name string
		show bool
	}{{"when", !s.things}, {"record", !s.streams.OutTerminal && !s.things}, {"id", true}, {"of", s.l.pack == "" && !s.things}, {"what", true}} {
		if h.show {
			s.heads = append(s.heads, h.name)
		}
	}
	s.table = newTable(s.heads...)
	s.line = append(append(s.line, strings.Join(s.heads, "\t")...), '\n')
}

// lookUp gathers what was changed of boards and packs since they were added.
func (s *rowSheet) lookUp(st *store.Store, asOf time.Time) error {
	s.since.AsOf = asOf
	kinds := []logbook.Kind{logbook.KindSetup, logbook.KindService}
	_, err := st.List(store.Query{Kinds: kinds}, func(r logbook.Record) error {
		switch r := r.(type) { // the record is the list's own
		case *logbook.Setup:
			setup := *r
			s.since.Setups = append(s.since.Setups, &setup)
		case *logbook.Service:
			if service := *r; !service.At.After(asOf) {
				s.since.Services = append(s.since.Services, &service)
			}
		}
		return nil
	})
	return err
}

// asSetUp appends the summary of a board or a pack as it is set up, and when a pack was
// retired.
func (s *rowSheet) asSetUp(line []byte, r logbook.Record) []byte {
	h := s.since
	switch r := r.(type) {
	case *logbook.Board:
		h.Pack, h.Boards = &logbook.Pack{}, map[string]*logbook.Board{r.ID: r}
		b := h.BoardAt(r.ID, h.AsOf)
		return typed.AppendSummary(line, &b, s.who)
	case *logbook.Pack:
		h.Pack = r
		p := h.PackAt(h.AsOf)
		line = typed.AppendSummary(line, &p, s.who)
		if at := h.RetiredAt(); !at.IsZero() {
			line = append(line, (", retired " + h.Day(at))...)
		}
	}
	return line
}

func (s *rowSheet) add(r logbook.Record) error {
	s.n++
	if s.streams.OutTerminal {
		s.table.add(s.row(r)...)
		return nil
	}
	for i, h := range s.heads {
		if i > 0 {
			s.line = append(s.line, '\t')
		}
		start := len(s.line)
		s.line = cleanFrom(s.appendCell(h, r), start)
	}
	s.line = append(s.line, '\n')
	return s.writeLine()
}

// writeLine writes what stands in line: a row, and the headings before the
// first.
func (s *rowSheet) writeLine() error {
	_, err := s.out.Write(s.line)
	s.line = s.line[:0]
	return err
}

// row is the row of a record on a terminal.
func (s *rowSheet) row(r logbook.Record) []string {
	var row []string
	for _, h := range s.heads {
		start := len(s.line)
		text := string(s.appendCell(h, r)[start:])
		if h == "what" && !s.things && nameOf(r) != logbook.HeadOf(r).ID {
			text = strings.TrimSuffix(r.Kind().String()+", "+text, ", ")
		}
		row = append(row, text)
	}
	return row
}

// appendCell appends to line what stands under a heading.
func (s *rowSheet) appendCell(head string, r logbook.Record) []byte {
	switch head {
	case "when":
		return append(s.line, s.when(logbook.AtOf(r))...)
	case "record":
		return append(s.line, r.Kind().String()...)
	case "id":
		return append(s.line, logbook.HeadOf(r).ID...)
	case "of":
		return append(s.line, ownerName(r)...)
	}
	if s.things {
		return s.asSetUp(s.line, r)
	}
	return typed.AppendSummary(s.line, r, s.who)
}

// ownerName names what a record is of: its pack, else its board.
func ownerName(r logbook.Record) string {
	if of := logbook.PackOf(r); of != "" && r.Kind() != logbook.KindPack {
		return of
	}
	return logbook.BoardOf(r)
}

func (s *rowSheet) end() (int, error) {
	if s.table == nil { // there is no log yet
		s.begin(s.app, s.l, s.who)
	}
	if s.streams.OutTerminal {
		return s.n, s.table.write(s.out, true, s.streams.width(), s.ink())
	}
	return s.n, s.writeLine()
}
