package gpx

import (
	"encoding/binary"
	"iter"
)

// spool holds fixes packed as differences, some 12 bytes each instead of 40,
// in blocks that never move: a million points take 12 MB.
type spool struct {
	blocks [][]byte
	n      int
	last   fix
}

const (
	spoolBlock = 64 << 10
	mostPacked = 1 + 7*binary.MaxVarintLen64
)

// add appends f.
func (s *spool) add(f fix) {
	if k := len(s.blocks); k == 0 || cap(s.blocks[k-1])-len(s.blocks[k-1]) < mostPacked {
		s.blocks = append(s.blocks, make([]byte, 0, spoolBlock))
	}
	b := &s.blocks[len(s.blocks)-1]
	*b = append(*b, f.has)
	put := func(now, was int64) { *b = binary.AppendVarint(*b, now-was) }
	put(f.lat, s.last.lat)
	put(f.lon, s.last.lon)
	put(int64(f.line), int64(s.last.line))
	put(int64(f.segment), int64(s.last.segment))
	if f.has&hasTime != 0 {
		put(f.timeMs, s.last.timeMs)
	} else {
		f.timeMs = s.last.timeMs
	}
	if f.has&hasEle != 0 {
		put(int64(f.eleMm), int64(s.last.eleMm))
	} else {
		f.eleMm = s.last.eleMm
	}
	if f.has&hasSpeed != 0 {
		put(int64(f.speedMms), int64(s.last.speedMms))
	} else {
		f.speedMms = s.last.speedMms
	}
	s.last = f
	s.n++
}

// all gives the fixes in the order in which they were added. What a fix does
// not have is zero.
func (s *spool) all() iter.Seq[fix] {
	return func(yield func(fix) bool) {
		c := s.cursor()
		for c.next() {
			if !yield(c.fix()) {
				return
			}
		}
	}
}

// cursor reads a spool fix by fix.
type cursor struct {
	blocks [][]byte
	rest   []byte // of the block at hand
	last   fix
}

func (s *spool) cursor() *cursor { return &cursor{blocks: s.blocks} }

// next goes to the next fix, if there is one.
func (c *cursor) next() bool {
	if len(c.rest) == 0 {
		if len(c.blocks) == 0 {
			return false
		}
		c.rest, c.blocks = c.blocks[0], c.blocks[1:]
	}
	c.rest = unpack(c.rest, &c.last)
	return true
}

func (c *cursor) fix() fix {
	f := c.last
	f.mask()
	return f
}

// unpack reads one fix from b on top of the one before it and returns the rest.
func unpack(b []byte, f *fix) []byte {
	f.has = b[0]
	b = b[1:]
	next := func() int64 {
		d, n := binary.Varint(b)
		b = b[n:]
		return d
	}
	f.lat += next()
	f.lon += next()
	f.line += int32(next())
	f.segment += int32(next())
	if f.has&hasTime != 0 {
		f.timeMs += next()
	}
	if f.has&hasEle != 0 {
		f.eleMm += int32(next())
	}
	if f.has&hasSpeed != 0 {
		f.speedMms += int32(next())
	}
	return b
}

// mask clears what the fix does not have.
func (f *fix) mask() {
	if f.has&hasTime == 0 {
		f.timeMs = 0
	}
	if f.has&hasEle == 0 {
		f.eleMm = 0
	}
	if f.has&hasSpeed == 0 {
		f.speedMms = 0
	}
}
