package trace

import "math"

// heldRow is a row that cannot be taken before the next one is seen.
type heldRow struct {
	t, v, i float64 // t is the file's own
	line    int64
	extra   []float64
	why     oddity
	more    []heldRow // further wild rows behind a wild one
}

// oddity is what is strange about a held row.
type oddity uint8

const (
	oddBack oddity = iota + 1 // its time lies before that of the last row
	oddGap                    // it lies far behind the last row
	oddWild                   // its values lie far from those of the last row
	oddJump                   // its current jumped, some time after the last row
)

// mostWild is how many wild rows in a row may be no measurement.
const mostWild = 3

// odd takes a row that is not simply the next one.
func (c *cursor) odd(b *batch, k int) {
	r := heldRow{t: b.t[k], v: b.v[k], i: b.i[k], line: b.lineOf(k)}
	if !(math.Abs(r.t) < mostSeconds && math.Abs(r.v) < mostValue && math.Abs(r.i) < mostValue) {
		c.seen.incomplete.at(r.line)
		return
	}
	r.extra = c.extraOf(b, k)
	if !c.started {
		c.line = r.line
		c.begin(r.t+c.offset, r.v, r.i, false)
		c.takeExtra(r.extra, 0)
		return
	}
	if c.lay.time.daily {
		if r.t+c.offset < c.pt-halfDayS {
			c.offset += daySeconds // past midnight
		}
	}
	if c.held != nil {
		c.resolve(&r)
		return
	}
	c.take(r)
}

// Beyond these a number is no measurement, and NaN is none either.
const (
	mostSeconds = 1e12
	mostValue   = 1e6 // V, A
)

// take takes a row unless it has to be held.
func (c *cursor) take(r heldRow) {
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
	case dt >= sparseRows && math.Abs(r.i-c.pi) >= c.stepOn && !c.meanCurrent:
		r.why = oddJump
	default:
		c.accept(&r)
		return
	}
	c.hold = r
	c.held = &c.hold
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
	h := *c.held
	c.held = nil
	switch h.why {
	case oddBack:
		if next == nil || next.t+c.offset > c.pt {
			c.seen.late.at(h.line)
			break
		}
		if next.t < h.t {
			c.seen.late.at(h.line)
			c.take(*next)
			return
		}
		c.cut(&h)
	case oddGap:
		if c.slept(&h, next) {
			c.seen.sleep(h.line, h.t+c.offset-c.pt)
			c.acceptJump(&h, next)
			break
		}
		if next != nil && next.t-h.t >= (h.t+c.offset-c.pt)/3 {
			c.usual = max(c.usual, h.t+c.offset-c.pt) // rows are this far apart from here on
			c.maxDt = max(c.maxDt, gapFactor*c.usual)
			c.accept(&h)
			break
		}
		c.gap(&h)
	case oddWild:
		if c.resolveWild(h, next) {
			return
		}
	case oddJump:
		c.acceptJump(&h, next)
	}
	if next != nil {
		c.take(*next)
	}
}

// resolveWild decides about a wild row, or a few of them; true says that next
// has been taken too.
func (c *cursor) resolveWild(h heldRow, next *heldRow) (done bool) {
	if next != nil && c.isSpike(&h, next) {
		c.seen.spike(c, &h)
		for k := range h.more {
			c.seen.spike(c, &h.more[k])
		}
		return false
	}
	if next != nil && len(h.more) < mostWild-1 && next.t > h.t && c.wild(next.v, next.i) && c.isSpike(&h, &heldRow{v: c.pv, i: c.pi}) {
		h.more = append(h.more, *next)
		c.hold = h
		c.held = &c.hold
		return true
	}
	if h.t+c.offset-c.pt > c.maxDt {
		c.gap(&h)
	} else {
		c.accept(&h)
	}
	for _, m := range h.more { // they were no stray values: the new normal
		if c.held != nil {
			c.resolve(&m)
		} else {
			c.take(m)
		}
	}
	if c.held != nil && next != nil {
		c.resolve(next)
		return true
	}
	return false
}

// wokeUp reports whether rows follow closely behind a jump that came some time
// after the last row: the logger slept until then.
func (c *cursor) wokeUp(h, next *heldRow) bool {
	if next == nil || math.Abs(h.i-c.pi) < c.stepOn {
		return false
	}
	before, after := h.t+c.offset-c.pt, next.t-h.t
	return after > 0 && after <= before/wakeFactor && math.Abs(next.i-h.i) <= jumpShare*math.Abs(h.i-c.pi)
}

// slept reports whether a time without rows was the sleep of a logger in a
// rest: it ended with a jump of the current, and the voltage at rest was known
// not long ago.
func (c *cursor) slept(h, next *heldRow) bool {
	return math.Abs(c.pi) < c.idleOff && h.t+c.offset-c.pt <= pauseS && c.wokeUp(h, next)
}

// acceptJump takes a row whose current jumped since a row some time ago. Where
// the logger woke up with the jump, it has only just happened. Else the later
// current is taken for all of the time.
func (c *cursor) acceptJump(h, next *heldRow) {
	if c.woke = c.wokeUp(h, next); c.woke {
		c.wokeFor = next.t - h.t
	}
	c.accept(h)
	c.woke = false
}

// wakeFactor is by how much rows must come closer behind a jump to show that
// the logger woke up with it.
const wakeFactor = 10.0

// isSpike reports whether the row behind the last one, and those like it, are
// single wild values: next is back where the last one was, and the voltage did
// not answer to the current or stood where no battery can be.
func (c *cursor) isSpike(h, next *heldRow) bool {
	if dv := math.Abs(h.v - c.pv); dv >= c.wildV {
		back := math.Abs(next.v-c.pv) < dv/2
		return back && (h.v <= 0.3*c.pv || h.v >= 1.5*c.pv || math.Abs(h.i-c.pi) < c.peakI/2)
	}
	di := math.Abs(h.i - c.pi)
	back := math.Abs(next.i-c.pi) < di/2
	answer := max(math.Abs(h.v-c.pv), math.Abs(next.v-c.pv))
	for _, m := range h.more {
		answer = max(answer, math.Abs(m.v-c.pv))
	}
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
	c.leg = c.offset
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
