package trace

import (
	"encoding/binary"
	"iter"
	"math"
)

// piece is what is left of a segment once it is over. A file may hold any
// number of them, so they do not stay in memory (see spool), and times and Ah
// are made of them when they are asked for. Its figures have the file's sign.
type piece struct {
	kind  SegmentKind
	apart bool // time is missing before it
	empty bool // it has no row of its own
	moved bool // there was a speed

	row0, row1 int64
	t0, t1     float64
	leg0, leg1 float64

	pos, neg, posE, negE float64 // As, J
	minV, maxV           float64
	minI, maxI           float64
	firstV, endV, endI   float64
	lateV                float64 // lowest of its last minute or two
	spacingAs, gapAs     float64

	km, movingS, speedS, speedSq float64
	odoLast, odoKm               float64 // NaN where there is none
	tempC, airC                  float64 // NaN where unknown
	ohms, ohmsError              float64 // of a ride, by regression; NaN where it tells none

	groupV []float64
}

func newPiece(kind SegmentKind, s *span, apart bool) piece {
	p := piece{
		kind: kind, apart: apart, empty: s.rows == 0, moved: s.way.seen,
		row0: s.row0, row1: s.row1, t0: s.t0, t1: s.t1, leg0: s.leg0, leg1: s.leg1,
		pos: s.pos.value(), neg: s.neg.value(), posE: s.posE.value(), negE: s.negE.value(),
		minV: s.minV, maxV: s.maxV, minI: s.minI, maxI: s.maxI, firstV: s.firstV, endV: s.endV, endI: s.endI,
		lateV: s.late.lowest(), spacingAs: s.spacing.ampereSeconds(), gapAs: s.gapAs,
		km: s.way.km.value(), movingS: s.way.movingS, speedS: s.way.speedS, speedSq: s.way.speedSq,
		odoLast: s.way.odoLast, odoKm: s.way.odoLast - s.way.odoFirst,
		tempC: s.temp.orNaN(), airC: s.air.orNaN(), ohms: math.NaN(), ohmsError: math.NaN(), groupV: s.groupV,
	}
	if kind == Riding {
		if ohms, err, ok := s.ohms.ohms(); ok {
			p.ohms, p.ohmsError = ohms, err
		}
	}
	return p
}

func (p *piece) seconds() float64 { return p.t1 - p.t0 }

// numbers lists the figures in the order in which they are kept.
func (p *piece) numbers() [28]*float64 {
	return [...]*float64{
		&p.t0, &p.t1, &p.leg0, &p.leg1, &p.pos, &p.neg, &p.posE, &p.negE, &p.minV, &p.maxV, &p.minI, &p.maxI, &p.firstV, &p.endV, &p.endI,
		&p.lateV, &p.spacingAs, &p.gapAs, &p.km, &p.movingS, &p.speedS, &p.speedSq, &p.odoLast, &p.odoKm, &p.tempC, &p.airC, &p.ohms, &p.ohmsError,
	}
}

// append writes the piece behind b.
func (p *piece) append(b []byte) []byte {
	flags := byte(p.kind)
	for bit, yes := range [...]bool{p.apart, p.empty, p.moved} {
		if yes {
			flags |= 4 << bit
		}
	}
	b = append(b, flags)
	b = binary.AppendVarint(binary.AppendVarint(b, p.row0), p.row1)
	for _, f := range p.numbers() {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(*f))
	}
	for _, v := range p.groupV {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return b
}

// read takes what append wrote.
func (p *piece) read(b []byte) {
	flags := b[0]
	p.kind, p.apart, p.empty, p.moved = SegmentKind(flags&3), flags&4 != 0, flags&8 != 0, flags&16 != 0
	b = b[1:]
	for _, row := range [...]*int64{&p.row0, &p.row1} {
		n, width := binary.Varint(b)
		*row, b = n, b[width:]
	}
	number := func() float64 {
		v := math.Float64frombits(binary.LittleEndian.Uint64(b))
		b = b[8:]
		return v
	}
	for _, f := range p.numbers() {
		*f = number()
	}
	for p.groupV = p.groupV[:0]; len(b) > 0; {
		p.groupV = append(p.groupV, number())
	}
}

// pieces takes segments as they end: it adds up what is told of all of them
// and keeps each for later.
type pieces struct {
	log   spool
	buf   []byte
	n     int64
	t0    float64 // of the first
	t1    float64 // of the last
	maxAs float64 // As of one piece, in one direction

	pos, neg, posE, negE sum
	maxV                 float64
	power                *powerBins // of rides and rests; nil where there is no speed
}

func newPieces(open func() (Spill, error)) *pieces {
	return &pieces{log: spool{open: open}, maxV: math.Inf(-1)}
}

func (a *pieces) add(kind SegmentKind, s *span, apart bool) {
	if a.n++; a.n == 1 {
		a.t0 = s.t0
	}
	a.t1 = s.t1
	a.pos.join(s.pos)
	a.neg.join(s.neg)
	a.posE.join(s.posE)
	a.negE.join(s.negE)
	a.maxV = max(a.maxV, s.maxV)
	if s.power != nil && kind != Charging {
		if a.power == nil {
			a.power = new(powerBins)
		}
		a.power.join(s.power)
	}
	p := newPiece(kind, s, apart)
	a.maxAs = max(a.maxAs, p.pos, p.neg)
	a.buf = p.append(a.buf[:0])
	a.log.add(a.buf)
}

// place is a piece between its neighbours.
type place struct {
	n                 int64  // counted from 0
	before, at, after *piece // nil where there is none
}

// all gives the pieces in their order. A place is good until the next one.
func (a *pieces) all() iter.Seq2[place, error] {
	return func(yield func(place, error) bool) {
		var ring [3]piece // before, at and after in turn
		n := int64(0)     // read so far
		placeOf := func(k, read int64) place {
			w := place{n: k, at: &ring[k%3]}
			if k > 0 {
				w.before = &ring[(k-1)%3]
			}
			if k+1 < read {
				w.after = &ring[(k+1)%3]
			}
			return w
		}
		for b, err := range a.log.all() {
			if err != nil {
				yield(place{}, err)
				return
			}
			ring[n%3].read(b)
			if n++; n > 1 && !yield(placeOf(n-2, n), nil) {
				return
			}
		}
		if n > 0 {
			yield(placeOf(n-1, n), nil)
		}
	}
}
