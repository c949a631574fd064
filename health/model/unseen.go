package model

import (
	"math"

	"packwane/health/logbook"
)

// What a log leaves out shows at the next record, a check too: the volts at its start, or
// the charge that fills the pack again, lie far from where the last record
// left it. One figure alone may be a misreading; where the record holds a
// second that agrees, or nothing else and a long gap, something was not
// logged, and the state is forgotten.
const (
	unseenShare   = .06 // of the capacity: less is drain, imbalance and rounding
	unseenSd      = 4.0
	unseenGapDays = 2.0 / 24
)

// unseen decides whether something was not logged between the last record and
// event e, and how much of the capacity it took (negative: a charge).
func (p *pass) unseen(i int, e *event, f *felt, st *state) (took float64, is bool) {
	if !st.any || e.gapDays <= 0 {
		return 0, false
	}
	first, second := math.NaN(), math.NaN()
	noise := square(.01)
	if known(e.startV) && !p.rejected(i, obStartV) {
		v := e.startV - p.c.voltOffset
		s := f.curve.Soc(v)
		_, slope := f.curve.OCV(s)
		first = f.full - s
		noise += (e.voltVar + p.c.restVar(p.m, e)) / square(max(slope, .02))
	}
	q := p.measuredShare(i, e, f.whole())
	switch {
	case e.kind == evCharge && e.full != logbook.No && known(q):
		second = q
	case e.kind == evRide && known(q) && known(e.endV) && !p.rejected(i, obEndV):
		second = f.full - f.curve.Soc(e.endV-p.c.voltOffset) - q
	}
	if !known(first) {
		first, second = second, math.NaN()
		noise += square(.03)
	}
	if !(first > -unseenShare && first < 1+unseenShare) {
		return 0, false // no pack can have held that: a misreading
	}
	if !p.m.anyCharge && math.Abs(first) < unseenShare+unseenSd*math.Sqrt(noise) {
		return 0, false // charged as before every ride of such a log: it is taken as full
	}
	off := first - st.x
	if !(math.Abs(off) > unseenShare && math.Abs(off) > unseenSd*math.Sqrt(st.p+noise)) {
		return 0, false
	}
	if known(second) {
		return off, math.Abs(second-first) < math.Max(unseenShare, 2*math.Sqrt(noise)) || math.Abs(second-first) < .3*math.Abs(off)
	}
	return off, e.gapDays > unseenGapDays
}

// measuredShare is the charge that an event's meter shows, as a share of the
// capacity; NaN where it shows none that was not put aside.
func (p *pass) measuredShare(i int, e *event, capacity float64) float64 {
	return p.shareBy(e, capacity, !p.rejected(i, obAh), !p.rejected(i, obWh))
}

// shareBy is the charge that an event's meter shows, as a share of the capacity, by
// its Ah or else its Wh where they are asked for; NaN where there is none.
func (p *pass) shareBy(e *event, capacity float64, ah, wh bool) float64 {
	gain := math.Exp(p.c.gain(p.m, e))
	switch {
	case known(e.ah) && ah:
		return e.ah / capacity / gain
	case known(e.wh) && wh:
		wh := e.wh
		if e.ac {
			wh *= p.c.wall
		}
		return wh / (p.m.chem.NominalV * p.m.series * capacity) / gain
	}
	return math.NaN()
}

// forget brings in what was not logged before event i: decided by the base
// pass, followed by the others.
func (p *pass) forget(i int, e *event, f *felt, st *state, base bool) {
	carry := &p.carry[i]
	if base {
		carry.unseenTook, carry.unseen = p.unseen(i, e, f, st)
	}
	if !carry.unseen {
		return
	}
	st.p = square(.5)
	st.charged = true
	if took := carry.unseenTook * f.capacity; took > 0 {
		st.throughAh += took
		st.unloggedAh += took
		st.unseenAh += took
		if e.kind == evCharge && known(p.measuredShare(i, e, f.capacity)) {
			st.refilledAh += took
		}
	}
}
