package gpx

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
)

// maxToken is the longest piece of XML (a tag with its attributes, a run of
// text, a comment) that is read into memory.
const maxToken = 1 << 20

var (
	errTokenTooLong = errors.New("a tag, text or comment is longer than 1 MiB: want a GPX file")
	errEmpty        = errors.New("the file is empty: want a GPX file")
	errNotXML       = errors.New("this is not XML: want a GPX file, which begins with <")
)

// gate stands between the file and the XML decoder, which keeps a whole token
// in memory: it stops the flow where one grows too long.
type gate struct {
	in     io.Reader
	buffer []byte
	at     int   // next byte of buffer
	before int64 // bytes that were in buffer earlier
	mark   int64 // where the token began that is being read
	failed error // what reading the file gave, other than io.EOF
}

// tokenDone says that the decoder has given a token: the next one begins here.
func (g *gate) tokenDone() { g.mark = g.before + int64(g.at) }

// openGate looks at the first bytes: it takes off a byte order mark, turns
// UTF-16 into UTF-8 and refuses what cannot be XML.
func openGate(src io.Reader) (*gate, error) {
	in := bufio.NewReaderSize(src, 64<<10)
	head, err := in.Peek(4)
	if len(head) == 0 {
		if err != io.EOF {
			return nil, readFailure{err}
		}
		return nil, errEmpty
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		in.Discard(3)
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("<\x00")):
		in = utf16(in, unicode.LittleEndian)
	case bytes.HasPrefix(head, []byte("\xfe\xff")), bytes.HasPrefix(head, []byte("\x00<")):
		in = utf16(in, unicode.BigEndian)
	}
	head, _ = in.Peek(512)
	if text := bytes.TrimLeft(head, xmlSpace); len(text) > 0 && text[0] != '<' {
		return nil, errNotXML
	}
	return &gate{in: in, buffer: make([]byte, 0, 32<<10)}, nil
}

func utf16(in *bufio.Reader, order unicode.Endianness) *bufio.Reader {
	return bufio.NewReaderSize(unicode.UTF16(order, unicode.UseBOM).NewDecoder().Reader(in), 64<<10)
}

// readFailure marks what the file system said, in contrast to a fault of the file.
type readFailure struct{ error }

func (f readFailure) Unwrap() error { return f.error }

// ReadByte gives the decoder its next byte.
func (g *gate) ReadByte() (byte, error) {
	if g.at == len(g.buffer) {
		if err := g.fill(); err != nil {
			return 0, err
		}
	}
	b := g.buffer[g.at]
	g.at++
	return b, nil
}

// Read gives bytes to the decoder of another character set.
func (g *gate) Read(p []byte) (int, error) {
	if g.at == len(g.buffer) {
		if err := g.fill(); err != nil {
			return 0, err
		}
	}
	n := copy(p, g.buffer[g.at:])
	g.at += n
	return n, nil
}

func (g *gate) fill() error {
	g.before += int64(len(g.buffer))
	g.buffer, g.at = g.buffer[:0], 0
	if g.before-g.mark > maxToken {
		return errTokenTooLong
	}
	for range mostEmptyReads {
		n, err := g.in.Read(g.buffer[:cap(g.buffer)])
		g.buffer = g.buffer[:n]
		if n > 0 {
			return nil // an error will come again
		}
		if err != nil {
			if err != io.EOF {
				g.failed = err
			}
			return err
		}
	}
	return io.ErrNoProgress
}

const mostEmptyReads = 100

// charset gives the decoder of the encoding that an XML declaration names.
func charset(label string, in io.Reader) (io.Reader, error) {
	label = strings.ToLower(strings.Trim(label, xmlSpace))
	if strings.HasPrefix(label, "utf-16") || label == "us-ascii" {
		return in, nil // openGate has decoded the former already
	}
	enc, err := htmlindex.Get(label)
	if err != nil {
		return nil, errors.New("the encoding " + quoteShort(label) + " is not known: want UTF-8")
	}
	return enc.NewDecoder().Reader(in), nil
}
