package model

import (
	"slices"

	"gonum.org/v1/gonum/mat"
)

// How far a parameter is moved for a derivative, in standard deviations of its
// prior, and the deficit or the day's error of a meter, in shares.
const (
	paramStep = 1e-4
	stateStep = 1e-6
)

// together is how many events are gone through with one parameter before the
// next one's turn: their rows of the Jacobian stay in the processor's cache, and
// are let go of when their products are taken.
const together = 32

// mover follows one moved parameter over the records. Where an event does not
// feel the parameter itself, only what it did to the state before, the event's
// answer to that carries it on.
type mover struct {
	c              cellState // with the parameter moved
	x, day, unseen float64   // derivatives of the state: deficit, error of the day, Ah that showed as not logged
	d              []float64 // room for its rows
	felt           bool      // some record felt it
	idle           bool      // no record of this log ever does
}

// answer is how one event answers to the state before it: derivatives of its
// rows and of the state after it by the deficit and by the day's error.
type answer struct {
	byX, byDay struct {
		x, day float64
		rows   [mostObservations]float64
	}
}

// normal goes over the records once, with the gains and weights of the base pass
// at z, and adds up the products of the derivatives.
func (f *fitter) normal(z []float64) (*mat.SymDense, []float64) {
	p, n := &f.p, len(f.m.events)
	f.makeRoom()
	for j := range f.movers {
		v := &f.movers[j]
		v.x, v.day, v.unseen, v.felt = 0, 0, 0, false
		keep := z[j]
		z[j] = keep + paramStep
		f.m.decode(z, &v.c)
		z[j] = keep
	}
	sum := newNormalSum(len(z))
	for from, last := 0, false; !last; from += together {
		to := min(from+together, n)
		last = to == n
		b := batch{from: from, to: to, row: p.rowOf(from), last: last}
		if from == 0 {
			b.row = 0 // of a log without records, what was measured as new
		}
		b.tape = p.tape[b.row:p.rowOf(to)]
		f.resid = f.resid[:0]
		for i := range b.tape {
			f.resid = append(f.resid, b.tape[i].innovation*b.tape[i].isd)
		}
		for i := from; i < to; i++ {
			f.answers[i-from] = p.answer(i)
		}
		for j := range f.movers {
			f.cols[j] = f.fill(&b, j)
		}
		sum.add(f.cols, f.resid)
		f.keepTold(&b)
	}
	for j := range f.movers {
		f.movers[j].idle = !f.movers[j].felt && z[j] == 0
	}
	return sum.a, sum.g
}

// makeRoom makes room for the rows that tell of the noises, in one piece.
func (f *fitter) makeRoom() {
	told := 0
	for i := range f.p.tape {
		if f.noiseOf(&f.p.tape[i]) != noNoise {
			told++
		}
	}
	f.told.at = slices.Grow(f.told.at[:0], told)
	f.told.rows = slices.Grow(f.told.rows[:0], told*len(f.cols))
}

// batch is some events with their rows.
type batch struct {
	from, to int
	last     bool // with what was measured as new
	row      int  // the first, on the tape
	tape     []tapeEntry
}

// after is the state after event i.
func (p *pass) after(i int) *state {
	if i+1 < len(p.carry) {
		return &p.carry[i+1].start
	}
	return &p.end
}

// rowsOf returns the rows of event i on the tape, without what was measured as new.
func (p *pass) rowsOf(i int) (from, to int) {
	from, to = p.rowOf(i), p.rowOf(i+1)
	if to > from && p.tape[to-1].event < 0 {
		to--
	}
	return from, to
}

// answer asks event i how it answers.
func (p *pass) answer(i int) (a answer) {
	var row [mostObservations]float64
	start, after := &p.carry[i].start, p.after(i)
	from, to := p.rowsOf(i)
	ask := func(st state, rows *[mostObservations]float64) (x, day float64) {
		p.event(i, &st, row[:])
		for k := range to - from {
			rows[k] = (row[k] - p.tape[from+k].innovation*p.tape[from+k].isd) / stateStep
		}
		return (st.x - after.x) / stateStep, (st.day.at - after.day.at) / stateStep
	}
	st := *start
	st.x += stateStep
	a.byX.x, a.byX.day = ask(st, &a.byX.rows)
	if start.day.v > 0 {
		st = *start
		st.day.at += stateStep
		a.byDay.x, a.byDay.day = ask(st, &a.byDay.rows)
	}
	return a
}

// fill is the column of parameter j for a batch.
func (f *fitter) fill(b *batch, j int) column {
	p, v, window := &f.p, &f.movers[j], f.windows[j]
	if v.idle {
		return column{}
	}
	base := p.c
	p.c = &v.c
	c := column{d: v.d[:0]}
	if lo, hi := max(window[0], b.from), min(window[1], b.to); lo < hi {
		c.lo = p.rowOf(lo) - b.row
		for i := lo; i < hi; i++ {
			c.d = v.over(p, i, p.moves(j, i), &f.answers[i-b.from], c.d)
		}
	}
	if b.last && window[1] == len(f.m.events) && known(f.m.asNewAh) {
		var moved float64
		p.asNew(&moved)
		c.d = append(c.d, (moved-f.resid[len(f.resid)-1])/paramStep)
	}
	p.c = base
	v.d = c.d
	for _, d := range c.d {
		v.felt = v.felt || d != 0
	}
	return c
}

// over follows the parameter over event i, of which it moves some parts, and
// adds the derivatives of the event's rows to d.
func (v *mover) over(p *pass, i int, moves parts, a *answer, d []float64) []float64 {
	start, after := &p.carry[i].start, p.after(i)
	from, to := p.rowsOf(i)
	if moves == 0 && (v.unseen == 0 || p.m.events[i].unloggedKm == 0) {
		for k := range to - from {
			d = append(d, float64(v.x*a.byX.rows[k])+float64(v.day*a.byDay.rows[k]))
		}
		v.x, v.day = float64(v.x*a.byX.x)+float64(v.day*a.byDay.x), float64(v.x*a.byX.day)+float64(v.day*a.byDay.day)
		if after.unseenAh == 0 {
			v.unseen = 0
		}
		return d
	}
	st := *start
	st.x += paramStep * v.x
	st.day.at += paramStep * v.day
	st.unseenAh += paramStep * v.unseen
	var row [mostObservations]float64
	p.moved = moves
	p.event(i, &st, row[:])
	p.moved = 0
	for k := range to - from {
		t := &p.tape[from+k]
		d = append(d, (row[k]-t.innovation*t.isd)/paramStep)
	}
	v.x = (st.x - after.x) / paramStep
	v.day = (st.day.at - after.day.at) / paramStep
	v.unseen = (st.unseenAh - after.unseenAh) / paramStep
	return d
}

// keepTold keeps the rows of a batch that tell of the noises.
func (f *fitter) keepTold(b *batch) {
	for k := range b.tape {
		if f.noiseOf(&b.tape[k]) == noNoise {
			continue
		}
		f.told.at = append(f.told.at, b.row+k)
		for j := range f.cols {
			d := 0.0
			if c := &f.cols[j]; k >= c.lo && k < c.lo+len(c.d) {
				d = c.d[k-c.lo]
			}
			f.told.rows = append(f.told.rows, d)
		}
	}
}
