package store

import (
	"os"
)

// pageMap says which pages of a damaged file the store uses, as far as that
// can be told.
type pageMap struct {
	size    int64 // of a page
	high    uint64
	reached []uint64 // one bit a page: the tree leads to it; nil where the heads are damaged
	free    []uint64 // one bit a page: the free list names it; nil where it is damaged
	settled bool     // heads and free list are whole
}

// used says whether the store uses page p. A page of which that is not known
// counts as used.
func (m *pageMap) used(p uint64) bool {
	if m.reached == nil {
		return true
	}
	if p >= m.high {
		return false
	}
	has := func(bits []uint64) bool { return bits != nil && bits[p/64]&(1<<(p%64)) != 0 }
	return has(m.reached) || !has(m.free)
}

// mapPages reads the heads, the tree as far as it goes, and the free list.
func mapPages(f *os.File, size int64) pageMap {
	h, pageSize, ok := salvageHeader(f, size)
	m := pageMap{size: pageSize}
	if pages := uint64(size / pageSize); ok && h.high >= 4 && pages >= 4 {
		h.high = min(h.high, pages)
		m.high = h.high
		w := newWalker(f, h)
		w.root(h.root) // a fault ends it; what was met before it counts
		m.reached = w.seen
		w = newWalker(f, h)
		if h.freelist != noFreelist && w.free(h.freelist) == nil {
			m.free, m.settled = w.seen, true
		}
	}
	return m
}

// salvageHeader returns the newer header where both are whole, and the size of
// a page as they say or as fits most of the file.
func salvageHeader(f *os.File, size int64) (h header, pageSize int64, ok bool) {
	read := func(at int64) (header, bool) {
		b := make([]byte, pageHeader+64)
		n, _ := f.ReadAt(b, at)
		h, _, ok := parseHeader(b[:n])
		return h, ok
	}
	h0, ok0 := read(0)
	pageSize = int64(h0.pageSize)
	if !ok0 || pageSize < 1024 || pageSize > 1<<16 || pageSize&(pageSize-1) != 0 {
		pageSize = guessPageSize(f, size)
	}
	h1, ok1 := read(pageSize)
	if !ok0 || !ok1 || h0.pageSize != h1.pageSize {
		return header{}, pageSize, false
	}
	if h0.txid > h1.txid {
		return h0, pageSize, true
	}
	return h1, pageSize, true
}

// guessPageSize returns the size at which most pages carry their own number.
func guessPageSize(f *os.File, size int64) int64 {
	best, most := int64(os.Getpagesize()), 0
	for s := int64(1024); s <= 1<<16; s *= 2 {
		fits := 0
		for p := int64(2); p < min(size/s, 200); p++ {
			var b [8]byte
			if _, err := f.ReadAt(b[:], p*s); err == nil && native.Uint64(b[:]) == uint64(p) {
				fits++
			}
		}
		if fits > most {
			best, most = s, fits
		}
	}
	return best
}
