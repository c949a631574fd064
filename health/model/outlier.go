package model

import "math"

// doubtAt is how many standard deviations a figure must lie off what all the
// rest expects before it is put aside as a misreading.
const doubtAt = 4.5

// putAside finds the figures that do not fit the rest and rejects them; it
// reports whether the set of rejected figures changed. For an event in which
// some figure surprises, each figure in turn is left out, and the one without
// which the others agree best is the wrong one.
func (f *fitter) putAside() bool {
	p := &f.p
	changed := false
	for i := range f.m.events {
		worst := 0.0
		for k := p.rowOf(i); k < f.endRow(i); k++ {
			if !p.tape[k].rejected {
				worst = max(worst, math.Abs(p.tape[k].resid))
			}
		}
		if worst >= doubtAt && f.rejectOne(i) {
			changed = true
		}
	}
	return changed
}

func (f *fitter) endRow(i int) int {
	if i+1 < len(f.p.carry) {
		return f.p.carry[i+1].tapeAt
	}
	end := len(f.p.tape)
	if end > 0 && f.p.tape[end-1].kind == obAsNew {
		end--
	}
	return end
}

// rejectOne leaves out each figure of event i in turn.
func (f *fitter) rejectOne(i int) bool {
	p := &f.p
	cost := func(reject map[rejectKey]bool) (float64, []tapeEntry) {
		trial := pass{m: f.m, c: p.c, carry: make([]carried, len(p.carry)), reject: reject, robust: true}
		st := p.carry[i].start
		sum := 0.0
		for j := i; j < min(i+3, len(f.m.events)); j++ { // a wrong figure may surprise only the next record
			trial.carry[j].start = st
			trial.carry[j].tapeAt = len(trial.tape)
			trial.event(j, &st, nil)
		}
		for k := range trial.tape {
			if !trial.tape[k].rejected {
				sum += deviance(trial.tape[k].resid, true)
			}
		}
		return sum, trial.tape
	}
	all, tape := cost(p.reject)
	bestKey, best := rejectKey{}, all
	for k := range tape {
		t := &tape[k]
		if int(t.event) != i || t.kind == obLimit || t.kind == obFull || t.rejected {
			continue
		}
		key := rejectKey{int32(i), t.kind}
		p.reject[key] = true
		if c, _ := cost(p.reject); c < best {
			best, bestKey = c, key
		}
		delete(p.reject, key)
	}
	// a figure that costs less than this is only unlikely, not wrong
	if all-best < deviance(doubtAt, true)*.8 {
		return false
	}
	p.reject[bestKey] = true
	return true
}
