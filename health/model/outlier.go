package model

import (
	"maps"
	"math"
	"slices"

	"packwane/health/logbook"
)

// doubtAt is how many standard deviations a figure must lie off what all the
// rest expects before it is put aside as a misreading.
const doubtAt = 4.5

// putAside finds the figures that do not fit the rest and rejects them. For an
// event in which some figure surprises, each figure in turn is left out, and the
// one without which the others agree best is the wrong one.
func (f *fitter) putAside() {
	p := &f.p
	trial := &pass{m: f.m, c: p.c, carry: p.carry, reject: p.reject, robust: true}
	f.takeBack(trial)
	f.rejectImpossible()
	for i := range f.m.events {
		worst := 0.0
		for k, to := p.rowsOf(i); k < to; k++ {
			if t := &p.tape[k]; !t.rejected {
				worst = max(worst, math.Abs(t.resid))
			}
		}
		forgot := p.carry[i].unseen || i+1 < len(p.carry) && p.carry[i+1].unseen
		if worst >= doubtAt || forgot {
			f.rejectOne(i, trial)
		}
	}
}

// What it costs, in deviance, to take it that something was not logged. One
// wrong figure is the likelier, where it explains as much; but a charge that
// gives more than was ridden, and no more than the pack holds, mostly refills
// a ride that nobody wrote down where there was time for one: slips of the pen
// are larger or make it less.
const (
	unseenCost     = 4.0
	unseenRideCost = 2.0
	unseenRideDays = .25
)

// unseenPrice is that cost for an event.
func unseenPrice(e *event, c *carried) float64 {
	switch {
	case !c.unseen:
		return 0
	case e.kind == evCharge && c.unseenTook > 0 && e.gapDays > unseenRideDays:
		return unseenRideCost
	}
	return unseenCost
}

// farBeyond is how many times what a full pack holds a figure must ask for to be
// impossible, whatever wind and slope; a charger loses some of what the wall gives.
const farBeyond, farBeyondWall = 1.5, 2.0

// rejectImpossible puts aside the distances and the figures of meters that no full
// pack could have carried, unless they are so many that rather the load or the
// capacity is not known yet.
func (f *fitter) rejectImpossible() {
	p, m := &f.p, f.m
	found, seen := map[obsKind][]rejectKey{}, map[obsKind]int{}
	for i := range m.events {
		e := &m.events[i]
		ah := math.Exp(p.c.lnCapacity(e))
		wh := ah * m.chem.NominalV * m.series
		most := farBeyond
		if e.ac {
			most = farBeyondWall
		}
		look := func(kind obsKind, asks float64) {
			if !known(asks) {
				return
			}
			seen[kind]++
			if asks > most {
				found[kind] = append(found[kind], rejectKey{int32(i), kind})
			}
		}
		look(obAh, e.ah/ah)
		look(obWh, e.wh/wh)
		if e.kind == evRide && known(e.km) {
			look(obDistance, e.km*math.Exp(p.c.lnLoad(e))/wh)
		}
	}
	for kind, keys := range found {
		if len(keys)*5 > seen[kind] {
			continue
		}
		for _, key := range keys {
			p.reject[key] = true
		}
	}
}

// rejectOne leaves out each figure of event i in turn; trial is a pass for that,
// whose tape is written over.
func (f *fitter) rejectOne(i int, trial *pass) {
	p := &f.p
	all := f.costAround(i, trial)
	var figures []rejectKey
	for k := range trial.tape {
		t := &trial.tape[k]
		if int(t.event) != i || t.kind == obLimit && !f.wellBeforeLimit(i) || t.kind == obFull || t.kind == obWarm || t.kind == obHolds || t.rejected {
			continue
		}
		figures = append(figures, rejectKey{int32(i), t.kind})
	}
	bestKey, best := rejectKey{}, all
	for _, key := range figures {
		p.reject[key] = true
		if c := f.costAround(i, trial); c < best {
			best, bestKey = c, key
		}
		delete(p.reject, key)
	}
	// a figure that costs less than this is only unlikely, not wrong
	if all-best >= deviance(doubtAt, true)*.8 {
		p.reject[bestKey] = true
	}
}

// endedEarly is the share of the capacity that must have been left, by what a ride
// drew, for its stop at the limit to be doubted.
const endedEarly = .2

// wellBeforeLimit reports whether ride i drew much less than would have brought the
// pack to the limit that is said to have stopped it, while the rides to the limit
// before and after it are believed. Where two in a row end early, the pack does.
func (f *fitter) wellBeforeLimit(i int) bool {
	p, events := &f.p, f.m.events
	e := &events[i]
	var own felt
	p.feel(i, &own, everyPart)
	q := p.measuredShare(i, e, own.whole())
	if e.stop != "limit" || !known(q) || p.carry[i].start.x+q > own.by[feltLimit]-endedEarly {
		return false
	}
	for _, step := range []int{-1, 1} {
		for j := i + step; j >= 0 && j < len(events); j += step {
			if events[j].kind == evRide && events[j].atLimit() {
				if p.rejected(j, obLimit) {
					return false
				}
				break
			}
		}
	}
	return true
}

// takeBack believes the figures again that the rest has come to agree with:
// they were put aside for what another record, since doubted itself, or the
// parameters of then made of them.
func (f *fitter) takeBack(trial *pass) {
	p := &f.p
	for _, key := range slices.SortedFunc(maps.Keys(p.reject), rejectKey.compare) {
		without := f.costAround(int(key.event), trial)
		delete(p.reject, key)
		if f.costAround(int(key.event), trial)-without >= deviance(doubtAt, true)*.5 {
			p.reject[key] = true
		}
	}
}

// around is how many records a wrong figure may surprise: it may only be the
// next one.
const around = 3

// costAround is what event i and those around it cost; what they carried stays.
func (f *fitter) costAround(i int, trial *pass) float64 {
	var kept [around]carried
	carry := trial.carry[i:min(i+around, len(trial.carry))]
	copy(kept[:], carry)
	defer copy(carry, kept[:])
	st := carry[0].start
	trial.tape = trial.tape[:0]
	sum := 0.0
	for j := range carry {
		carry[j].start = st
		carry[j].tapeAt = len(trial.tape)
		trial.event(i+j, &st)
		sum += unseenPrice(&f.m.events[i+j], &carry[j])
	}
	for k := range trial.tape {
		if !trial.tape[k].rejected {
			sum += deviance(trial.tape[k].resid, true)
		}
	}
	return sum
}

// Misreading is a figure that the fit put aside.
type Misreading struct {
	Record   logbook.Record
	Field    string  // of the record
	Figure   float64 // as logged: volts are those of the pack; of a stop the charge left at the limit, none
	Expected float64 // what the rest of the log expects instead: of a stop the percent of the charge that was left
	Surprise float64 // how many standard deviations lie between
}

var fieldOf = map[eventKind]map[obsKind]string{
	evRide:   {obLimit: "stop", obStartV: "start_rest_v", obAh: "discharged_ah", obWh: "discharged_wh", obDistance: "distance_km", obEndV: "end_rest_v"},
	evCharge: {obStartV: "start_rest_v", obAh: "charged_ah", obWh: "charged_wh", obEndV: "end_rest_v"},
	evCheck:  {obStartV: "rest_v", obOhm: "resistance_mohm"},
}

// Misreadings lists the figures that were put aside, in the order of the log.
func (fit *Fit) Misreadings() []Misreading {
	p := &fit.f.p
	var out []Misreading
	for k := range p.tape {
		t := &p.tape[k]
		if !t.rejected {
			continue
		}
		e := &fit.m.events[t.event]
		m := Misreading{Record: e.record, Field: fieldOf[e.kind][t.kind], Surprise: math.Abs(t.innovation) / t.sd}
		m.Figure = e.figure(t.kind)
		switch t.kind {
		case obStartV, obEndV:
			m.Figure *= fit.m.series
			m.Expected = m.Figure - t.innovation*fit.m.series
		case obLimit:
			m.Figure, m.Expected = 0, 100*t.innovation
		case obOhm:
			m.Figure *= 1000
			m.Expected = m.Figure / math.Exp(t.innovation)
		default:
			m.Expected = m.Figure / math.Exp(t.innovation)
		}
		out = append(out, m)
	}
	slices.SortStableFunc(out, func(a, b Misreading) int { return logbook.Compare(a.Record, b.Record) })
	return out
}

// figure returns what the record says of one observation.
func (e *event) figure(kind obsKind) float64 {
	switch kind {
	case obStartV:
		return e.startV
	case obEndV:
		return e.endV
	case obAh:
		return e.ah
	case obWh:
		return e.wh
	case obDistance:
		return e.km
	}
	return e.ohm
}
