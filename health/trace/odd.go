package trace

import "math"

// heldRow is a row that cannot be taken before the next one is seen.
type heldRow struct {
	t, v, i float64 // t is the file's own
	line    int64
	extra   []float64
	why     oddity
}

// oddity is what is strange about a held row.
type oddity uint8

const (
	oddBack oddity = iota + 1 // its time lies before that of the last row
	oddGap                    // it lies far behind the last row
	oddWild                   // its values lie far from those of the last row
)

// odd takes a row that is not simply the next one.
func (c *cursor) odd(b *batch, k int) error {
	r := heldRow{t: b.t[k], v: b.v[k], i: b.i[k], line: b.lineOf(k)}
	if !(math.Abs(r.t) < mostSeconds && math.Abs(r.v) < mostValue && math.Abs(r.i) < mostValue) {
		c.seen.incomplete.at(r.line)
		return nil
	}
	r.extra = c.extraOf(b, k)
	if !c.started {
		c.line = r.line
		c.begin(r.t+c.offset, r.v, r.i, false)
		c.takeExtra(r.extra, 0)
		return nil
	}
	if c.lay.time.daily {
		if r.t+c.offset < c.pt-halfDayS {
			c.offset += daySeconds // past midnight
		}
	}
	if c.held != nil {
		c.resolve(&r)
		return c.seen.orderly(c.rows)
	}
	c.take(&r)
	return nil
}

// Beyond these a number is no measurement, and NaN is none either.
const (
	mostSeconds = 1e12
	mostValue   = 1e6 // V, A
)

// take takes a row unless it has to be held.
func (c *cursor) take(r *heldRow) {
	t := r.t + c.offset
	dt := t - c.pt
	switch {
	case dt == 0 && r.v == c.pv && r.i == c.pi:
		c.seen.repeated.at(r.line)
		return
	case dt < 0:
		r.why = oddBack
	case c.wild(r.v, r.i):
		r.why = oddWild
	case dt > c.maxDt:
		r.why = oddGap
	default:
		c.accept(r)
		return
	}
	c.held = r
}

// accept takes a row as the next one.
func (c *cursor) accept(r *heldRow) {
	dt := r.t + c.offset - c.pt
	c.line = r.line
	c.step(r.t+c.offset, r.v, r.i)
	c.takeExtra(r.extra, dt)
}

// wild reports whether a row lies so far from the last one that it may be no
// measurement.
func (c *cursor) wild(v, i float64) bool {
	return !(math.Abs(v-c.pv) < c.wildV && math.Abs(i-c.pi) < c.wildI)
}

// resolve decides about the held row by the one behind it, nil at the end of
// the file, and takes that too.
func (c *cursor) resolve(next *heldRow) {
	h := c.held
	c.held = nil
	switch h.why {
	case oddBack:
		if next != nil && next.t+c.offset > c.pt || next == nil {
			c.seen.late.at(h.line)
			break
		}
		if next.t < h.t {
			c.seen.late.at(h.line)
			next.why = oddBack
			c.held = next
			return
		}
		c.cut(h)
	case oddGap:
		if next != nil && next.t-h.t >= (h.t+c.offset-c.pt)/3 {
			c.usual = max(c.usual, h.t+c.offset-c.pt) // rows are this far apart from here on
			c.maxDt = max(c.maxDt, gapFactor*c.usual)
			c.accept(h)
			break
		}
		c.gap(h)
	case oddWild:
		if next != nil && c.isSpike(h, next) {
			c.seen.spike(c, h)
			break
		}
		if h.t+c.offset-c.pt > c.maxDt {
			c.gap(h)
			break
		}
		c.accept(h)
	}
	if next != nil {
		c.take(next)
	}
}

// isSpike reports whether the row between the last one and next is a single
// wild value: the next one is back where the last one was, and the voltage did
// not answer to the current or stood where no battery can be.
func (c *cursor) isSpike(h, next *heldRow) bool {
	if dv := math.Abs(h.v - c.pv); dv >= c.wildV {
		back := math.Abs(next.v-c.pv) < dv/2
		return back && (h.v <= 0.3*c.pv || h.v >= 1.5*c.pv || math.Abs(h.i-c.pi) < c.peakI/2)
	}
	di := math.Abs(h.i - c.pi)
	back := math.Abs(next.i-c.pi) < di/2
	answer := max(math.Abs(h.v-c.pv), math.Abs(next.v-c.pv))
	return back && answer < answerVolts*math.Abs(c.pv)
}

// answerVolts is the least share of the voltage by which a pack answers to a
// current several times as high as any before.
const answerVolts = 0.005

// cut goes on behind a time that jumps back: nothing is counted across it.
func (c *cursor) cut(h *heldRow) {
	back := c.pt - (h.t + c.offset)
	c.seen.jump(c, h, back)
	c.close()
	c.offset += back
	c.leg++
	c.legs = append(c.legs, leg{c.offset})
	c.line = h.line
	c.begin(h.t+c.offset, h.v, h.i, c.lay.time.absolute && back > pauseS)
	c.takeExtra(h.extra, 0)
}

// gap goes on behind a time without rows. A short one is bridged by a straight
// line and counted; over a long one nothing is counted, and what a straight
// line would bring is kept to be said.
func (c *cursor) gap(h *heldRow) {
	t := h.t + c.offset
	dt := t - c.pt
	if dt <= bridgeS {
		c.seen.bridge(h.line, dt, 0.5*(c.pi+h.i)*dt)
		c.accept(h)
		return
	}
	unseen := 0.5 * (c.pi + h.i) * dt
	c.seen.gap(c, h, dt, unseen)
	apart := c.seen.unseenCharge(c, h) || dt > pauseS && (c.class != 0 || c.classOf(h.i) != 0)
	c.close()
	c.st.t1 = c.pt
	c.line = h.line
	c.begin(t, h.v, h.i, apart)
	if !apart {
		c.st.gapS += dt
		c.st.gapAs += math.Abs(unseen)
		c.st.gaps++
	}
	c.takeExtra(h.extra, 0)
}
