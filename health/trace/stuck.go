package trace

// stuck finds sensors that repeat themselves to the last digit while the other
// one shows that they should not: the voltage while the current jumps, the
// current while the voltage does. A charger that holds its voltage or a tester
// that holds its current is no such case: there the other value moves slowly.
type stuck struct {
	volts, amps stuckRun
}

type stuckRun struct {
	value float64
	from  float64
	line  int64
	bins  int // in which the other one moved
	worst stuckFind
	finds int
}

type stuckFind struct {
	seconds float64
	line    int64
	value   float64
}

// A sensor is said to be stuck where it stood still over at least stuckBins
// means in which the other moved.
const (
	stuckBins  = 3
	stuckRows  = 4    // rows a mean must have
	stuckSteps = 5.0  // times stepOn: what the current must move in a mean
	stuckVolts = 0.02 // of the voltage: what the voltage must move in a mean
)

// see takes a 10 s mean and reports whether it holds a stuck value.
func (s *stuck) see(c *cursor, b *binner) bool {
	if b.n < stuckRows {
		return false
	}
	volts := s.volts.see(c, b.minV == b.maxV, b.minV, b.maxI-b.minI >= stuckSteps*c.stepOn)
	amps := s.amps.see(c, b.minI == b.maxI, b.minI, b.maxV-b.minV >= stuckVolts*b.maxV)
	return volts || amps
}

func (r *stuckRun) see(c *cursor, still bool, value float64, moved bool) bool {
	if !still || value != r.value || r.bins == 0 {
		r.value, r.from, r.line, r.bins = value, c.bin.t, c.line, 0
	}
	if !still || !moved && r.bins == 0 {
		return false
	}
	if moved {
		r.bins++
	}
	if r.bins == stuckBins {
		r.finds++
	}
	if s := c.bin.t - r.from + windowS; r.bins >= stuckBins && s > r.worst.seconds {
		r.worst = stuckFind{s, r.line, value}
	}
	return r.bins >= stuckBins
}
