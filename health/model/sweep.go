package model

import (
	"slices"

	"gonum.org/v1/gonum/mat"
)

// How far a parameter is moved for a derivative, in standard deviations of its
// prior; and the deficit, the day's error of a meter or a number that an event
// feels, each in its unit. That step is the smaller, for curves have corners.
const (
	paramStep  = 1e-4
	numberStep = 1e-7
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
	step           float64   // so far
	x, day, unseen float64   // derivatives of the state: deficit, error of the day, Ah that showed as not logged
	d              []float64 // room for its rows
	felt           bool      // some record felt it
	idle           bool      // no record of this log ever does
}

// change is what comes of an event by a small one before it: derivatives of its
// rows and of the state after it, the deficit, the day's error and what showed as
// not logged.
type change struct {
	rows           [mostObservations]float64
	x, day, unseen float64
}

// answer is how one event answers to the state before it, by the deficit and by
// the day's error, and to each number that it feels.
type answer struct {
	byX, byDay change
	by         [feltNumbers]change
}

// normal goes over the records once, with the gains and weights of the base pass
// at z, and adds up the products of the derivatives.
func (f *fitter) normal(z []float64) (*mat.SymDense, []float64) {
	p, n := &f.p, len(f.m.events)
	f.makeRoom()
	for j := range f.movers {
		v := &f.movers[j]
		v.x, v.day, v.unseen, v.felt, v.step = 0, 0, 0, false, f.step
		keep := z[j]
		z[j] = keep + f.step
		f.m.decode(z, &v.c)
		z[j] = keep
	}
	sum := newNormalSum(len(z))
	for from, last := 0, false; !last; from += together {
		to := min(from+together, n)
		last = to == n
		b := batch{from: from, to: to, row: p.rowOf(from), last: last}
		if from == 0 {
			b.row = 0 // of a log without records, what belongs to none
		}
		b.tape = p.tape[b.row:p.rowOf(to)]
		f.resid = f.resid[:0]
		for i := range b.tape {
			f.resid = append(f.resid, b.tape[i].innovation*b.tape[i].isd)
		}
		for i := from; i < to; i++ {
			f.answers[i-from].ask(p, i)
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
	last     bool // with the rows that belong to no event
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

// rowsOf returns the rows of event i on the tape, without those of no event.
func (p *pass) rowsOf(i int) (from, to int) {
	from, to = p.rowOf(i), p.rowOf(i+1)
	for to > from && p.tape[to-1].event < 0 {
		to--
	}
	return from, to
}

// since is the change that became of event i, which met with something moved by a
// step, after which the state is st.
func (p *pass) since(i int, st *state, rows *[mostObservations]float64, step float64) (ch change) {
	after := p.after(i)
	from, to := p.rowsOf(i)
	for k := range to - from {
		t := &p.tape[from+k]
		ch.rows[k] = (rows[k] - t.innovation*t.isd) / step
	}
	ch.x, ch.day, ch.unseen = (st.x-after.x)/step, (st.day.at-after.day.at)/step, (st.unseenAh-after.unseenAh)/step
	return ch
}

// ask works out how event i answers.
func (a *answer) ask(p *pass, i int) {
	e, start, base := &p.m.events[i], &p.carry[i].start, &p.felt[i]
	var rows [mostObservations]float64
	meet := func(f *felt, st state) change {
		p.eventThat(i, f, &st, rows[:])
		return p.since(i, &st, &rows, numberStep)
	}
	moved := *start
	moved.x += numberStep
	a.byX = meet(base, moved)
	if a.byDay = (change{}); start.day.v > 0 {
		moved = *start
		moved.day.at += numberStep
		a.byDay = meet(base, moved)
	}
	for k := range a.by {
		if e.feels&feltWith[k] == 0 {
			continue
		}
		f := *base
		f.by[k] += numberStep
		a.by[k] = meet(&f, *start)
	}
}

// fill is the column of parameter j for a batch.
func (f *fitter) fill(b *batch, j int) column {
	p, v, window := &f.p, &f.movers[j], f.windows[j]
	if v.idle {
		return column{}
	}
	if v.d == nil {
		v.d = make([]float64, 0, together*mostObservations+mostBeside)
	}
	base := p.c
	p.c = &v.c
	c := column{d: v.d[:0]}
	if lo, hi := max(window[0], b.from), min(window[1], b.to); lo < hi {
		c.lo = p.rowOf(lo) - b.row
		for i := lo; i < hi; i++ {
			at := len(c.d)
			from, to := p.rowsOf(i)
			c.d = c.d[:at+to-from]
			v.over(p, i, p.moves(j, i), &f.answers[i-b.from], c.d[at:])
		}
	}
	if b.last && window[1] == len(f.m.events) {
		var moved [mostBeside]float64
		p.beside(moved[:])
		n := p.besides()
		for k, before := range f.resid[len(f.resid)-n:] {
			c.d = append(c.d, (moved[k]-before)/f.step)
		}
	}
	p.c = base
	v.d = c.d
	for _, d := range c.d {
		v.felt = v.felt || d != 0
	}
	return c
}

// over follows the parameter over event i, of which it moves some parts, and
// fills in the derivatives of the event's rows.
func (v *mover) over(p *pass, i int, moves parts, a *answer, rows []float64) {
	e := &p.m.events[i]
	if moves&e.direct() != 0 || v.unseen != 0 && e.unloggedKm > 0 {
		v.meet(p, i, moves, rows)
	} else {
		v.reckon(p, i, moves, a, rows)
	}
}

// meet goes over event i with the parameter moved.
func (v *mover) meet(p *pass, i int, moves parts, rows []float64) {
	st := p.carry[i].start
	st.x += v.step * v.x
	st.day.at += v.step * v.day
	st.unseenAh += v.step * v.unseen
	f := p.felt[i]
	p.feel(i, &f, moves)
	var seen [mostObservations]float64
	p.eventThat(i, &f, &st, seen[:])
	ch := p.since(i, &st, &seen, v.step)
	copy(rows, ch.rows[:])
	v.x, v.day, v.unseen = ch.x, ch.day, ch.unseen
}

// reckon does the same by the event's answers.
func (v *mover) reckon(p *pass, i int, moves parts, a *answer, rows []float64) {
	x, day := v.x, v.day
	v.x, v.day = 0, 0
	if p.after(i).unseenAh == 0 {
		v.unseen = 0
	}
	clear(rows)
	v.add(&a.byX, x, rows)
	v.add(&a.byDay, day, rows)
	if moves == 0 {
		return
	}
	e, base := &p.m.events[i], &p.felt[i]
	f := *base
	p.feel(i, &f, moves)
	for k := range f.by {
		if e.feels&feltWith[k] != 0 {
			v.add(&a.by[k], (f.by[k]-base.by[k])/v.step, rows)
		}
	}
}

// add adds so many times a change.
func (v *mover) add(ch *change, times float64, rows []float64) {
	if times == 0 || !known(times) {
		return
	}
	for k := range rows {
		rows[k] += float64(times * ch.rows[k])
	}
	v.x += float64(times * ch.x)
	v.day += float64(times * ch.day)
	v.unseen += float64(times * ch.unseen)
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
