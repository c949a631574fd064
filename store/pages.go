package store

import (
	"encoding/binary"
	"hash/fnv"
	"io"
	"os"
)

// This file reads the page structure of a bbolt file (its version 2) by
// itself, before bbolt follows it. bbolt trusts its pages: a branch that leads
// back to itself overflows the stack, which no recover can catch, and a free
// list that names a page in use lets the next write destroy it. Only headers,
// branches and the free list are read, about one page in seventy.

const (
	pageHeader  = 16
	branchFlag  = 0x01
	leafFlag    = 0x02
	freeFlag    = 0x10
	bucketFlag  = 0x01
	boltMagic   = 0xED0CDAED
	boltVersion = 2
	maxDepth    = 40
	noFreelist  = ^uint64(0)
)

var native = binary.NativeEndian // bbolt writes in the order of the machine

// header is one of the two alternating head pages.
type header struct {
	pageSize             uint32
	root, freelist, high uint64 // page numbers; high is the first never used
	txid                 uint64
}

func parseHeader(page []byte) (h header, magic, ok bool) {
	if len(page) < pageHeader+64 {
		return h, false, false
	}
	m := page[pageHeader:]
	magic = native.Uint32(m) == boltMagic
	sum := fnv.New64a()
	sum.Write(m[:56])
	ok = magic && native.Uint32(m[4:]) == boltVersion && native.Uint64(m[56:]) == sum.Sum64()
	h = header{native.Uint32(m[8:]), native.Uint64(m[16:]), native.Uint64(m[32:]), native.Uint64(m[40:]), native.Uint64(m[48:])}
	return h, magic, ok
}

// walker follows the pages of a file and marks each that it has met.
type walker struct {
	f    *os.File
	size int64 // of a page
	high uint64
	seen []uint64 // one bit a page
	leaf []uint64 // one bit a page: the first page of a leaf
}

func newWalker(f *os.File, h header) *walker {
	w := &walker{f: f, size: int64(h.pageSize), high: h.high, seen: make([]uint64, h.high/64+1), leaf: make([]uint64, h.high/64+1)}
	w.mark(0)
	w.mark(1)
	return w
}

// checkPages checks that the file is a bbolt file whose pages are each used
// once or free. The error is ErrNotStore or damage.
func checkPages(f *os.File, path string) error {
	h, err := readHeaders(f, path)
	if err != nil {
		return err
	}
	w := newWalker(f, h)
	if err := w.root(h.root); err != nil {
		return err
	}
	if h.freelist != noFreelist {
		if err := w.free(h.freelist); err != nil {
			return err
		}
		return w.gaps()
	}
	return nil
}

// readHeaders returns the newer header. Both must be whole: where one is not,
// nobody can tell whether it was the newer one.
func readHeaders(f *os.File, path string) (header, error) {
	info, err := f.Stat()
	if err != nil {
		return header{}, err
	}
	first := make([]byte, 4096)
	n, err := f.ReadAt(first, 0)
	if err != nil && err != io.EOF {
		return header{}, err
	}
	h0, magic0, ok0 := parseHeader(first[:n])
	size := int64(h0.pageSize)
	if !ok0 || size < 1024 || size > 1<<24 || size&(size-1) != 0 {
		size = int64(os.Getpagesize())
	}
	second := make([]byte, pageHeader+64)
	n, err = f.ReadAt(second, size)
	if err != nil && err != io.EOF {
		return header{}, err
	}
	h1, magic1, ok1 := parseHeader(second[:n])
	if !magic0 && !magic1 {
		return header{}, tell(ErrNotStore, "%s is not a packwane store: name another file with --store, or move this one away to begin anew", path)
	}
	if !ok0 || !ok1 || h0.pageSize != h1.pageSize {
		return header{}, damaged("its head is damaged")
	}
	h := h1
	if h0.txid > h1.txid {
		h = h0
	}
	if h.high < 4 || h.high > uint64(info.Size()/size) {
		return header{}, damaged("cut short: %d bytes of %d", info.Size(), int64(h.high)*size)
	}
	return h, nil
}

func (w *walker) has(bits []uint64, p uint64) bool { return bits[p/64]&(1<<(p%64)) != 0 }
func (w *walker) mark(p uint64)                    { w.seen[p/64] |= 1 << (p % 64) }

// claim marks count pages from p on; each must be within the file and new.
func (w *walker) claim(p, count uint64) error {
	if p < 2 || p >= w.high || count > w.high-p {
		return damaged("page %d is out of bounds", p)
	}
	for i := p; i < p+count; i++ {
		if w.has(w.seen, i) {
			return damaged("page %d is used twice", i)
		}
		w.mark(i)
	}
	return nil
}

// pageHead is the beginning of a page.
type pageHead struct {
	flags    uint16
	count    int
	overflow uint64 // pages that it goes on for
}

func (w *walker) head(p uint64) (pageHead, error) {
	var b [pageHeader]byte
	if p < 2 || p >= w.high {
		return pageHead{}, damaged("page %d is out of bounds", p)
	}
	if _, err := w.f.ReadAt(b[:], int64(p)*w.size); err != nil {
		return pageHead{}, err
	}
	h := pageHead{native.Uint16(b[8:]), int(native.Uint16(b[10:])), uint64(native.Uint32(b[12:]))}
	if native.Uint64(b[:]) != p {
		return h, damaged("page %d says it is another", p)
	}
	return h, nil
}

// whole reads a page with all that it goes on for, and claims it.
func (w *walker) whole(p uint64, h pageHead) ([]byte, error) {
	if err := w.claim(p, 1+h.overflow); err != nil {
		return nil, err
	}
	b := make([]byte, int64(1+h.overflow)*w.size)
	_, err := w.f.ReadAt(b, int64(p)*w.size)
	return b, err
}

// cut returns b[from:from+n] after a look at the bounds.
func cut(b []byte, from, n uint64) ([]byte, error) {
	if from > uint64(len(b)) || n > uint64(len(b))-from {
		return nil, damaged("a page leads beyond itself")
	}
	return b[from : from+n], nil
}
