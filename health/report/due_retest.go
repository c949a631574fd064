package report

import (
	"math"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// belief is what is believed of the range (or of a bench pack's capacity) on
// one day.
type belief struct {
	e      *Estimate
	spread float64 // standard deviation of its logarithm
}

// asking says when a range test would change what the rider knows.
type asking struct {
	fit    *model.Fit
	bench  bool
	need   logbook.Num
	cold   time.Time // the coldest day of the coming year
	inCold bool      // the need lies within the interval of that day's range
}

func (a *asking) on(t time.Time) belief {
	s := a.fit.At(t)
	draws := s.RangeKm
	if a.bench {
		draws = s.CapacityAh
	}
	return belief{e: estimate(draws), spread: lnSpread(draws)}
}

func (b belief) width() float64 { return (*b.e.High - *b.e.Low) / b.e.Value }

func (b belief) holds(km float64) bool { return *b.e.Low <= km && km <= *b.e.High }

func (b belief) complete() bool { return b.e != nil && b.e.Low != nil && b.e.High != nil }

// due reports whether a test is worth its cycle on a day: its own scatter is
// no larger than what is not known (so that it narrows the interval by 29 % or
// more), and either the need lies within the interval, now or in the cold, or
// the interval is too wide to plan by.
func (a *asking) due(b belief) bool {
	if !b.complete() || !(b.e.Value > 0) || !(b.spread >= a.fit.TestScatter()) {
		return false
	}
	if a.need.OK {
		return b.holds(a.need.V) || a.inCold || b.width() > wideShareNeed
	}
	return b.width() > wideShare
}

func (d *duty) asking(fit *model.Fit) *asking {
	a := &asking{fit: fit, bench: fit.Bench()}
	if !a.bench && d.h.Pack.NeedRangeKm.V > 0 {
		a.need, a.cold = d.h.Pack.NeedRangeKm, d.coldest()
		b := belief{e: estimate(fit.SeasonRangeKm(a.cold))}
		a.inCold = b.complete() && b.holds(a.need.V)
	}
	return a
}

// rangeUncertain dates the next range test.
func rangeUncertain(d *duty) []found {
	if !d.known.Capacity || !d.fit.Bench() && !d.known.Road || d.pastDeciding() {
		return nil
	}
	a := d.asking(d.fit)
	due, ok := d.firstDay(a, d.now, d.now.AddDate(1, 0, 0))
	if !ok {
		return nil
	}
	b := a.on(due)
	if !due.After(d.now) {
		due = d.askedSince()
	}
	if until, is := d.stored(); is {
		if until.IsZero() {
			return nil
		}
		due = later(due, until)
	}
	f := found{due: due, records: d.told(), anchor: "first"}
	if tests := d.tests(); len(tests) > 0 {
		f.anchor = tests[len(tests)-1].ID
	}
	name, unit := "range_km", units.Km
	if a.bench {
		name, unit = "capacity_ah", units.Ah
	}
	f.figures = []Figure{figure(name, b.e), bare("width_share", b.width())}
	what := "the range"
	if a.bench {
		what = "the capacity"
	}
	if due.After(d.now) {
		f.why = say("by then "+what+" will be known no better than ", about(b.e, unit))
	} else {
		f.why = say(what+" is known no better than ", about(b.e, unit))
	}
	switch {
	case a.need.OK && b.holds(a.need.V):
		f.why = say(f.why, ", and the need of ", exact(a.need.V, units.Km), " lies within")
	case a.need.OK && a.inCold:
		f.why = say(f.why, ", and whether it meets the need of ", exact(a.need.V, units.Km), " in the cold is open")
	default:
		f.why = say(f.why, ", which is ", exact(math.Round(100*b.width()), units.Pct), " wide")
	}
	f.why = say(f.why, ": one test would tell")
	if a.need.OK {
		f.figures = append(f.figures, bare("need_range_km", a.need.V))
	}
	return []found{f}
}

// pastDeciding reports whether the pack is to be retired whatever a test would
// show.
func (d *duty) pastDeciding() bool {
	e := estimate(d.snapshot().SohPct)
	return e != nil && e.High != nil && *e.High < d.h.Pack.RetireSohPct.Or(logbook.DefaultRetireSohPct)
}

// firstDay finds the first day from..to on which a test is due, to the day. A
// width that grows with time is taken as growing throughout.
func (d *duty) firstDay(a *asking, from, to time.Time) (time.Time, bool) {
	if a.due(a.on(from)) {
		return from, true
	}
	const step = 30
	last := int(to.Sub(from).Hours()/24 + .5)
	lo, hi := 0, 0
	for {
		if hi >= last {
			return from, false
		}
		lo, hi = hi, min(hi+step, last)
		if a.due(a.on(from.AddDate(0, 0, hi))) {
			break
		}
	}
	for hi-lo > 1 {
		if m := (lo + hi) / 2; a.due(a.on(from.AddDate(0, 0, m))) {
			hi = m
		} else {
			lo = m
		}
	}
	return from.AddDate(0, 0, hi), true
}

// askedSince dates back a test that is due already: from the last record on
// nothing was learnt, and the fit as of then tells when it became due.
func (d *duty) askedSince() time.Time {
	last := d.lastRecord()
	if last.IsZero() || !last.Before(d.now.AddDate(0, 0, -1)) {
		return d.now
	}
	t, ok := d.firstDay(d.asking(d.fit.SeenFrom(last)), last, d.now)
	if !ok {
		return d.now
	}
	return t
}

// testLongAgo is the plain rule for where the model cannot tell the range.
func testLongAgo(d *duty) []found {
	if d.known.Capacity && (d.known.Road || d.fit.Bench()) {
		return nil
	}
	first := d.firstRecord()
	if first.IsZero() {
		return nil
	}
	f := found{due: first.AddDate(0, 0, firstTestDays), anchor: "first", why: say("the log begins on " + d.dayOf(first) + " and holds no ride from full to the limit yet: the range cannot be told without one")}
	if tests := d.tests(); len(tests) > 0 {
		last := tests[len(tests)-1]
		f = found{due: last.At.AddDate(0, 0, testAgainDays), anchor: last.ID, records: []string{last.ID}, why: say("the last ride from full to the limit was on " + d.dayOf(last.At) + " (" + last.ID + ") and the log cannot tell the range without another")}
	}
	if until, is := d.stored(); is {
		if until.IsZero() {
			return nil
		}
		f.due = later(f.due, until)
	}
	return []found{f}
}
