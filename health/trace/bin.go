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
	t          float64

	seen  int // means in a row before it, up to lags
	lastT float64
	lastV float64
	lastI [lags]float64 // the latest first
}

// farBins is how many seconds two means may lie apart to be compared.
const farBins = 35.0

func (b *binner) cut() { b.seen, b.n = 0, 0 }

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

// flush compares the mean that is complete with those before it.
func (b *binner) flush(c *cursor) {
	if b.n == 0 {
		return
	}
	v, i := b.sv/float64(b.n), b.si/float64(b.n)
	if c.stuck.see(c, b) || b.t-b.lastT > farBins {
		b.seen = 0
	}
	if b.seen == lags {
		var x [lags]float64
		newer := i
		for k, older := range b.lastI {
			x[k] = newer - older
			newer = older
		}
		c.st.ohms.add(&x, v-b.lastV)
	}
	copy(b.lastI[1:], b.lastI[:])
	b.lastT, b.lastV, b.lastI[0] = b.t, v, i
	b.seen = min(b.seen+1, lags)
	b.n = 0
}
