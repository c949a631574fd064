package store

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"io"
	"iter"
	"os"
	"slices"
)

// sorter sorts pairs of a key and a value by key, pairs of one key in the
// order in which they came. What does not fit in memory goes to a temporary
// file in sorted runs, which all merges.
type sorter struct {
	sparing
	near  string // see heap
	n     int
	arena []byte
	pairs []pair
	file  *os.File
	runs  []int64 // where each run ends in the file
	w     *bufio.Writer
}

// pair stands in the arena: key, then value. The prefix is the beginning of
// the key; it settles most comparisons.
type pair struct {
	prefix   uint64
	at       uint32
	key, len uint32 // lengths of the key and of both
}

func (s *sorter) add(key, value []byte) error {
	if len(s.arena)+len(key)+len(value) > s.memory() && len(s.pairs) > 0 {
		if err := s.spill(); err != nil {
			return err
		}
	}
	s.n++
	at := len(s.arena)
	s.arena = append(append(room(s.arena, len(key)+len(value)), key...), value...)
	s.pairs = append(room(s.pairs, 1), pair{prefixOf(key), uint32(at), uint32(len(key)), uint32(len(key) + len(value))})
	return nil
}

func prefixOf(key []byte) uint64 {
	if len(key) >= 8 {
		return binary.BigEndian.Uint64(key)
	}
	var b [8]byte
	copy(b[:], key)
	return binary.BigEndian.Uint64(b[:])
}

func (s *sorter) key(p pair) []byte   { return s.arena[p.at : p.at+p.key] }
func (s *sorter) value(p pair) []byte { return s.arena[p.at+p.key : p.at+p.len] }

func (s *sorter) sort() {
	slices.SortFunc(s.pairs, func(a, b pair) int {
		if a.prefix != b.prefix {
			if a.prefix < b.prefix {
				return -1
			}
			return 1
		}
		if c := bytes.Compare(s.key(a), s.key(b)); c != 0 {
			return c
		}
		return int(int64(a.at) - int64(b.at))
	})
}

// spill writes what is in memory as one sorted run.
func (s *sorter) spill() error {
	if s.file == nil {
		f, err := spillFile(s.near)
		if err != nil {
			return err
		}
		s.file, s.w = f, bufio.NewWriterSize(f, s.buffer())
	}
	s.sort()
	end := int64(0)
	if len(s.runs) > 0 {
		end = s.runs[len(s.runs)-1]
	}
	var head []byte
	for _, p := range s.pairs {
		head = binary.AppendUvarint(binary.AppendUvarint(head[:0], uint64(p.key)), uint64(p.len))
		s.w.Write(head)
		if _, err := s.w.Write(s.arena[p.at : p.at+p.len]); err != nil {
			return err
		}
		end += int64(len(head)) + int64(p.len)
	}
	s.runs = append(s.runs, end)
	s.arena, s.pairs = s.arena[:0], s.pairs[:0]
	return s.w.Flush()
}

// all gives the pairs in order, as often as it is called. Nothing may be added
// after the first call. The slices live until the next pair.
func (s *sorter) all() iter.Seq2[sorted, error] {
	return func(yield func(sorted, error) bool) {
		s.sort()
		if len(s.runs) == 0 {
			for _, p := range s.pairs {
				if !yield(sorted{s.key(p), s.value(p)}, nil) {
					return
				}
			}
			return
		}
		s.merge(yield)
	}
}

// sorted is a pair as it comes out.
type sorted struct{ key, value []byte }

func (s *sorter) merge(yield func(sorted, error) bool) {
	sources := make([]*run, 0, len(s.runs)+1)
	start := int64(0)
	for i, end := range s.runs {
		r := &run{order: i, in: bufio.NewReaderSize(io.NewSectionReader(s.file, start, end-start), s.buffer()/2)}
		sources, start = append(sources, r), end
	}
	sources = append(sources, &run{order: len(s.runs), mem: s, left: s.pairs})
	live := sources[:0]
	for _, r := range sources {
		ok, err := r.next()
		if err != nil {
			yield(sorted{}, err)
			return
		}
		if ok {
			live = append(live, r)
		}
	}
	for len(live) > 0 {
		least := 0
		for i := 1; i < len(live); i++ {
			if live[i].before(live[least]) {
				least = i
			}
		}
		r := live[least]
		if !yield(r.pair, nil) {
			return
		}
		ok, err := r.next()
		if err != nil {
			yield(sorted{}, err)
			return
		}
		if !ok {
			live = slices.Delete(live, least, least+1)
		}
	}
}

// run is one sorted source of a merge: a part of the file, or the memory.
type run struct {
	order  int
	in     *bufio.Reader
	mem    *sorter
	left   []pair
	pair   sorted
	prefix uint64
	buf    []byte
}

func (r *run) next() (bool, error) {
	if r.mem != nil {
		if len(r.left) == 0 {
			return false, nil
		}
		p := r.left[0]
		r.left = r.left[1:]
		r.pair, r.prefix = sorted{r.mem.key(p), r.mem.value(p)}, p.prefix
		return true, nil
	}
	key, err := binary.ReadUvarint(r.in)
	if err == io.EOF {
		return false, nil
	}
	var both uint64
	if err == nil {
		both, err = binary.ReadUvarint(r.in)
	}
	if err != nil {
		return false, err
	}
	if uint64(cap(r.buf)) < both {
		r.buf = make([]byte, both, 2*both)
	}
	r.buf = r.buf[:both]
	if _, err := io.ReadFull(r.in, r.buf); err != nil {
		return false, err
	}
	r.pair, r.prefix = sorted{r.buf[:key], r.buf[key:]}, prefixOf(r.buf[:key])
	return true, nil
}

func (r *run) before(o *run) bool {
	if r.prefix != o.prefix {
		return r.prefix < o.prefix
	}
	if c := bytes.Compare(r.pair.key, o.pair.key); c != 0 {
		return c < 0
	}
	return r.order < o.order
}

// close removes the file and lets the memory go. The sorter is empty then.
func (s *sorter) close() {
	closeSpill(s.file)
	*s = sorter{near: s.near, sparing: s.sparing}
}
