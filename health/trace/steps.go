package trace

import "math"

// pulse is a jump of the current from a steady one to another and what the
// voltage made of it: R = (U1-U2)/(I2-I1), IEC 61960-3.
type pulse struct {
	t            float64 // of the jump
	leg          float64 // see cursor.leg
	line         int64
	seconds      float64 // from the jump to the reading of loadV
	baseV, baseI float64
	loadV, loadI float64
	rows         int64   // from the jump to the reading
	tempC        float64 // NaN where unknown
}

func (p pulse) ohms() float64 { return (p.loadV - p.baseV) / (p.loadI - p.baseI) }

// Pulses are read pulseS after the jump, or when they end if that is at least
// leastPulseS; rows that are far apart give a longer one, up to mostPulseS.
const (
	pulseS      = 10.0
	leastPulseS = 4.5
	mostPulseS  = 31.0
	quietS      = 10.0 // the current before must have been steady so long
	mostPulses  = 400
)

// steps looks at the jumps of the current: pulses to read the resistance from,
// and what the voltage does right after, which tells the sign.
type steps struct {
	quietFrom float64
	active    bool
	now       pulse
	target    float64
	firstI    float64

	asked        bool // the voltage's answer to the last jump is still to come
	askV, askI   float64
	up, down     int // answers along the current, against it
	pulses       []pulse
	shortOfSpace bool
}

// cut forgets what was under way: time is missing.
func (s *steps) cut(t float64) {
	s.active, s.asked = false, false
	s.quietFrom = t
}

// see takes the row (t, v, i) behind the last one of the cursor.
func (s *steps) see(c *cursor, t, v, i float64, jumped bool) {
	c.stepNow = c.stepOn
	if s.asked {
		s.answer(c, v, i)
	}
	if s.active && (jumped || t >= s.target-1e-6) {
		if jumped {
			s.finish(c)
		} else {
			s.read(c, t, v, i)
		}
	}
	if !jumped {
		return
	}
	s.asked, s.askV, s.askI = true, c.pv, c.pi
	c.stepNow = math.Inf(-1) // look at the next row too
	start := c.pt
	switch {
	case c.woke:
		start = t - min(c.wokeFor, t-c.pt)
	case t-c.pt < sparseRows:
		start += (t - c.pt) / 2
	}
	if c.pt-s.quietFrom >= quietS && t-start <= mostPulseS {
		s.active = true
		s.now = pulse{t: start, leg: c.leg, line: c.line, baseV: c.pv, baseI: c.pi, tempC: c.lastTemp()}
		s.target, s.firstI = start+pulseS, i
		c.w.end = min(c.w.end, s.target)
		if t >= s.target-1e-6 {
			s.read(c, t, v, i)
		}
	}
	s.quietFrom = t
}

// answer counts whether the voltage moved with the current or against it. It
// looks one row past the jump: some loggers read the two one after the other.
func (s *steps) answer(c *cursor, v, i float64) {
	s.asked = false
	di, dv := i-s.askI, v-s.askV
	if math.Abs(di) < c.stepOn || math.Abs(dv) < 2e-4*v {
		return
	}
	if di*dv > 0 {
		s.up++
	} else {
		s.down++
	}
	c.fast.add(di, dv)
}

// finish reads a pulse that ended before its time.
func (s *steps) finish(c *cursor) {
	if s.active && c.pt-s.now.t >= leastPulseS {
		s.read(c, c.pt, c.pv, c.pi)
	}
	s.active = false
}

func (s *steps) read(c *cursor, t, v, i float64) {
	s.active = false
	p := s.now
	p.seconds, p.loadV, p.loadI, p.rows = t-p.t, v, i, c.line-p.line
	di := i - p.baseI
	switch {
	case p.seconds > mostPulseS, math.Abs(di) < c.stepOn, math.Abs(i-s.firstI) > 0.1*math.Abs(di), math.Abs(v-p.baseV) < 1e-3*p.baseV:
	case len(s.pulses) >= mostPulses:
		s.shortOfSpace = true
	default:
		s.pulses = append(s.pulses, p)
	}
}
