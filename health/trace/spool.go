package trace

import (
	"bufio"
	"encoding/binary"
	"io"
	"iter"
)

// Spill is where a reading puts what it need not keep in memory: a file that
// is empty at first. What was written is read back at any place, any number of
// times.
type Spill interface {
	io.Writer
	io.ReaderAt
	io.Closer
}

// spool holds byte strings in the order in which they came: the last of them
// in memory, those before in a spill. Without a spill all of them stay in
// memory. The first error is kept, and nothing is taken behind it.
type spool struct {
	open  func() (Spill, error) // nil where there is no spill
	spill Spill
	size  int64 // of what is in the spill
	tail  []byte
	err   error
}

// spoolBytes is how much stays in memory where there is a spill.
const spoolBytes = 256 << 10

// add keeps a copy of b.
func (s *spool) add(b []byte) {
	if s.err != nil {
		return
	}
	s.tail = append(binary.AppendUvarint(s.tail, uint64(len(b))), b...)
	if s.open != nil && len(s.tail) >= spoolBytes {
		s.flush()
	}
}

func (s *spool) flush() {
	if s.spill == nil {
		if s.spill, s.err = s.open(); s.err != nil {
			return
		}
	}
	n, err := s.spill.Write(s.tail)
	s.size += int64(n)
	s.err = err
	s.tail = s.tail[:0]
}

// all gives what was added. A string is good until the next one.
func (s *spool) all() iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		if s.err != nil {
			yield(nil, s.err)
			return
		}
		if s.size > 0 && !s.spilled(yield) {
			return
		}
		for b := s.tail; len(b) > 0; {
			n, w := binary.Uvarint(b)
			end := w + int(n)
			if !yield(b[w:end], nil) {
				return
			}
			b = b[end:]
		}
	}
}

// spilled gives what is in the spill; false where that is to be the end.
func (s *spool) spilled(yield func([]byte, error) bool) bool {
	in := bufio.NewReaderSize(io.NewSectionReader(s.spill, 0, s.size), 64<<10)
	var b []byte
	for {
		n, err := binary.ReadUvarint(in)
		if err == io.EOF {
			return true
		}
		if err == nil {
			if uint64(cap(b)) < n {
				b = make([]byte, 2*n)
			}
			b = b[:n]
			_, err = io.ReadFull(in, b)
		}
		if err != nil {
			yield(nil, err)
			return false
		}
		if !yield(b, nil) {
			return false
		}
	}
}

func (s *spool) close() error {
	if s.spill == nil {
		return nil
	}
	return s.spill.Close()
}
