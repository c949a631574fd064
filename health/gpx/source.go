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

var (
	errEmpty  = errors.New("the file is empty: want a GPX file")
	errNotXML = errors.New("this is not XML: want a GPX file, which begins with <")
)

// asUTF8 looks at the first bytes of a file and returns it as UTF-8 without a
// byte order mark: from UTF-16, or from the encoding that its XML declaration
// names. It refuses what cannot be XML.
func asUTF8(src io.Reader) (io.Reader, error) {
	in := bufio.NewReaderSize(src, longestHead)
	head, err := in.Peek(longestHead)
	if len(head) == 0 {
		if err != io.EOF {
			return nil, readFailure{err}
		}
		return nil, errEmpty
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		in.Discard(3)
		head = head[3:]
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("<\x00")):
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(in), nil
	case bytes.HasPrefix(head, []byte("\xfe\xff")), bytes.HasPrefix(head, []byte("\x00<")):
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().Reader(in), nil
	}
	if text := bytes.TrimLeft(head, xmlSpace); len(text) > 0 && text[0] != '<' {
		return nil, errNotXML
	}
	label := declared(head)
	if label == "" || label == "utf-8" || label == "us-ascii" || strings.HasPrefix(label, "utf-16") {
		return in, nil // UTF-16 it is not: that would not read "<?xml" byte by byte
	}
	enc, err := htmlindex.Get(label)
	if err != nil {
		return nil, errors.New("the encoding " + quoteShort(label) + " is not known: want UTF-8")
	}
	return enc.NewDecoder().Reader(in), nil
}

// longestHead is how far into a file its XML declaration is looked for.
const longestHead = 1024

// readFailure marks what the file system said, in contrast to a fault of the file.
type readFailure struct{ error }

func (f readFailure) Unwrap() error { return f.error }

// declared returns the encoding that the XML declaration at the head of a file
// names, in small letters; "" where there is none.
func declared(head []byte) string {
	text, ok := strings.CutPrefix(string(bytes.TrimLeft(head, xmlSpace)), "<?xml")
	if !ok {
		return ""
	}
	text, _, ok = strings.Cut(text, "?>")
	if !ok {
		return ""
	}
	_, text, ok = strings.Cut(text, "encoding")
	text = strings.TrimLeft(text, xmlSpace)
	if !ok || !strings.HasPrefix(text, "=") {
		return ""
	}
	text = strings.TrimLeft(text[1:], xmlSpace)
	if text == "" || (text[0] != '"' && text[0] != '\'') {
		return ""
	}
	label, _, _ := strings.Cut(text[1:], text[:1])
	return strings.ToLower(strings.TrimSpace(label))
}
