package trace

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"sync/atomic"

	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// maxZstdWindow is the largest window that a zstd file may ask for: with the
// blocks of the parser it stays well under 64 MiB.
const maxZstdWindow = 16 << 20

// source gives the text of a time series as plain bytes, whatever it was
// packed and encoded in.
type source struct {
	r        io.Reader
	read     *counter
	packed   string // "gzip", "zstd" or ""
	encoding string // "utf-8", "utf-16", or "" where the bytes themselves do not say
	close    func()
}

// counter counts the bytes that were read from the input itself.
type counter struct {
	r io.Reader
	n atomic.Int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n.Add(int64(n))
	return n, err
}

// openSource looks at the first bytes of r and takes off what the text is
// wrapped in. close must be called when the source is no longer read.
func openSource(r io.Reader) (*source, error) {
	s := &source{read: &counter{r: r}, close: func() {}}
	head, rest, err := peek(s.read, 4)
	if err != nil {
		return nil, err
	}
	switch {
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}): // RFC 1952, 2.3.1
		z, err := gzip.NewReader(rest)
		if err != nil {
			return nil, unpackError("gzip", err)
		}
		s.packed, rest = "gzip", &unpacker{"gzip", z}
	case bytes.Equal(head, []byte{0x28, 0xb5, 0x2f, 0xfd}): // RFC 8878, 3.1.1
		z, err := zstd.NewReader(rest, zstd.WithDecoderMaxWindow(maxZstdWindow), zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true))
		if err != nil {
			return nil, unpackError("zstd", err)
		}
		s.packed, s.close, rest = "zstd", z.Close, &unpacker{"zstd", z}
	}
	if head, rest, err = peek(rest, 64); err != nil {
		s.close()
		return nil, err
	}
	s.r = rest
	s.decode(head)
	return s, nil
}

// decode takes marks off and turns UTF-16 into UTF-8. One byte a letter is left
// as it is: only headers have letters that matter.
func (s *source) decode(head []byte) {
	var wide transform.Transformer
	switch {
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		s.encoding = "utf-8"
		io.CopyN(io.Discard, s.r, 3) // peeked: cannot fail
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), wideText(head, 1):
		wide = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder()
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}), wideText(head, 0):
		wide = unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder()
	}
	if wide != nil {
		s.encoding = "utf-16"
		s.r = transform.NewReader(s.r, wide)
	}
}

// wideText reports whether every second byte of head, from the one given on,
// is zero and no other: UTF-16 without a mark.
func wideText(head []byte, zero int) bool {
	if len(head) < 8 {
		return false
	}
	for i, c := range head[:len(head)&^1] {
		if (c == 0) != (i&1 == zero) {
			return false
		}
	}
	return true
}

// peek returns the first n bytes of r, fewer where it is shorter, and a reader
// that gives them again.
func peek(r io.Reader, n int) (head []byte, again io.Reader, err error) {
	head = make([]byte, n)
	k, err := io.ReadFull(r, head)
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		err = nil
	}
	head = head[:k]
	return head, io.MultiReader(bytes.NewReader(head), r), err
}

// unpacker says in its errors what could not be unpacked.
type unpacker struct {
	name string
	r    io.Reader
}

func (u *unpacker) Read(p []byte) (int, error) {
	n, err := u.r.Read(p)
	if err != nil && err != io.EOF {
		err = unpackError(u.name, err)
	}
	return n, err
}

func unpackError(name string, err error) error {
	if errors.Is(err, zstd.ErrWindowSizeExceeded) || errors.Is(err, zstd.ErrDecoderSizeExceeded) {
		return ErrWindow
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return &InputError{Want: "the " + name + " file is cut short: want it whole"}
	}
	return &InputError{Want: "the " + name + " file cannot be unpacked: " + err.Error()}
}
