package trace

import "math"

// binner makes 10 s means of windows. From one to the next the voltage answers
// to the current with the resistance that a pulse of about 10 s shows, while
// the charge level hardly moves.
type binner struct {
	index      float64
	n          int
	sv, si     float64
	minV, maxV float64
	minI, maxI float64
	last       bool // there is one before it
	lastT      float64
	lastV      float64
	lastI      float64
	t          float64
}

// farBins is how many seconds two means may lie apart to be compared.
const farBins = 35.0

func (b *binner) cut() { b.last, b.n = false, 0 }

func (b *binner) add(c *cursor, w *window) {
	if index := math.Floor(c.pt / windowS); index != b.index || b.n == 0 {
		b.flush(c)
		b.index = index
		b.sv, b.si = 0, 0
		b.minV, b.maxV = math.Inf(1), math.Inf(-1)
		b.minI, b.maxI = math.Inf(1), math.Inf(-1)
	}
	b.n += w.rows
	b.sv += w.sv
	b.si += w.si
	b.minV, b.maxV = min(b.minV, w.minV), max(b.maxV, w.maxV)
	b.minI, b.maxI = min(b.minI, w.minI), max(b.maxI, w.maxI)
	b.t = c.pt
}

// flush compares the mean that is complete with the one before it.
func (b *binner) flush(c *cursor) {
	if b.n == 0 {
		return
	}
	v, i := b.sv/float64(b.n), b.si/float64(b.n)
	still := c.stuck.see(c, b)
	if b.last && b.t-b.lastT <= farBins && !still {
		c.st.ohms.add(i-b.lastI, v-b.lastV)
	}
	b.last, b.lastT, b.lastV, b.lastI = !still, b.t, v, i
	b.n = 0
}
