package trace

import "math"

// A window is at most windowRows rows within one windowS of time, all of one
// direction of current. It is what the rest of the package looks at: the loop
// over rows does nothing that can be done for a window as a whole.
const (
	windowRows = 64
	windowS    = 10.0
	// fineWindows is how many windows of a single row a file begins with, so
	// that the chart of a short file shows every row.
	fineWindows = 2048
)

type window struct {
	rows       int
	t0         float64 // where the row before it ended
	end        float64 // a row at or behind it belongs to the next one
	q, e       float64 // As and J while current flows one way
	flow       flow    // what is not in q and e
	sv, si     float64
	minV, maxV float64
	minI, maxI float64
	spacing    spacing
	maxDt      float64
}

// open begins a window at time t, for rows up to the next multiple of windowS.
func (w *window) open(t float64) {
	*w = window{t0: t, end: (math.Floor(t/windowS) + 1) * windowS,
		minV: math.Inf(1), maxV: math.Inf(-1), minI: math.Inf(1), maxI: math.Inf(-1)}
}

// see takes the values of a row into the means and extremes.
func (w *window) see(v, i, dt float64) {
	w.rows++
	w.sv += v
	w.si += i
	w.minV, w.maxV = min(w.minV, v), max(w.maxV, v)
	w.minI, w.maxI = min(w.minI, i), max(w.maxI, i)
	w.maxDt = max(w.maxDt, dt)
}

func (w *window) meanV() float64 { return w.sv / float64(w.rows) }
func (w *window) meanI() float64 { return w.si / float64(w.rows) }

// close passes the window on and opens the next one at the last row.
func (c *cursor) close() {
	w := &c.w
	if w.q != 0 || w.e != 0 {
		w.flow.add(w.q, w.e)
	}
	s := &c.st
	if f := &w.flow; *f != (flow{}) {
		s.pos.add(f.pos)
		s.neg.add(f.neg)
		s.posE.add(f.posE)
		s.negE.add(f.negE)
	}
	s.spacing.join(w.spacing)
	s.t1, s.leg1, s.row1 = c.pt, c.leg, c.line
	if w.rows > 0 {
		s.rows += int64(w.rows)
		s.minV, s.maxV = min(s.minV, w.minV), max(s.maxV, w.maxV)
		s.minI, s.maxI = min(s.minI, w.minI), max(s.maxI, w.maxI)
		if s.firstV != s.firstV {
			s.firstV = w.meanV()
		}
		s.lastV, s.lastI = c.pv, c.pi
		s.endV, s.endI = w.meanV(), w.meanI()
		s.late.add(w.t0, w.minV)
		c.spacingSeen(w.maxDt)
		c.thin.add(c.pt, w)
		c.bin.add(c, w)
		if w.maxI-w.minI > c.stepOn/2 {
			c.steps.quietFrom = c.pt
		}
		if c.windows++; c.windows == fineWindows {
			c.windowRows = windowRows
		}
	}
	c.openWindow(c.pt)
}

// openWindow begins a window, which ends early where a pulse is to be read.
func (c *cursor) openWindow(t float64) {
	c.w.open(t)
	if c.steps.active {
		c.w.end = min(c.w.end, c.steps.target)
	}
}

// spacingSeen keeps what an interval without rows is told from: the longest
// interval of late, which fades.
func (c *cursor) spacingSeen(dt float64) {
	c.usual = max(dt, 0.9*c.usual, c.leastUsual)
	c.maxDt = max(gapFactor*c.usual, leastGapS)
}

// change ends the stretch at time t and begins one of another direction.
func (c *cursor) change(class int8, t float64) {
	c.close()
	c.st.t1 = t
	c.endStretch()
	c.st = newSpan(class, t, c.leg, c.line)
	c.openWindow(t)
	c.setClass(class)
}

// endStretch hands the stretch on.
func (c *cursor) endStretch() {
	if c.st.rows == 0 && c.st.pos.s == 0 && c.st.neg.s == 0 {
		return
	}
	if c.groups != nil {
		c.st.groupV = append([]float64(nil), c.groups...)
	}
	c.out.stretch(&c.st)
}

// setClass keeps the band of currents that stays in the class: from idle it is
// left at idleOn, to idle only below idleOff.
func (c *cursor) setClass(class int8) {
	c.class = class
	switch class {
	case 0:
		c.lo, c.hi = -c.idleOn, c.idleOn
	case 1:
		c.lo, c.hi = c.idleOff, math.Inf(1)
	default:
		c.lo, c.hi = math.Inf(-1), -c.idleOff
	}
}

func (c *cursor) classOf(i float64) int8 {
	switch {
	case i > c.lo && i < c.hi:
		return c.class
	case i >= c.idleOn:
		return 1
	case i <= -c.idleOn:
		return -1
	}
	return 0
}
