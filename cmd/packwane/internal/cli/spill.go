package cli

import (
	"bytes"
	"io"
	"os"
)

// spill holds what is written, in memory as long as it is little and then in a
// temporary file.
type spill struct {
	b    bytes.Buffer
	file *tempFile
}

const spillAt = 1 << 16

// Write implements io.Writer.
func (s *spill) Write(p []byte) (int, error) {
	if s.b.Cap() == 0 {
		s.b = *bytes.NewBuffer(make([]byte, 0, spillAt+1<<14)) // one that grows takes fresh memory again and again
	}
	s.b.Write(p)
	if s.b.Len() < spillAt {
		return len(p), nil
	}
	if s.file == nil {
		f, err := newTempFile()
		if err != nil {
			return 0, err
		}
		s.file = f
	}
	if _, err := s.b.WriteTo(s.file); err != nil {
		return 0, err
	}
	return len(p), nil
}

// reader returns all that was held, from its start, as often as it is called.
// Nothing may be written before it is done with.
func (s *spill) reader() io.Reader {
	rest := bytes.NewReader(s.b.Bytes())
	if s.file == nil {
		return rest
	}
	return io.MultiReader(io.NewSectionReader(s.file, 0, s.file.size), rest)
}

// copyTo writes all that was held to w.
func (s *spill) copyTo(w io.Writer) error {
	_, err := io.Copy(w, s.reader())
	return err
}

func (s *spill) close() {
	if s.file != nil {
		s.file.Close()
	}
}

// tempFile is a temporary file without a name where the system allows that:
// nothing is left of it, however the program ends.
type tempFile struct {
	file *os.File
	size int64
}

func newTempFile() (*tempFile, error) {
	f, err := os.CreateTemp("", "packwane-*")
	if err != nil {
		return nil, failed("cannot make a temporary file: %w", plainPath(err))
	}
	os.Remove(f.Name()) // it lives on until it is closed
	return &tempFile{file: f}, nil
}

// Write implements io.Writer.
func (t *tempFile) Write(p []byte) (int, error) {
	n, err := t.file.Write(p)
	t.size += int64(n)
	if err != nil {
		err = cannotWrite("a temporary file", err)
	}
	return n, err
}

// ReadAt implements io.ReaderAt.
func (t *tempFile) ReadAt(p []byte, at int64) (int, error) { return t.file.ReadAt(p, at) }

// Close implements io.Closer.
func (t *tempFile) Close() error {
	err := t.file.Close()
	os.Remove(t.file.Name()) // where it could not be while it was open
	return err
}
