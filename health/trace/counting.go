package trace

import "math"

// counting follows a counter of charge or energy that the file brings: it may
// begin anywhere and start again from zero.
type counting struct {
	role     Role
	slot     int
	begun    bool
	last     float64
	up, down float64
	restarts int
}

func (n *counting) see(values []float64) {
	net := n.role == NetCount || n.role == NetEnergy
	for _, x := range values {
		if x != x {
			continue
		}
		if !n.begun {
			n.begun, n.last = true, x
			continue
		}
		d := x - n.last
		switch {
		case d >= 0 && !(net && d > restartShare*math.Abs(n.last) && math.Abs(x) < (1-restartShare)*math.Abs(n.last)):
			n.up += d
		case math.Abs(x) <= (1-restartShare)*math.Abs(n.last) && math.Abs(d) > restartShare*math.Abs(n.last):
			n.restarts++
			if x > 0 {
				n.up += x
			} else {
				n.down -= x
			}
		default:
			n.down -= d
		}
		n.last = x
	}
}

// restartShare is the part of its count that a counter loses at once when it
// starts again.
const restartShare = 0.7

// total returns what was counted in and out, in the unit of the role.
func (n *counting) total() float64 { return n.up - n.down }

// count follows the counters through a batch.
func (c *cursor) count(b *batch) {
	for _, n := range c.counts {
		n.see(b.cols(n.slot))
	}
}

// coarse spreads the rows of one time stamp evenly over the time to the next:
// a clock of whole seconds beside several rows a second.
type coarse struct {
	on     bool
	last   float64
	step   float64
	n      int // rows with this stamp so far
	before int // rows that the last stamp had
}

// look turns the spreading on where, in some part of a batch, a good share of
// the rows have the time of the row above while their values differ.
func (s *coarse) look(b *batch) {
	const parts, rows = 4, 250
	for p := range parts {
		from := p * len(b.t) / parts
		to := min(from+rows, len(b.t))
		same, stamps := 0, 1
		for k := from + 1; k < to; k++ {
			switch {
			case b.t[k] != b.t[k-1]:
				stamps++
			case b.v[k] != b.v[k-1] || b.i[k] != b.i[k-1]:
				same++
			}
		}
		if s.on = stamps > 1 && same > (to-from)/4; s.on {
			s.before = (to - from) / stamps
			s.step = (b.t[to-1] - b.t[from]) / float64(stamps-1)
			return
		}
	}
}

func (s *coarse) spread(t []float64) {
	for k, x := range t {
		if x != s.last {
			if d := x - s.last; d > 0 && s.n > 0 {
				s.step = d
				s.before = s.n
			}
			s.last, s.n = x, 1
			continue
		}
		share := float64(s.n) / float64(max(s.before, 1))
		if s.n >= s.before { // more rows than last time: closer and closer to the next
			share = 1 - 1/float64(max(s.before, 1))/float64(s.n-s.before+2)
		}
		t[k] = x + s.step*share
		s.n++
	}
}
