package gpx

import (
	"bytes"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// tag reads a start or an end tag.
func (l *lexer) tag() (token, error) {
	n, err := l.tagEnd()
	if err != nil {
		return token{}, err
	}
	body := l.take(n + 1)[1:n]
	if body[0] == '/' {
		name, rest := cutName(body[1:])
		if name == nil || len(bytes.TrimLeft(rest, xmlSpace)) > 0 || bytes.Count(name, colon) > 1 {
			return token{}, malformed("</" + shorten(string(body[1:])) + "> is no tag")
		}
		return token{kind: endTag, name: name}, nil
	}
	name, rest := cutName(body)
	if name == nil || bytes.Count(name, colon) > 1 {
		return token{}, malformed("<" + shorten(string(body)) + "> is no tag")
	}
	self := len(rest) > 0 && rest[len(rest)-1] == '/'
	if self {
		rest = rest[:len(rest)-1]
	}
	if l.attrs, err = attributes(l.attrs[:0], rest); err != nil {
		return token{}, err
	}
	if self {
		l.selfEnd = name
	}
	return token{kind: startTag, name: name, attrs: l.attrs}, nil
}

var colon = []byte{':'}

// tagEnd returns the offset of the > that ends the tag at hand; one in quotes
// does not.
func (l *lexer) tagEnd() (int, error) {
	for i := 1; ; i++ {
		if l.at+i >= l.end {
			if err := l.need(i + 1); err != nil {
				return 0, cutShort(err)
			}
		}
		switch c := l.buffer[l.at+i]; c {
		case '>':
			if i == 1 {
				return 0, malformed("<> is no tag")
			}
			return i, nil
		case '<':
			return 0, errInnerTag
		case '"', '\'':
			j, err := l.find(i+1, c)
			if err != nil {
				return 0, cutShort(err)
			}
			i = j
		}
	}
}

// attributes appends the attributes that s holds.
func attributes(to []attr, s []byte) ([]attr, error) {
	for {
		if s = bytes.TrimLeft(s, xmlSpace); len(s) == 0 {
			return to, nil
		}
		name, rest := cutName(s)
		if name == nil || bytes.Count(name, colon) > 1 {
			return nil, malformed(quoteShort(string(s)) + " is no attribute")
		}
		rest = bytes.TrimLeft(rest, xmlSpace)
		if len(rest) == 0 || rest[0] != '=' {
			return nil, malformed("the attribute " + shorten(string(name)) + " has no value")
		}
		rest = bytes.TrimLeft(rest[1:], xmlSpace)
		if len(rest) == 0 || rest[0] != '"' && rest[0] != '\'' {
			return nil, malformed("the value of " + shorten(string(name)) + " is not in quotes")
		}
		n := bytes.IndexByte(rest[1:], rest[0])
		if n < 0 {
			return nil, malformed("the value of " + shorten(string(name)) + " does not end")
		}
		value := rest[1 : 1+n]
		if bytes.IndexByte(value, '<') >= 0 {
			return nil, malformed("< stands inside the value of " + shorten(string(name)))
		}
		if err := checkReferences(value); err != nil {
			return nil, err
		}
		to = append(to, attr{name, value})
		s = rest[n+2:]
	}
}

// cutName cuts the XML name off the front of s; nil where there is none.
func cutName(s []byte) (name, rest []byte) {
	n := 0
	for n < len(s) {
		c := s[n]
		switch {
		case c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' || c == ':',
			n > 0 && (c >= '0' && c <= '9' || c == '-' || c == '.'):
			n++
			continue
		case c < utf8.RuneSelf:
		default:
			if r, size := utf8.DecodeRune(s[n:]); nameRune(r) && (n > 0 || !unicode.Is(unicode.M, r)) {
				n += size
				continue
			}
		}
		break
	}
	if n == 0 {
		return nil, s
	}
	return s[:n], s[n:]
}

// nameRune is wider than the letters that XML lists, and never narrower.
func nameRune(r rune) bool {
	return r != utf8.RuneError && (unicode.In(r, unicode.L, unicode.M, unicode.N) || r == 0xB7)
}

// checkText refuses text that XML does not allow between tags.
func checkText(s []byte) error {
	if bytes.Contains(s, []byte("]]>")) {
		return malformed("]]> stands outside CDATA")
	}
	return checkReferences(s)
}

// checkReferences refuses references to entities that nothing declares, and
// characters that XML does not allow.
func checkReferences(s []byte) error {
	if err := checkCharacters(s); err != nil {
		return err
	}
	for {
		i := bytes.IndexByte(s, '&')
		if i < 0 {
			return nil
		}
		n, _, ok := reference(s[i:])
		if !ok {
			name, _, _ := strings.Cut(string(s[i:min(len(s), i+20)]), ";")
			return malformed("the reference " + quoteShort(name) + " stands for nothing")
		}
		s = s[i+n:]
	}
}

// checkCharacters refuses bytes that are no UTF-8 and characters outside XML's
// (XML 1.0, production 2).
func checkCharacters(s []byte) error {
	for i := 0; i < len(s); {
		c := s[i]
		if c >= 0x20 && c < utf8.RuneSelf || c == '\n' || c == '\t' || c == '\r' {
			i++
			continue
		}
		r, size := utf8.DecodeRune(s[i:])
		if r == utf8.RuneError && size == 1 {
			return malformed("the text is not UTF-8")
		}
		if !legal(r) {
			return malformed("the character " + strconv.QuoteRuneToASCII(r) + " is not allowed")
		}
		i += size
	}
	return nil
}

func legal(r rune) bool {
	return r == '\t' || r == '\n' || r == '\r' || r >= 0x20 && r <= 0xD7FF || r >= 0xE000 && r <= 0xFFFD || r >= 0x10000 && r <= 0x10FFFF
}

// predefined are the only entities of a file that declares none.
var predefined = map[string]string{"lt": "<", "gt": ">", "amp": "&", "apos": "'", "quot": `"`}

// reference reads the reference at the front of s: its length and meaning.
func reference(s []byte) (n int, means string, ok bool) {
	i := bytes.IndexByte(s[:min(len(s), 64)], ';')
	if i < 2 {
		return 0, "", false
	}
	name := string(s[1:i])
	if means, ok = predefined[name]; ok {
		return i + 1, means, true
	}
	digits, base := strings.CutPrefix(name, "#")
	if !base {
		return 0, "", false
	}
	radix := 10
	if hex, ok := strings.CutPrefix(digits, "x"); ok {
		digits, radix = hex, 16
	}
	v, err := strconv.ParseUint(digits, radix, 32)
	if err != nil || strings.HasPrefix(digits, "+") || !legal(rune(v)) {
		return 0, "", false
	}
	return i + 1, string(rune(v)), true
}

// plain replaces the references in s, which checkReferences has passed.
func plain(s []byte) string {
	if bytes.IndexByte(s, '&') < 0 {
		return string(s)
	}
	var b strings.Builder
	for len(s) > 0 {
		if s[0] == '&' {
			if n, means, ok := reference(s); ok {
				b.WriteString(means)
				s = s[n:]
				continue
			}
		}
		b.WriteByte(s[0])
		s = s[1:]
	}
	return b.String()
}
