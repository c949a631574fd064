package model

import (
	"cmp"
	"math"

	"packwane/health/law"
)

// An observation is one number of a record that the filter compares with what
// it expects.
type obsKind uint8

const (
	obStartV obsKind = iota
	obLimit          // not a figure: the ride stopped at the limit, so the deficit is known
	obFull           // not a figure: the charger finished, so the deficit is near nil
	obAh
	obWh
	obDistance
	obEndV
	obOhm
	obAsNew
	obWarm  // not a figure of its own: how warm the pack was
	obBuilt // not a figure: the pack is made for such rides
	obHolds // not a figure: no pack takes up or gives more than it holds
)

// tapeEntry keeps what a base pass decided about one observation, so that the
// passes with a parameter moved follow it along a straight line.
type tapeEntry struct {
	event      int32
	kind       obsKind
	rejected   bool       // taken for a misreading
	gain       [3]float64 // of deficit, charge and meter error
	isd        float64    // 1 over the standard deviation of the innovation, times the root of the weight
	sd         float64    // standard deviation of the innovation
	resid      float64    // innovation over sd, before weighing; 0 where rejected
	tangent    float64    // of volts: the deficit where the tangent is taken, NaN where they found it
	innovation float64
}

// unknowns are the filter's three: the deficit at the start and the charge
// that flowed, both as shares of the whole capacity, so that a gain does not
// change with it, and the day's error of the meter. at is their mean, cov
// their covariance.
type unknowns struct {
	at  [3]float64
	cov [3][3]float64
}

// state is what is carried from event to event.
type state struct {
	x, p       float64 // deficit as a share of the whole capacity, and its variance
	sinceHold  float64 // charges since the last balancing hold
	throughAh  float64 // gross discharge since the log began
	guessedAh  float64 // of that, not measured but worked out
	refilledAh float64 // of that, not logged, but metered when it was filled up again
	unloggedAh float64 // of the gross discharge, not logged at all: by the odometer, or by what showed later
	unseenAh   float64 // of that, what showed as not logged since the last reading of the odometer
	endedFlat  bool    // the last ride ended at the limit
	charged    bool    // a charge came since the last ride
	any        bool
	day        meterDay
}

// meterDay is what a charge leaves to the next one: a charge that goes on after
// a pause is counted by the same meter on the same day.
type meterDay struct {
	meter      int     // group
	untilDay   float64 // when the charge ended
	at, v, xAt float64 // the day's error of the meter, its variance and its covariance with the deficit
}

// sameDay is how long a charge may pause and still be the same one, days.
const sameDay = .25

// carried is what the base pass decided for one event.
type carried struct {
	qLin       float64 // the charge (share) about which the event was linearised
	unseen     bool    // something was not logged before it
	unseenTook float64 // and took this share of the capacity
	reset      bool    // the deficit was taken as unknown-but-full at its start
	adrift     bool    // where it began is hardly known
	start      state   // before the event
	x0         float64 // what the filter came to believe: the deficit (share) at the start
	qAh        float64 // and the charge
	tapeAt     int     // first entry of the event on the tape
}

// pass is one run over the records.
type pass struct {
	m      *machine
	c      *cellState
	end    state  // after the last event
	felt   []felt // of each event; nil where nobody asks
	tape   []tapeEntry
	carry  []carried
	reject map[rejectKey]bool
	robust bool
}

type rejectKey struct {
	event int32
	kind  obsKind
}

func (k rejectKey) compare(o rejectKey) int {
	return cmp.Or(cmp.Compare(k.event, o.event), cmp.Compare(k.kind, o.kind))
}

const studentNu = 3.0

// usualObservations is how many observations a record brings, or somewhat more;
// mostObservations bounds them.
const (
	usualObservations = 6
	mostObservations  = 8
)

// base runs over all records at z, choosing gains and weights. It returns the
// cost: half the deviance of the residuals.
func (p *pass) base(z []float64) float64 {
	m := p.m
	if p.c == nil {
		p.c = new(cellState)
	}
	m.decode(z, p.c)
	p.tape = p.tape[:0]
	if p.carry == nil {
		p.carry = make([]carried, len(m.events))
		p.tape = make([]tapeEntry, 0, usualObservations*len(m.events))
	}
	var st state
	for i := range m.events {
		p.carry[i].start = st
		p.carry[i].tapeAt = len(p.tape)
		p.event(i, &st)
	}
	p.end = st
	p.beside(nil)
	cost := newDeviances()
	for i := range p.tape {
		cost.add(p.tape[i].resid, p.robust && !p.tape[i].rejected && p.tape[i].kind != obBuilt)
	}
	return cost.sum()
}

// deviance is half the -2 log density of a Student distribution, or of a
// Gaussian.
func deviance(r float64, robust bool) float64 {
	d := newDeviances()
	d.add(r, robust)
	return d.sum()
}

// deviances adds deviances up. One logarithm serves many residuals: it is taken
// of their product.
type deviances struct{ plain, logs, product float64 }

func newDeviances() deviances { return deviances{product: 1} }

func (d *deviances) add(r float64, robust bool) {
	if !robust {
		d.plain += r * r / 2
		return
	}
	if d.product *= 1 + r*r/studentNu; d.product > 1e100 {
		d.logs, d.product = d.logs+math.Log(d.product), 1
	}
}

func (d *deviances) sum() float64 {
	return d.plain + (studentNu+1)/2*(d.logs+math.Log(d.product))
}

// weight is the weight that makes a squared residual count as the Student
// distribution would.
func weight(r float64) float64 { return (studentNu + 1) / (studentNu + r*r) }

// beside are the rows that belong to no event: a measured capacity as new, and that
// the pack was built for the reference ride.
func (p *pass) beside(out []float64) {
	m, cursor := p.m, 0
	add := func(kind obsKind, innovation, sd float64) {
		r := innovation / sd
		if out != nil {
			out[cursor] = r
			cursor++
			return
		}
		p.tape = append(p.tape, tapeEntry{kind: kind, event: -1, sd: sd, isd: 1 / sd, resid: r, innovation: innovation})
	}
	if known(m.asNewAh) {
		add(obAsNew, math.Log(m.asNewAh)-math.Log(p.c.firstAh(m, p.c.cycle(m, even(m.ref.packC), &m.ref.trip))), .01)
	}
	add(obBuilt, min(p.c.builtShare(m)-builtFor, 0), builtSd)
}

// besides is how many rows belong to no event.
func (p *pass) besides() int {
	if known(p.m.asNewAh) {
		return mostBeside
	}
	return mostBeside - 1
}

const mostBeside = 2

// A pack gives most of what it could to the limit without load at reference
// conditions too, else nobody would ride it so: common practice, no source.
const builtFor, builtSd = .5, .05

// lnCapacity returns ln of the whole capacity at event e, from full to empty.
func (c *cellState) lnCapacity(e *event) float64 {
	return c.lnRested(e) - float64(c.tired*e.tired)
}

// lnRested is lnCapacity of a pack that has rested as usual.
func (c *cellState) lnRested(e *event) float64 {
	ln := c.lnC[e.knot] + float64(e.knotW*(c.lnC[e.knot+1]-c.lnC[e.knot]))
	if e.stepped {
		ln += c.step
	}
	return ln
}

func (m *machine) fullSoc(c *cellState, fullV float64) float64 {
	if fullV >= m.chem.FullV-.005 && fullV <= m.chem.FullV+.055 {
		return 1
	}
	top := c.curve.TopV()
	return min(max(c.curve.Soc(fullV-m.chem.FullV+top), .3), 1.15)
}

// levelToLimit returns by how much the charge level falls, from full, until the
// volts under load meet the limit, beside what cold leaves out of reach (see chill).
// ampere is the mean current, peak how much larger the current is that trips it. It is
// below 0 where that would trip before the first metre, which no ride that went on did.
func (c *cellState) levelToLimit(m *machine, lnC, years, cycles, endC, ampere, peak, limitV, fullV float64) float64 {
	drop := c.ohmsAt(endC).times(c.groupOhm(lnC, years, cycles)).drop(ampere, peak)
	return m.fullSoc(c, fullV) - c.curve.SocUnderLoad(limitV, drop, c.steepness)
}

// toLimitAh is what a pack gives from full until the limit, something at least.
func (c *cellState) toLimitAh(m *machine, lnC, years, cycles, endC, ampere, peak, limitV, fullV float64) float64 {
	return math.Exp(lnC) * max(c.chillAt(endC).whole()*c.levelToLimit(m, lnC, years, cycles, endC, ampere, peak, limitV, fullV), givesAtLeast)
}

// givesAtLeast is what a pack is said to give at least: it can be told from nothing,
// and has a logarithm.
const givesAtLeast = 1e-3

// event carries the state over one event, chooses gains and extends the tape.
func (p *pass) event(i int, st *state) {
	var own felt
	f := &own
	if p.felt != nil {
		f = &p.felt[i]
	}
	p.feel(i, f, everyPart)
	p.eventThat(i, f, st, nil)
}

// eventThat carries the state over an event that feels f. With out nil it
// chooses gains and extends the tape, else it follows the tape and writes
// whitened residuals, one for each entry.
func (p *pass) eventThat(i int, f *felt, st *state, out []float64) {
	e := &p.m.events[i]
	p.rest(e, f, st)
	switch e.kind {
	case evRide:
		p.ride(i, e, f, st, out)
	case evCharge:
		p.charge(i, e, f, st, out)
	case evCheck:
		p.check(i, e, f, st, out)
	}
}

// rest lets the pack stand until the event begins: its electronics draw
// power, its cells lose charge, and unlogged riding takes its share.
func (p *pass) rest(e *event, f *felt, st *state) {
	if e.gapDays > 0 && st.any {
		lost := f.by[feltLost]
		st.x += lost
		st.p += square(.4 * lost)
	}
	if e.kind != evRide {
		return
	}
	if e.unloggedKm > 0 {
		// what showed at charges since the last reading of the odometer is in already
		raw := max(p.odometerAh(e)-st.unseenAh, 0) / f.capacity
		took, chance := min(raw, mostAtOnce), e.chanceLate(raw)
		if !known(e.startV) {
			st.x = min(st.x+chance*took, .9)
		}
		st.p += square(took) * (chance*(1-chance) + square(.3*chance))
		st.charged = st.charged || p.m.anyCharge // where none is ever logged the next ride begins full
	}
}

// odometerAh is what the riding took that the odometer shows before a ride.
func (p *pass) odometerAh(e *event) float64 {
	if e.unloggedKm == 0 {
		return 0
	}
	m := p.m
	return e.unloggedKm * p.c.road.WhPerKm(m.usualTrip()) / (m.chem.NominalV * m.series)
}

// reckon counts what was not logged before a ride: where the odometer can be
// held against its last reading it knows best, else it only adds to what
// showed at rides and charges.
func (p *pass) reckon(e *event, st *state) {
	if e.unheld {
		st.unseenAh = 0
	}
	if !e.odometer && e.unloggedKm == 0 {
		return
	}
	q := p.odometerAh(e) - st.unseenAh
	if !e.odometer {
		q = max(q, 0)
	}
	st.throughAh += q
	st.unloggedAh += q
	st.unseenAh = 0
}

// usualTrip is a ride in the usual conditions of the log.
func (m *machine) usualTrip() law.Trip {
	u := &m.usual
	mass, _ := m.boardAt(m.refBoard(), timeOfDay(m.lastDay))
	return law.Trip{MassKg: orNum(mass, typicalBoardKg) + u.riderKg, LogPressure: u.logPressure, AirC: m.season.mean, SpeedMs: u.speedMs, CrossRoundMs: u.winds.rmsMs, StoppedSPerM: u.stoppedSPerM}
}

// see takes in one observation: innovation is what was seen less what was
// expected, slope its derivative by the three unknowns, noise its variance.
func (p *pass) see(i int, kind obsKind, u *unknowns, innovation float64, slope [3]float64, noise float64, out []float64, cursor *int) {
	if out != nil {
		t := &p.tape[p.carry[i].tapeAt+*cursor]
		for j := range 3 {
			u.at[j] += float64(t.gain[j] * innovation)
		}
		out[*cursor] = innovation * t.isd
		*cursor++
		return
	}
	var ph [3]float64
	s := noise
	for j := range 3 {
		for k := range 3 {
			ph[j] += u.cov[j][k] * slope[k]
		}
		s += slope[j] * ph[j]
	}
	sd := math.Sqrt(s)
	r := innovation / sd
	t := tapeEntry{kind: kind, event: int32(i), sd: sd, resid: r, innovation: innovation}
	w := 1.0
	if kind != obFull && p.reject[rejectKey{int32(i), kind}] {
		t.rejected, w = true, 0
		t.resid = 0
	} else if p.robust && r*r > 1 {
		w = min(weight(r), 1)
	}
	t.isd = math.Sqrt(w) / sd
	if w > 0 {
		// a doubted figure is one with more noise
		s += noise * (1/w - 1)
		for j := range 3 {
			t.gain[j] = ph[j] / s
			u.at[j] += t.gain[j] * innovation
		}
		for j := range 3 {
			for k := range 3 {
				u.cov[j][k] -= t.gain[j] * ph[k]
			}
		}
	}
	p.tape = append(p.tape, t)
}
