package gpx

import (
	"bytes"
	"errors"
	"io"
)

// The reader of XML. It reads in place the part of XML that GPX needs, several
// times as fast as encoding/xml, which a million points would keep busy for
// most of the time that they may take. The tests hold it against encoding/xml:
// what that accepts, this accepts with the same meaning.

// maxToken is the longest piece of XML (a tag with its attributes, a run of
// text, a comment) that is held in memory.
const maxToken = 1 << 20

var (
	errTokenTooLong = errors.New("a tag, text or comment is longer than 1 MiB: want a GPX file")
	errInnerTag     = malformed("< stands inside a tag")
	errCutShort     = errors.New("the file is cut short: want a whole GPX file")
)

// kind is what a token is.
type kind uint8

const (
	startTag kind = iota + 1
	endTag
	textRun
	literal // a CDATA section
	other   // a comment or an instruction
)

// token is a piece of XML. Its bytes are good until the next one is read.
type token struct {
	kind  kind
	name  []byte // of a tag, with its prefix
	attrs []attr // of a start tag, well formed
	text  []byte // of a text run or a literal, as written
}

type attr struct{ name, value []byte }

// lexer cuts a UTF-8 file into tokens.
type lexer struct {
	in       io.Reader
	buffer   []byte // holds buffer[at:end] of the file
	at, end  int
	taken    int // length of the last token
	line     int // in which the last token begins
	selfEnd  []byte
	attrs    []attr
	ended    bool
	failed   error // what reading gave, other than io.EOF
	emptyRun int
}

func newLexer(in io.Reader) *lexer {
	return &lexer{in: in, buffer: make([]byte, 64<<10), line: 1}
}

// next returns the next token, or io.EOF.
func (l *lexer) next() (token, error) {
	if l.selfEnd != nil {
		t := token{kind: endTag, name: l.selfEnd}
		l.selfEnd = nil
		return t, nil
	}
	l.line += bytes.Count(l.buffer[l.at:l.at+l.taken], []byte{'\n'})
	l.at += l.taken
	l.taken = 0
	if err := l.need(1); err != nil {
		return token{}, err
	}
	if l.buffer[l.at] != '<' {
		return l.textToken()
	}
	if err := l.need(2); err != nil {
		return token{}, cutShort(err)
	}
	switch l.buffer[l.at+1] {
	case '?':
		return l.instruction()
	case '!':
		return l.declaration()
	}
	return l.tag()
}

// need makes sure that n bytes of the token at hand are in the buffer.
func (l *lexer) need(n int) error {
	for l.end-l.at < n {
		if err := l.fill(); err != nil {
			return err
		}
	}
	return nil
}

// fill reads on, moving what is not yet taken to the front.
func (l *lexer) fill() error {
	if l.ended {
		return io.EOF
	}
	if l.at > 0 {
		copy(l.buffer, l.buffer[l.at:l.end])
		l.end -= l.at
		l.at = 0
	}
	if l.end == len(l.buffer) {
		if len(l.buffer) >= maxToken {
			return errTokenTooLong
		}
		l.buffer = append(l.buffer, make([]byte, len(l.buffer))...)
	}
	n, err := l.in.Read(l.buffer[l.end:])
	l.end += n
	switch {
	case err == io.EOF:
		l.ended = true
	case err != nil:
		l.failed = err
		return err
	case n > 0:
		l.emptyRun = 0
	default:
		if l.emptyRun++; l.emptyRun > 100 {
			l.failed = io.ErrNoProgress
			return l.failed
		}
	}
	return nil
}

// find returns where in the token at hand, from the offset on, the byte c
// stands next.
func (l *lexer) find(offset int, c byte) (int, error) {
	for {
		if i := bytes.IndexByte(l.buffer[min(l.at+offset, l.end):l.end], c); i >= 0 {
			return offset + i, nil
		}
		offset = max(offset, l.end-l.at)
		if err := l.fill(); err != nil {
			return 0, err
		}
	}
}

// take returns the first n bytes of the token at hand as the whole of it.
func (l *lexer) take(n int) []byte {
	l.taken = n
	return l.buffer[l.at : l.at+n]
}

func cutShort(err error) error {
	if err == io.EOF {
		return errCutShort
	}
	return err
}

// textToken reads up to the next tag.
func (l *lexer) textToken() (token, error) {
	n, err := l.find(0, '<')
	if err == io.EOF {
		n, err = l.end-l.at, nil
	}
	if err != nil {
		return token{}, err
	}
	text := l.take(n)
	if err := checkText(text); err != nil {
		l.line += blankLines(text)
		return token{}, err
	}
	return token{kind: textRun, text: text}, nil
}

// blankLines counts the line ends before the first word of text.
func blankLines(text []byte) int {
	return bytes.Count(text[:len(text)-len(bytes.TrimLeft(text, xmlSpace))], []byte{'\n'})
}

// until returns the length of the token up to and with the end mark, which is
// looked for from the offset on.
func (l *lexer) until(offset int, mark string) (int, error) {
	from := offset
	for {
		i, err := l.find(from, mark[len(mark)-1])
		if err != nil {
			return 0, cutShort(err)
		}
		if i+1 >= offset+len(mark) && string(l.buffer[l.at+i+1-len(mark):l.at+i+1]) == mark {
			return i + 1, nil
		}
		from = i + 1
	}
}

func (l *lexer) instruction() (token, error) {
	n, err := l.until(2, "?>")
	if err != nil {
		return token{}, err
	}
	body := l.take(n)[2 : n-2]
	name, rest := cutName(body)
	if name == nil {
		return token{}, malformed("an instruction has no name")
	}
	if string(name) == "xml" && !bytes.Contains(rest, []byte("1.0")) && bytes.Contains(rest, []byte("version")) {
		return token{}, malformed("the version of XML is not 1.0")
	}
	return token{kind: other}, nil
}

// declaration reads a comment, a CDATA section or a document type. One that
// declares entities is refused: GPX has none, and only an attack would.
func (l *lexer) declaration() (token, error) {
	switch {
	case l.begins("<!--"):
		n, err := l.until(4, "--")
		if err != nil {
			return token{}, err
		}
		if err := l.need(n + 1); err != nil {
			return token{}, cutShort(err)
		}
		if body := l.take(n + 1); body[n] != '>' {
			return token{}, malformed("-- stands inside a comment")
		}
		return token{kind: other}, nil
	case l.begins("<![CDATA["):
		n, err := l.until(9, "]]>")
		if err != nil {
			return token{}, err
		}
		text := l.take(n)[9 : n-3]
		if err := checkCharacters(text); err != nil {
			return token{}, err
		}
		return token{kind: literal, text: text}, nil
	case l.begins("<!DOCTYPE"):
		return l.documentType()
	}
	return token{}, malformed("<! begins no comment, CDATA or document type")
}

func (l *lexer) documentType() (token, error) {
	n, err := l.tagEnd()
	if err == errInnerTag || err == nil && bytes.IndexByte(l.take(n+1), '[') >= 0 {
		return token{}, malformed("the document type declares things of its own")
	}
	return token{kind: other}, err
}

// begins says whether the token at hand begins so.
func (l *lexer) begins(with string) bool {
	return l.need(len(with)) == nil && string(l.buffer[l.at:l.at+len(with)]) == with
}

func malformed(what string) error { return errors.New(what + ": want a whole GPX file") }
