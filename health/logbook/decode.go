package logbook

import (
	"reflect"
	"time"
)

// ParseJSON reads one record from one JSON object. It is stricter than
// encoding/json: names must match in case, none may come twice or be unknown,
// text must be UTF-8, numbers finite, and nothing may follow. A null is an
// absent field. The record is not validated beyond its single fields (see
// Validate) and its id may be empty. The error is a *FieldError.
func ParseJSON(line []byte) (Record, error) { return (*Parser)(nil).ParseJSON(line) }

// Parser parses records one after the other into the same memory: fresh memory
// for each takes longer than to read it.
type Parser struct{ records [len(tables)]Record }

// ParseJSON is as the function of that name. The record is good until the next
// call, but to a nil Parser, which makes each anew.
func (m *Parser) ParseJSON(line []byte) (Record, error) {
	p := parsers.Get().(*parser)
	defer p.release()
	p.data, p.pos = line, 0
	return p.object(m)
}

func (m *Parser) record(k Kind) Record {
	if m == nil {
		return New(k)
	}
	if m.records[k] == nil {
		m.records[k] = New(k)
	}
	r := m.records[k]
	reflect.ValueOf(r).Elem().SetZero()
	r.head().Rev = 1 // as New has it
	return r
}

// object decodes the members one by one into the record that "record" names,
// which mostly is the first of them.
func (p *parser) object(again *Parser) (Record, error) {
	if !p.take('{') {
		return nil, p.fail("{")
	}
	d := decoder{parser: p, again: again}
	for more := !p.take('}'); more; {
		p.space()
		name, err := p.scanString()
		if err != nil {
			return nil, err
		}
		if !p.take(':') {
			return nil, p.fail("a colon")
		}
		p.space()
		if err := d.member(name); err != nil {
			return nil, err
		}
		switch {
		case p.take(','):
		case p.take('}'):
			more = false
		default:
			return nil, p.fail("a comma or }")
		}
	}
	if err := p.end(); err != nil {
		return nil, err
	}
	if d.r == nil {
		return nil, errNoKind
	}
	return d.r, nil
}

const wantKind = "want one of board, pack, setup, charge, ride, check, service"

var errNoKind = &FieldError{Field: "record", Want: "missing: " + wantKind}

// decoder fills one record.
type decoder struct {
	*parser
	again *Parser
	r     Record
	kind  Kind
	named bool   // "record" was met
	seen  uint64 // fields that were met, by their index
	next  int    // field that is likely to come, by the order in which logs are written
}

// member decodes the value of one member, at which the parser stands.
func (d *decoder) member(name []byte) error {
	if string(name) == "record" {
		return d.recordKind()
	}
	if d.r == nil {
		kind, err := d.kindAhead()
		if err != nil {
			return err
		}
		d.kind, d.r = kind, d.again.record(kind)
	}
	fields := tables[d.kind]
	i := d.index(name)
	if i < 0 {
		return noSuchField(d.kind, string(name))
	}
	if d.seen&(1<<i) != 0 {
		return &FieldError{Field: fields[i].Name, Want: "given twice: give it once"}
	}
	d.seen |= 1 << i
	d.next = i + 1
	return d.field(&fields[i])
}

// index finds the field with that name, or -1. Logs are mostly written in the
// order of the table, so that it is one of the next.
func (d *decoder) index(name []byte) int {
	fields := tables[d.kind]
	for i := d.next; i < len(fields); i++ {
		if fields[i].Name == string(name) {
			return i
		}
	}
	if i, ok := tableIndex()[d.kind][string(name)]; ok {
		return i
	}
	return -1
}

func (d *decoder) recordKind() error {
	if d.named {
		return &FieldError{Field: "record", Want: "given twice: give it once"}
	}
	d.named = true
	m, err := d.scanValue()
	if err != nil {
		return err
	}
	kind, err := kindOf(m)
	if err == nil && d.r == nil {
		d.kind, d.r = kind, d.again.record(kind)
	}
	return err
}

func kindOf(m member) (Kind, error) {
	k, ok := KindOf(string(m.raw))
	if m.kind != '"' || !ok {
		return 0, &FieldError{Field: "record", Value: string(m.raw), Want: wantKind}
	}
	return k, nil
}

// kindAhead looks for "record" in the rest of the object, from the value at
// which the parser stands and where it stands again afterwards.
func (p *parser) kindAhead() (Kind, error) {
	start := p.pos
	defer func() { p.pos = start }()
	for name := []byte(nil); ; {
		m, err := p.scanValue()
		if err != nil {
			return 0, err
		}
		if string(name) == "record" {
			return kindOf(m)
		}
		if p.take('}') {
			return 0, errNoKind
		}
		if !p.take(',') {
			return 0, p.fail("a comma or }")
		}
		p.space()
		if name, err = p.scanString(); err != nil {
			return 0, err
		}
		if !p.take(':') {
			return 0, p.fail("a colon")
		}
	}
}

// field decodes the value of a field. What is common is decoded at once: plain
// text, plain numbers and times in full.
func (d *decoder) field(f *Field) error {
	switch ref := f.ref(d.r).(type) {
	case *Num:
		if v, ok := d.plainNumber(); ok {
			*ref = Num{v, true}
			return f.checkRange(v, "")
		}
	case *string:
		if d.pos < len(d.data) && d.data[d.pos] == '"' {
			raw, err := d.scanString()
			if err != nil {
				return err
			}
			return d.text(f, ref, raw)
		}
	case *time.Time:
		if t, n, ok := plainTime(d.data[d.pos:]); ok && f.Type == TypeTime {
			d.pos += n
			*ref = t
			return nil
		}
	}
	m, err := d.scanValue()
	if err != nil {
		return err
	}
	return f.setJSON(d.r, m)
}

// text sets a text. Names that come again and again are made once.
func (p *parser) text(f *Field, to *string, raw []byte) error {
	if f.Enum != nil || !p.plain || len(raw) > f.most() {
		return f.setString(to, string(raw))
	}
	if f.Long || f.Name == "id" || len(raw) == 0 {
		*to = string(raw)
		return nil
	}
	n := len(raw)
	known := &p.names[(n*31+int(raw[0])*7+int(raw[n/2])*3+int(raw[n-1]))%len(p.names)]
	if *known != string(raw) {
		*known = string(raw)
	}
	*to = *known
	return nil
}

// setJSON sets the field from a scanned value.
func (f *Field) setJSON(r Record, m member) error {
	if m.kind == 'n' {
		return nil
	}
	ref := f.ref(r)
	switch p := ref.(type) {
	case *Num:
		if m.kind == '0' {
			v, err := f.parseNumber(string(m.raw))
			*p = Some(v)
			return err
		}
	case *string:
		if m.kind == '"' {
			return f.setString(p, string(m.raw))
		}
	case *time.Time:
		if m.kind == '"' {
			return f.setTime(p, string(m.raw))
		}
	case *Flag:
		if m.kind == 't' || m.kind == 'f' {
			*p = FlagOf(m.kind == 't')
			return nil
		}
	case *bool:
		if m.kind == 't' || m.kind == 'f' {
			*p = m.kind == 't'
			return nil
		}
	case *int:
		if m.kind == '0' {
			v, err := f.parseNumber(string(m.raw))
			*p = int(v)
			return err
		}
	case *[]float64:
		if m.kind == '[' {
			return f.SetText(r, listText(m.raw))
		}
	}
	return f.refuse(string(m.raw))
}

// listText turns the JSON array of numbers into the text of a CSV cell.
func listText(raw []byte) string {
	out := make([]byte, 0, len(raw))
	for _, c := range raw {
		if c == '[' || c == ']' || c == ',' {
			c = ' '
		}
		out = append(out, c)
	}
	return string(out)
}
