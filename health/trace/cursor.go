package trace

import (
	"math"
)

// cursor walks over the rows in the order of the file. It keeps the last row
// that was taken, the window and the stretch that are under way, and at most
// one row whose meaning only the next one shows.
type cursor struct {
	lay  *layout
	out  sink
	seen findings

	// What is small and what is large for this pack.
	idleOn, idleOff float64 // A: current begins, ends
	stepOn          float64 // A: a jump
	stepNow         float64 // stepOn, or less than nothing where the next row has to be looked at
	meanCurrent     bool
	grainV          float64 // V: the last decimal of the file

	started         bool
	pt, pv, pi, pdi float64 // the last row; the change of current that led to it
	line            int64   // its line
	offset          float64 // from the file's time to running time
	leg             float64 // the same as of the last jump back: days that roll over left out
	lo, hi          float64 // currents of the class
	class           int8

	usual, leastUsual float64 // s between rows
	maxDt             float64
	near              float64 // maxDt or less: see aim
	wildV, wildI      float64
	peakI             float64
	held              *heldRow
	hold              heldRow // what held points to
	woke              bool    // the row is the first one behind a sleep, the next one wokeFor s behind it
	wokeFor           float64

	w          window
	windowRows int
	windows    int
	st         span
	thin       thinner
	bin        binner
	steps      steps
	fast       fit // volts on amperes over single jumps
	stuck      stuck

	extras bool
	slots  extraSlots
	speed  float64 // of the last row, NaN where unknown
	temp   float64
	groups []float64
	counts []*counting
	coarse coarse
	rows   int64
}

// sink takes stretches in their order.
type sink interface{ stretch(*span) }

// Limits of what an interval between two rows may be before it is looked at
// twice.
const (
	gapFactor   = 5.0  // times the usual spacing
	leastGapS   = 2.0  // no interval below it is a gap
	bridgeS     = 10.0 // gaps up to it are bridged by a straight line, and counted
	pauseS      = 600.0
	wildFactor  = 4.0 // times the highest current so far
	wildVolts   = 0.2 // of the voltage, from one row to the next
	halfDayS    = daySeconds / 2
	outOfOrder  = 0.02 // share of rows in the wrong order that a file may have
	orderChance = 5    // such rows that any file may have
)

// consume takes the rows of one batch.
func (c *cursor) consume(b *batch) error {
	c.seen.batch(b)
	if !c.coarse.on {
		c.coarse.look(b)
	}
	if c.coarse.on {
		c.coarse.spread(b.t)
	}
	c.count(b)
	c.aim()
	for k := range b.t {
		t, v, i := b.t[k]+c.offset, b.v[k], b.i[k]
		dt, dv, di := t-c.pt, v-c.pv, i-c.pi
		switch {
		case dt > 0 && dt <= c.near && i > c.lo && i < c.hi && di < c.stepNow && di > -c.stepNow && t < c.w.end &&
			dv < c.wildV && dv > -c.wildV && (c.class != 0 || c.pi*i >= 0) && c.w.rows < c.windowRows:
			// What step does, for nine of ten rows of a usual file.
			q, e := 0.5*(c.pi+i)*dt, 0.5*(c.pv*c.pi+v*i)*dt
			if c.class != 0 {
				c.w.q += q
				c.w.e += e
			} else {
				c.w.flow.add(q, e)
			}
			c.w.spacing.bend(di, c.pdi, dt)
			c.w.see(v, i, dt)
			c.pt, c.pv, c.pi, c.pdi = t, v, i, di
		case !(dt > 0 && dt <= c.maxDt && dv < c.wildV && dv > -c.wildV && di < c.wildI && di > -c.wildI) ||
			c.held != nil || dt >= sparseRows && (di >= c.stepOn || di <= -c.stepOn):
			c.odd(b, k)
			c.aim()
			continue
		default:
			c.line = b.lineOf(k)
			c.step(t, v, i)
			c.aim()
		}
		if c.extras {
			c.extra(b, k, dt)
		}
	}
	if n := len(b.t); n > 0 {
		c.line = b.lineOf(n - 1)
		c.keepGroups(b, n-1)
	}
	c.rows += int64(b.rows)
	return c.seen.orderly(c.rows)
}

// aim sets how soon a row must follow for nothing to be special about it.
func (c *cursor) aim() {
	if c.near = min(c.maxDt, closeRows); !c.started || c.held != nil || c.meanCurrent {
		c.near = 0
	}
}

// closeRows is just below sparseRows.
const closeRows = sparseRows - 1e-9

// begin takes the first row of the file, or one from which on nothing is known
// of the time before it. apart says that nothing before it goes on.
func (c *cursor) begin(t, v, i float64, apart bool) {
	if !c.started {
		c.setClass(0)
		c.setClass(c.classOf(i))
		c.st = newSpan(c.class, t, c.leg, c.line)
		c.started = true
	} else {
		c.close()
		if class := c.classOf(i); apart || class != c.class {
			c.endStretch()
			c.st = newSpan(class, t, c.leg, c.line)
			c.st.apart = apart
			c.setClass(class)
		}
	}
	c.pt, c.pv, c.pi, c.pdi = t, v, i, 0
	c.wildV = wildVolts * math.Abs(v)
	c.steps.cut(t)
	c.bin.cut()
	c.openWindow(t)
	c.w.see(v, i, 0)
	c.speed = math.NaN()
}

// step takes a row the general way: it may end a window or a stretch, lie far
// behind the last one, or jump.
func (c *cursor) step(t, v, i float64) {
	dt, di := t-c.pt, i-c.pi
	var f flow
	how := ruleLine
	switch {
	case dt == 0:
	case dt >= sparseRows || c.meanCurrent:
		f, how = c.sparse(dt, v, i)
	case c.pi*i < 0:
		f = crossing(dt, c.pv, c.pi, v, i)
	default:
		f.add(0.5*(c.pi+i)*dt, 0.5*(c.pv*c.pi+v*i)*dt)
	}
	if t >= c.w.end || c.w.rows >= c.windowRows {
		c.close()
	}
	if class := c.classOf(i); class != c.class {
		at := c.pt
		switch {
		case how == ruleEarlier:
			at = t - min(c.wokeFor, dt)
		case how != ruleLater && dt < sparseRows:
			at += dt / 2
		}
		old := c.class
		if old != 0 {
			c.w.flow.part(f, old > 0)
		}
		c.change(class, at)
		if old != 0 {
			c.w.flow.part(f, old < 0)
		} else {
			c.w.flow.part(f, true)
			c.w.flow.part(f, false)
		}
	} else {
		c.w.flow.part(f, true)
		c.w.flow.part(f, false)
	}
	switch {
	case how == ruleLater && !c.meanCurrent:
		c.w.spacing.jump(di, dt)
	case how == ruleLine && dt > 0:
		c.w.spacing.bend(di, c.pdi, dt)
	}
	c.steps.see(c, t, v, i, math.Abs(di) >= c.stepOn)
	c.w.see(v, i, dt)
	if c.pdi = di; how != ruleLine {
		c.pdi = 0
	}
	c.pt, c.pv, c.pi = t, v, i
	if a := math.Abs(i); a > c.peakI {
		c.peakI = a
		c.wildI = wildFactor * a
	}
	c.wildV = wildVolts * math.Abs(v)
}

// end takes what is still under way when the file is over.
func (c *cursor) end() {
	if c.held != nil {
		c.resolve(nil)
	}
	if !c.started {
		return
	}
	c.steps.finish(c)
	c.close()
	c.bin.flush(c)
	c.endStretch()
}
