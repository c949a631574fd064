package store

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
	"slices"
)

// memoryLimit is how many bytes a heap or a sorter keeps in memory before it
// turns to a temporary file.
var memoryLimit = 16 << 20

// sparing has an action keep little in memory: it turns to temporary files and
// to a new file of the store sooner, and goes there in smaller steps.
type sparing bool

// memory is memoryLimit, or less.
func (s sparing) memory() int {
	if s {
		return min(memoryLimit, 1<<20)
	}
	return memoryLimit
}

// bulk is how many operations go into one transaction of the store as it is.
func (s sparing) bulk() int {
	if s {
		return min(bulk, 4_000)
	}
	return bulk
}

// step limits one transaction of a new file.
func (s sparing) step() (puts, bytes int) {
	if s {
		return 4_000, 2 << 20
	}
	return 20_000, 16 << 20
}

// batch is how many bytes of entries are made at a time.
func (s sparing) batch() int {
	if s {
		return 64 << 10
	}
	return 512 << 10
}

// buffer is how much is read from or written to a temporary file at once.
func (s sparing) buffer() int {
	if s {
		return 32 << 10
	}
	return 256 << 10
}

// ref is where something stands in a heap.
type ref struct {
	at  int64
	len int
}

// heap keeps byte strings in the order in which they come: the first in
// memory, the rest in a temporary file.
type heap struct {
	sparing
	near string // path of the store: temporary files stand beside it
	mem  []byte
	file *os.File
	w    *bufio.Writer
	size int64 // of both
	dirt bool  // w holds what the file does not
	buf  []byte
}

func (h *heap) append(b []byte) (ref, error) {
	at := ref{h.size, len(b)}
	h.size += int64(len(b))
	if h.file == nil && len(h.mem)+len(b) <= h.memory() {
		h.mem = append(room(h.mem, len(b)), b...)
		return at, nil
	}
	if h.file == nil {
		f, err := spillFile(h.near)
		if err != nil {
			return ref{}, err
		}
		h.file, h.w = f, bufio.NewWriterSize(f, h.buffer())
	}
	h.dirt = true
	_, err := h.w.Write(b)
	return at, err
}

// room returns b with room for n bytes more, four times as much where it has to
// grow: a large slice is dear to move.
func room[T any](b []T, n int) []T {
	if len(b)+n <= cap(b) {
		return b
	}
	return slices.Grow(b, 3*len(b)+n)
}

// read returns what stands at r; it lives until the next read, and must not be
// changed.
func (h *heap) read(r ref) ([]byte, error) {
	if r.len == 0 {
		return nil, nil
	}
	if r.at < int64(len(h.mem)) {
		return h.mem[r.at : r.at+int64(r.len)], nil
	}
	if h.dirt {
		if err := h.w.Flush(); err != nil {
			return nil, err
		}
		h.dirt = false
	}
	if cap(h.buf) < r.len {
		h.buf = make([]byte, r.len, 2*r.len)
	}
	h.buf = h.buf[:r.len]
	_, err := h.file.ReadAt(h.buf, r.at-int64(len(h.mem)))
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return h.buf, err
}

func (h *heap) close() { closeSpill(h.file) }

// spillFile makes a temporary file that nobody else can name where the system
// allows that; closeSpill removes it where it does not. Its first name is one
// that gate.sweep removes, should the program be killed in between.
func spillFile(near string) (*os.File, error) {
	f, err := os.CreateTemp(existingFolder(near), filepath.Base(near)+freshMark+"*")
	if err != nil {
		return nil, err
	}
	os.Remove(f.Name())
	return f, nil
}

func closeSpill(f *os.File) {
	if f != nil {
		f.Close()
		os.Remove(f.Name())
	}
}
