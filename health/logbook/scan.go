package logbook

import (
	"strconv"
	"sync"
	"unicode/utf16"
	"unicode/utf8"
)

// member is the raw value of a member of the object.
type member struct {
	kind byte   // '"' text, '0' number, 't' true, 'f' false, 'n' null, '[' array of numbers
	raw  []byte // the literal; for text the decoded string
}

type parser struct {
	data  []byte
	pos   int
	plain bool       // the text that was scanned last is printable ASCII
	names [64]string // texts that were met lately
}

// parsers are reused: one is some 1 KiB.
var parsers = sync.Pool{New: func() any { return new(parser) }}

// release gives p back; it must not hold on to the line, which may be mapped memory.
func (p *parser) release() {
	p.data = nil
	parsers.Put(p)
}

func (p *parser) fail(want string) error {
	end := min(p.pos+12, len(p.data))
	near := "the end of the line"
	if p.pos < len(p.data) {
		near = quoteShort(string(p.data[p.pos:end]))
	}
	return &FieldError{Want: "not a JSON object of one record: at " + near + " (byte " + strconv.Itoa(p.pos+1) + ") want " + want}
}

func (p *parser) space() {
	for p.pos < len(p.data) {
		switch p.data[p.pos] {
		case ' ', '\t', '\r', '\n':
			p.pos++
		default:
			return
		}
	}
}

func (p *parser) take(c byte) bool {
	p.space()
	if p.pos < len(p.data) && p.data[p.pos] == c {
		p.pos++
		return true
	}
	return false
}

func (p *parser) end() error {
	p.space()
	if p.pos != len(p.data) {
		return p.fail("nothing more")
	}
	return nil
}

func (p *parser) scanValue() (member, error) {
	p.space()
	if p.pos >= len(p.data) {
		return member{}, p.fail("a value")
	}
	start := p.pos
	switch c := p.data[p.pos]; {
	case c == '"':
		s, err := p.scanString()
		return member{kind: '"', raw: s}, err
	case c == '-' || c >= '0' && c <= '9':
		if err := p.scanNumber(); err != nil {
			return member{}, err
		}
		return member{kind: '0', raw: p.data[start:p.pos]}, nil
	case c == '[':
		return p.scanArray()
	}
	for _, word := range [...]string{"true", "false", "null"} {
		if len(p.data)-p.pos >= len(word) && string(p.data[p.pos:p.pos+len(word)]) == word {
			p.pos += len(word)
			return member{kind: word[0], raw: p.data[start:p.pos]}, nil
		}
	}
	return member{}, p.fail("text in quotes, a number, true, false or a list of numbers")
}

func (p *parser) scanArray() (member, error) {
	start := p.pos
	p.pos++
	for first := true; ; first = false {
		if p.take(']') {
			return member{kind: '[', raw: p.data[start:p.pos]}, nil
		}
		if !first && !p.take(',') {
			return member{}, p.fail("a comma or ]")
		}
		p.space()
		if err := p.scanNumber(); err != nil {
			return member{}, err
		}
	}
}

// scanNumber passes over one number by the grammar of RFC 8259.
func (p *parser) scanNumber() error {
	digits := func() bool {
		start := p.pos
		for p.pos < len(p.data) && p.data[p.pos] >= '0' && p.data[p.pos] <= '9' {
			p.pos++
		}
		return p.pos > start
	}
	at := func(c byte) bool { return p.pos < len(p.data) && p.data[p.pos] == c }
	if at('-') {
		p.pos++
	}
	if at('0') {
		p.pos++
	} else if !digits() {
		return p.fail("a number")
	}
	if at('.') {
		p.pos++
		if !digits() {
			return p.fail("a digit")
		}
	}
	if at('e') || at('E') {
		p.pos++
		if at('+') || at('-') {
			p.pos++
		}
		if !digits() {
			return p.fail("a digit")
		}
	}
	return nil
}

// scanString returns the decoded text; it shares the input where nothing was
// escaped.
func (p *parser) scanString() ([]byte, error) {
	if p.pos >= len(p.data) || p.data[p.pos] != '"' {
		return nil, p.fail("text in quotes")
	}
	p.pos++
	start := p.pos
	p.plain = true
	for i, c := range p.data[start:] {
		switch classes[c] {
		case beyond:
			p.plain = false
		case quote:
			s := p.data[start : start+i]
			p.pos = start + i + 1
			if !p.plain && !utf8.Valid(s) {
				return nil, &FieldError{Want: "text is not UTF-8 (byte " + strconv.Itoa(start+1) + ")"}
			}
			return s, nil
		case escape:
			p.pos = start + i
			p.plain = false
			return p.scanEscaped(start)
		case control:
			p.pos = start + i
			return nil, p.fail("no bare control character in text")
		}
	}
	p.pos = len(p.data)
	return nil, p.fail("the closing quote")
}

// classes says of each byte what it means inside a text.
var classes = func() (t [256]uint8) {
	for c := range t {
		switch {
		case c < 0x20:
			t[c] = control
		case c >= 0x7f:
			t[c] = beyond
		}
	}
	t['"'], t['\\'] = quote, escape
	return t
}()

const (
	_ = iota // printable ASCII
	quote
	escape
	control
	beyond // ASCII, or a control character there
)

func (p *parser) scanEscaped(start int) ([]byte, error) {
	out := append([]byte(nil), p.data[start:p.pos]...)
	for p.pos < len(p.data) {
		c := p.data[p.pos]
		switch {
		case c == '"':
			p.pos++
			if !utf8.Valid(out) {
				return nil, &FieldError{Want: "text is not UTF-8 (byte " + strconv.Itoa(start+1) + ")"}
			}
			return out, nil
		case c < 0x20:
			return nil, p.fail("no bare control character in text")
		case c != '\\':
			out = append(out, c)
			p.pos++
			continue
		}
		if p.pos+1 >= len(p.data) {
			break
		}
		c = p.data[p.pos+1]
		if c == 'u' {
			r, ok := p.scanUnicode()
			if !ok {
				return nil, p.fail("a whole Unicode escape")
			}
			out = utf8.AppendRune(out, r)
			continue
		}
		plain, ok := escapes[c]
		if !ok {
			return nil, p.fail("an escape of JSON")
		}
		out = append(out, plain)
		p.pos += 2
	}
	p.pos = len(p.data)
	return nil, p.fail("the closing quote")
}

var escapes = map[byte]byte{'"': '"', '\\': '\\', '/': '/', 'b': '\b', 'f': '\f', 'n': '\n', 'r': '\r', 't': '\t'}

// scanUnicode reads \u and four hexadecimal digits, or a pair of them for one
// code point beyond the basic plane; a lone surrogate is not text.
func (p *parser) scanUnicode() (rune, bool) {
	hex := func() rune {
		if p.pos+6 > len(p.data) || p.data[p.pos] != '\\' || p.data[p.pos+1] != 'u' {
			return -1
		}
		v, err := strconv.ParseUint(string(p.data[p.pos+2:p.pos+6]), 16, 32)
		if err != nil {
			return -1
		}
		p.pos += 6
		return rune(v)
	}
	r := hex()
	if utf16.IsSurrogate(r) {
		r = utf16.DecodeRune(r, hex())
		if r == utf8.RuneError {
			return 0, false
		}
	}
	return r, r >= 0
}
