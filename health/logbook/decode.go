package logbook

import "time"

// ParseJSON reads one record from one JSON object. It is stricter than
// encoding/json: names must match in case, none may come twice or be unknown,
// text must be UTF-8, numbers finite, and nothing may follow. A null is an
// absent field. The record is not validated beyond its single fields (see
// Validate) and its id may be empty. The error is a *FieldError.
func ParseJSON(line []byte) (Record, error) {
	p := parsers.Get().(*parser)
	defer p.release()
	p.data, p.pos = line, 0
	if err := p.scanObject(); err != nil {
		return nil, err
	}
	kind, err := p.kind()
	if err != nil {
		return nil, err
	}
	r := New(kind)
	var seen uint64
	for _, m := range p.members {
		if m.name == "record" {
			continue
		}
		i, ok := tableIndex[kind][m.name]
		if !ok {
			return nil, noSuchField(kind, m.name)
		}
		if seen&(1<<i) != 0 {
			return nil, &FieldError{Field: m.name, Want: "given twice: give it once"}
		}
		seen |= 1 << i
		if err := tables[kind][i].setJSON(r, m); err != nil {
			return nil, err
		}
	}
	return r, nil
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
