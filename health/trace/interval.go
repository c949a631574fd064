package trace

import "math"

// flow is charge in ampere-seconds and energy in joules, parted by the file's
// sign of current. All four are magnitudes.
type flow struct {
	pos, neg   float64 // As
	posE, negE float64 // J
}

func (f *flow) add(q, e float64) {
	if q >= 0 {
		f.pos += q
		f.posE += e
	} else {
		f.neg -= q
		f.negE -= e
	}
}

// part adds the flow of one direction of g.
func (f *flow) part(g flow, positive bool) {
	if positive {
		f.pos += g.pos
		f.posE += g.posE
	} else {
		f.neg += g.neg
		f.negE += g.negE
	}
}

// rule is how the current between two rows was taken.
type rule uint8

const (
	ruleLine    rule = iota // a straight line
	ruleTaper               // an exponential decay at held voltage
	ruleLater               // the current of the later row throughout
	ruleEarlier             // the current of the earlier row until the later one
)

// How the current between two rows is taken:
//
//   - rows closer than sparseRows: a straight line (trapezoid).
//   - rows farther apart, the current falls towards zero and the voltage is
//     held: the current decays as exp(-t), its mean is the logarithmic mean
//     (a-b)/ln(a/b).
//   - rows farther apart and the current jumps: testers write a row when a step
//     ends and the next one when an interval of the new step has passed, so the
//     whole interval has the later current (common practice, no source; it is
//     what the counters in open tester files show).
//   - the same, but rows follow each other closely from the later one on: the
//     logger slept until the jump, so the interval has the earlier current.
//   - else a straight line.
const (
	heldVoltage = 0.002 // of the voltage: what a charger holds it to
	jumpShare   = 0.3   // of the larger current: what is a jump, not a drift
	answerShare = 0.25  // of the answer to a jump: less is no answer
)

// sparse integrates between two rows that are far apart. ohms is the
// resistance as it is known by then, 0 where it is not.
func (c *cursor) sparse(dt, v, i float64) (f flow, how rule) {
	a, b := c.pi, i
	mean := (a + b) / 2
	volts := (c.pv + v) / 2
	step := math.Abs(b - a)
	held := c.isHeld(v, b-a)
	switch {
	case c.meanCurrent:
		mean, volts, how = b, v, ruleLater
		if step <= jumpShare*math.Abs(b) {
			volts = (c.pv + v) / 2
		}
	case c.woke:
		mean, volts, how = a, c.pv, ruleEarlier
	case a*b > 0 && math.Abs(b) < math.Abs(a) && held:
		if step > 1e-6*math.Abs(a) {
			mean, how = (a-b)/math.Log(a/b), ruleTaper
		}
	case step > jumpShare*max(math.Abs(a), math.Abs(b)) && step > c.idleOn/2:
		mean, how = b, ruleLater
		volts = c.voltsAfterJump(v, b-a)
	}
	f.add(mean*dt, mean*dt*volts)
	return f, how
}

// isHeld reports whether the voltage was held while the current changed by di:
// it did not answer as it does to a jump or, where its answer is not known yet
// or too small to be read, it stayed where it was.
func (c *cursor) isHeld(v, di float64) bool {
	dv := v - c.pv
	if ohms, ok := c.fast.slope(); ok && math.Abs(ohms*di) > 3*c.grainV {
		answer := ohms * di
		return dv*answer <= answerShare*answer*answer
	}
	return math.Abs(dv) <= heldVoltage*v
}

// voltsAfterJump is the mean voltage of an interval that began with a jump of
// the current: from where the resistance puts it at once to where it ends.
func (c *cursor) voltsAfterJump(v, jump float64) float64 {
	ohms, ok := c.fast.slope()
	if !ok {
		return v
	}
	begin := c.pv + ohms*jump
	if lo, hi := min(c.pv, v), max(c.pv, v); begin < lo-0.1*v || begin > hi+0.1*v {
		return v
	}
	return (begin + v) / 2
}

// crossing integrates a straight line of current between rows of opposite sign.
func crossing(dt, pv, pi, v, i float64) (f flow) {
	x := pi / (pi - i) // share of the interval before the current is zero
	vx := pv + x*(v-pv)
	q := pi * x * dt / 2
	f.add(q, q*(2*pv+vx)/3)
	q = i * (1 - x) * dt / 2
	f.add(q, q*(2*v+vx)/3)
	return f
}
