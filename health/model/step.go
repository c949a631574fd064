package model

import (
	"maps"
	"math"
	"slices"

	"packwane/health/logbook"
)

// A pack may lose a part of its capacity at once: a string of cells comes off, one
// group fails and ends every ride. A fade does not do that. The figures of the first
// full cycles after it, which bear each other out, would be put aside as misreadings one
// by one, until the fade is bent to follow, and then it is too low and falls on. So the
// capacity may change at one event (pStep), where the records say so. Where it may have
// been is seen in three ways: the last full cycles of the log, each by its ride and by the
// charge that refilled it, lie off what the rest expects, many figures of a stretch were
// put aside, or the capacity falls steeply between two knots.

// leastStep is how far off they must lie, or the capacity fall, as a logarithm, and
// bornOut how near ride and charge must come to each other.
const leastStep, bornOut = .08, .12

// lowAtEnd is the charge level that volts after a ride may show at most to bear out
// that the limit had been met.
const lowAtEnd = .35

// stepPrice is what a step must gain, as half a deviance: few packs have one, and a
// second fit may put fewer figures aside by chance. asidePrice is what a figure costs
// that was put aside.
const stepPrice, asidePrice = 20.0, 8.0

// mostSteps is how many events are tried for a step.
const mostSteps = 6

// orStepped is the fit, or one with a step that the records ask for.
func (fit *Fit) orStepped() *Fit {
	best, least := fit, math.NaN()
	try := func(from int) {
		m := prepare(fit.m.h)
		m.setStep(from)
		stepped := settled(m)
		if now := stepped.objective() + stepPrice; now < least && math.Abs(stepped.f.p.c.step) > leastStep {
			best, least = stepped, now
		}
	}
	for _, from := range fit.maybeSteps() {
		if !fit.shows(from) {
			continue
		}
		if !known(least) {
			least = fit.objective()
		}
		try(from)
	}
	if best == fit {
		return fit
	}
	if from := best.nearby(); from != best.m.stepFrom && fit.shows(from) {
		try(from)
	}
	// What a second fit finds by itself is no merit of the step.
	if rival := settledFrom(prepare(fit.m.h), best.z); rival.objective() < best.objective()+stepPrice {
		return rival
	}
	return best
}

// unmeteredShows is how many rides to the limit show a step where no meter does.
const unmeteredShows = 3

// shows reports whether the records from one on can show a step at all. A ride or two
// that end early with charge left are rather of a cold day: a charge that was counted
// tells, else only that ride after ride ends so.
func (fit *Fit) shows(from int) bool {
	p, m := &fit.f.p, fit.m
	ended := 0
	for i := from; i < len(m.events); i++ {
		e := &m.events[i]
		if known(p.shareBy(e, math.Exp(p.c.lnCapacity(e)), true, true)) {
			return true
		}
		if e.kind == evRide && e.atLimit() {
			ended++
		}
	}
	return ended >= unmeteredShows
}

// nearby returns the event about the step at which it would explain most.
func (fit *Fit) nearby() int {
	m, p := fit.m, &fit.f.p
	was := m.stepFrom
	first := max(was-troubledOver/2, 0)
	trial := &pass{m: m, c: p.c, carry: slices.Clone(p.carry), reject: maps.Clone(p.reject), robust: true}
	maps.DeleteFunc(trial.reject, func(key rejectKey, _ bool) bool { return int(key.event) >= first })
	best, least := was, trial.explains(first)
	for from := first; from < min(was+troubledOver/2, len(m.events)); from++ {
		m.setStep(from)
		if now := trial.explains(first); now < least {
			best, least = from, now
		}
	}
	m.setStep(was)
	return best
}

// maybeSteps lists the events at which the capacity may have changed at once.
func (fit *Fit) maybeSteps() []int {
	at := fit.steep()
	if from := fit.suddenly(); from >= 0 {
		at = append(at, from)
	}
	if from := fit.likeliest(fit.troubled()); from >= 0 {
		at = append(at, from)
	}
	return at
}

// steep lists rides about where the capacity falls steeply between two knots.
func (fit *Fit) steep() (at []int) {
	m := fit.m
	value := func(k int) float64 { return m.params[numScalars+k].value(fit.z[numScalars+k]) }
	steep, most := -1, leastStep
	for k := range len(m.knots) - 1 {
		if fall := value(k) - value(k+1); fall > most && fall > steepPerAge*(m.knots[k+1]-m.knots[k]) {
			steep, most = k, fall
		}
	}
	if steep < 0 {
		return nil
	}
	var rides []int
	for i := range m.events {
		if e := &m.events[i]; e.kind == evRide && e.knot >= steep-1 && e.knot <= steep+1 {
			rides = append(rides, i)
		}
	}
	n := min(len(rides), mostSteps)
	for k := range n {
		at = append(at, rides[(2*k+1)*len(rides)/(2*n)])
	}
	return at
}

// steepPerAge is the fall of ln C, for the age of a knot, that a fade may well have.
const steepPerAge = 1.0

// likeliest returns the event of a list at which a step, all else as it is, would
// explain most of the records that follow; -1 where none would pay half its price.
func (fit *Fit) likeliest(list []int) int {
	m, p := fit.m, &fit.f.p
	best, least := -1, -stepPrice/2
	for _, from := range list {
		c := *p.c
		trial := &pass{m: m, c: &c, carry: slices.Clone(p.carry), reject: p.reject, robust: true}
		is := trial.explains(from)
		m.setStep(from)
		trial.reject = maps.Clone(p.reject)
		maps.DeleteFunc(trial.reject, func(key rejectKey, _ bool) bool { return int(key.event) >= from })
		for _, c.step = range [...]float64{-.5, -.4, -.3, -.22, -.15, -.1, .1, .2, .35} {
			if gain := trial.explains(from) - is; gain < least {
				best, least = from, gain
			}
		}
		m.setStep(-1)
	}
	return best
}

// stepShows is how many records a step must show in.
const stepShows = 3 * troubledOver

// explains is the objective over the records from one on, as far as a step must show.
func (p *pass) explains(from int) (sum float64) {
	st := p.carry[from].start
	p.tape = p.tape[:0]
	for i := from; i < min(from+stepShows, len(p.carry)); i++ {
		p.carry[i].start, p.carry[i].tapeAt = st, len(p.tape)
		p.event(i, &st)
	}
	return p.badly()
}

// badly is what the tape explains badly, as half a deviance: noises and figures put
// aside count, so that fits of the same records can be compared.
func (p *pass) badly() (sum float64) {
	for k := range p.tape {
		t := &p.tape[k]
		if sum += math.Log(t.sd); t.rejected {
			sum += asidePrice
		} else {
			sum += deviance(t.resid, true)
		}
	}
	return sum
}

// What makes a stretch of the log one in which something changed: so many figures put
// aside in so many records.
const troubles, troubledOver = 4, 12

// troubled lists the rides of the last stretch of the log in which figures that bear
// each other out may have been put aside.
func (fit *Fit) troubled() (rides []int) {
	aside := make([]int, len(fit.m.events))
	for key := range fit.f.p.reject {
		aside[key.event]++
	}
	for end := len(aside) - 1; end >= 0; end-- {
		count := 0
		for i := end; i >= 0 && i > end-troubledOver; i-- {
			count += aside[i]
		}
		if aside[end] == 0 || count < troubles {
			continue
		}
		for i := end; i >= 0 && i > end-troubledOver && len(rides) < mostSteps; i-- {
			if fit.m.events[i].kind == evRide {
				rides = append(rides, i)
			}
		}
		return rides
	}
	return nil
}

// objective is what the fit explains badly of all its records.
func (fit *Fit) objective() float64 {
	f := fit.f
	f.p.base(fit.z)
	return f.p.badly() + priorCost(f.precise, fit.z)
}

// fullCycle is a ride from full to the limit with the charge that refilled it.
type fullCycle struct {
	ride int
	off  float64 // ln of its charge over what was expected
	low  bool    // the volts behind it are those of a pack near its limit
}

// suddenly returns the event from which on the capacity seems changed at once; -1
// where it does not.
func (fit *Fit) suddenly() int {
	if len(fit.f.p.reject) == 0 {
		return -1
	}
	cycles := fit.fullCycles()
	first := len(cycles)
	for first > 0 && math.Abs(cycles[first-1].off) > leastStep && cycles[first-1].off*cycles[len(cycles)-1].off > 0 {
		first--
	}
	run := cycles[first:]
	switch {
	case first == 0 || len(run) == 0: // nothing before to have changed from
		return -1
	case len(run) == 1 && run[0].off < 0 && !run[0].low: // its stop may be a slip
		return -1
	}
	return run[0].ride
}

// fullCycles lists the full cycles that ride and charge bear out.
func (fit *Fit) fullCycles() (out []fullCycle) {
	p, m := &fit.f.p, fit.m
	for i := range m.events {
		e := &m.events[i]
		if e.kind != evRide || e.stop != "limit" || !p.carry[i].reset && math.Abs(p.carry[i].start.x) > unseenShare {
			continue
		}
		var f felt
		p.feel(i, &f, everyPart)
		q := p.shareBy(e, f.whole(), true, true)
		refilled, v := fit.refill(i)
		if !known(q) || !(math.Abs(math.Log(refilled/q)) < bornOut) {
			continue
		}
		c := fullCycle{ride: i, off: math.Log(q / max(f.by[feltLimit], givesAtLeast))}
		if known(e.km) {
			wh := q * f.whole() * m.chem.NominalV * m.series
			if went := math.Log(e.km / (wh / math.Exp(f.by[feltLoad]))); math.Abs(went) > math.Abs(c.off)/2 {
				continue // the meter counts otherwise than before, the way does not
			}
		}
		if known(e.endV) {
			v = e.endV
		}
		c.low = known(v) && f.curve.Soc(v-p.c.voltOffset) < lowAtEnd
		out = append(out, c)
	}
	return out
}

// refill is the share of the capacity that the full charge after ride i put in, with
// nothing ridden between, and the rest volts before it; NaN where there is none.
func (fit *Fit) refill(i int) (share, startV float64) {
	p := &fit.f.p
	for j := i + 1; j < len(fit.m.events); j++ {
		switch e := &fit.m.events[j]; {
		case e.kind == evRide || e.kind == evCharge && e.full != logbook.Yes:
			return math.NaN(), math.NaN()
		case e.kind == evCharge:
			return p.shareBy(e, math.Exp(p.c.lnCapacity(e)), true, true) / (1 + p.c.coulomb), e.startV
		}
	}
	return math.NaN(), math.NaN()
}

// setStep lets the capacity change at event from, -1 for nowhere.
func (m *machine) setStep(from int) {
	m.stepFrom = from
	for i := range m.events {
		m.events[i].stepped = from >= 0 && i >= from
	}
}

// Step is where the capacity changed at once: the first ride behind it, and what
// is left of the capacity, percent.
type Step struct {
	Ride    *logbook.Ride
	LeftPct Draws
}

// Step returns the step of the capacity; false where there is none.
func (fit *Fit) Step() (s Step, ok bool) {
	if fit.m.stepFrom < 0 {
		return s, false
	}
	var ride *logbook.Ride
	for i := fit.m.stepFrom; i < len(fit.m.events) && ride == nil; i++ {
		ride, _ = fit.m.events[i].record.(*logbook.Ride)
	}
	return Step{ride, fit.each(func(d *draw) float64 { return 100 * math.Exp(d.lnStep()) })}, ride != nil
}

// lnStep is ln of what was left at once: the current of each cell is another from
// then on, and the laws are off by another little.
func (d *draw) lnStep() float64 { return d.cell.step + discrepancy.capacity*d.test[0] }
