package model

import (
	"math"
	"slices"
	"time"
)

// Draws are samples of one quantity, aligned by index with those of every
// other quantity of the same fit. A value that does not exist in a draw is
// NaN or ±Inf.
type Draws []float64

// Now returns the day of the fit's as-of.
func (fit *Fit) Now() time.Time { return fit.m.h.AsOf }

// SeenFrom is the fit with its clock at another time from the end of the log
// on: the records are the same, and with them the mode and the draws.
func (fit *Fit) SeenFrom(t time.Time) *Fit {
	seen, m, h := *fit, *fit.m, *fit.m.h
	h.AsOf = t
	m.h, m.nowDay = &h, dayOf(t)
	m.setReference()
	seen.m = &m
	seen.pace = seen.usage()
	seen.draws = slices.Clone(fit.draws)
	for i := range seen.draws {
		seen.complete(&seen.draws[i])
	}
	return &seen
}

// each evaluates f at every draw.
func (fit *Fit) each(f func(*draw) float64) Draws {
	out := make(Draws, len(fit.draws))
	for i := range fit.draws {
		out[i] = f(&fit.draws[i])
	}
	return out
}

// age is where a pack stands in its life: years in service and cycles of the
// rated capacity.
type age struct{ years, cycles float64 }

// What was worked out and not measured is known to so much, as the standard
// deviation of a logarithm: the charge of a ride from its distance or its
// volts, as a share of the capacity, and that of riding that was not logged. Where
// neither an odometer nor a metered refill shows that, only what showed at rests,
// as much again may not have shown.
const (
	guessedSd       = .02
	unloggedSd      = .12
	unloggedBlindSd = .5
)

// throughAh is the gross charge taken out in the log, all of it. What was
// worked out as a share of the capacity goes with the draw's capacity.
func (fit *Fit) throughAh(d *draw) float64 {
	n := len(fit.through)
	if n == 0 {
		return 0
	}
	st := &fit.f.p.carry[n-1].start
	last := len(fit.m.knots) - 1
	scale := math.Exp(d.cell.lnC[last] - fit.m.params[numScalars+last].value(fit.z[numScalars+last]))
	measured := fit.through[n-1] - st.guessedAh - st.unloggedAh
	blind := 0.0
	if !fit.m.anyOdometer {
		blind = max(st.unloggedAh-st.refilledAh, 0)
	}
	return measured*math.Exp(discrepancy.throughput*d.meter) + st.guessedAh*scale*math.Exp(guessedSd*d.guess) +
		(st.unloggedAh-blind)*math.Exp(unloggedSd*d.guess) + blind*math.Exp(unloggedBlindSd*d.guess)
}

// pace is a rate of use, in rated cycles a day, and the standard deviation of
// its logarithm.
type pace struct{ perDay, sd float64 }

// in is the rate of one draw.
func (p pace) in(d *draw) float64 { return p.perDay * math.Exp(p.sd*d.usage-p.sd*p.sd/2) }

// usage returns the pace at which the log was used lately; 0 where nothing was
// ridden.
func (fit *Fit) usage() pace {
	m := fit.m
	n := len(m.events)
	if n == 0 {
		return pace{0, .5}
	}
	first := m.events[0].startDay
	end := max(m.nowDay, m.lastDay)
	if m.storedUntil > m.nowDay {
		end = min(end, max(m.storedFrom, m.lastDay)) // the days at rest are no days of use
	}
	from := max(first, end-365)
	i, _ := slices.BinarySearchFunc(m.events, from, func(e event, day float64) int {
		if e.startDay < day {
			return -1
		}
		return 1
	})
	before := 0.0
	if i < n {
		before = fit.f.p.carry[i].start.throughAh
	}
	days := max(end-from, 14)
	ah := fit.through[n-1] - before
	return pace{ah / m.ratedAh / days, math.Sqrt(square(.05) + square(.30)*30/(days+15))}
}

// ageAt returns a draw's age on a day at or after the end of the log.
func (fit *Fit) ageAt(d *draw, day float64) age {
	m := fit.m
	a := age{years: max(day-dayOf(m.born), 0) / yearDays, cycles: m.before + d.throughAh/m.ratedAh}
	a.cycles += m.riddenDays(day-m.nowDay) * fit.pace.in(d)
	return a
}

// riddenDays is on how many of the days ahead the pack is used: not while it is stored.
func (m *machine) riddenDays(ahead float64) float64 {
	return max(ahead-max(m.storedUntil-m.nowDay, 0), 0)
}

// lnCAhead returns ln C at an age past the end of the log: the draw's fade,
// its further loss at the draw's own pace, and its departure wandering on.
func (fit *Fit) lnCAhead(d *draw, a age) float64 {
	last := len(fit.m.knots) - 1
	cycles, years := fit.mix.e.cycles[last], fit.mix.e.years[last]
	now, further := d.fadeNow, 0.0
	if a.cycles > cycles || a.years > years {
		then, _ := d.fade.lnC(max(a.cycles, cycles), max(a.years, years))
		further = then - now
	}
	away := max(a.cycles-cycles, 0)/fit.mix.life + max(a.years-years, 0)/10
	keep := math.Exp(-away / wanderAge)
	return d.cell.step + now + further*math.Exp(paceSd*d.pace) + d.left*keep + wanderSd*math.Sqrt(1-keep*keep)*d.wander
}

// paceSd is how far, as the standard deviation of a logarithm, the pace of the
// further loss lies from that of the fade which fits so far: measured cells of
// other families held against what the library made of their first half.
const paceSd = .25

// pointAt is the full cycle at reference conditions on a day from now on.
func (fit *Fit) pointAt(d *draw, day float64) referencePoint {
	a := fit.ageAt(d, day)
	return d.cell.through(fit.m, &d.ref, fit.lnCAhead(d, a), a)
}

// Snapshot holds the draws of everything that a full cycle is at one time.
type Snapshot struct {
	CapacityAh, CapacityWh, SohPct Draws
	RangeKm, NextTestKm, WhPerKm   Draws
	ResistanceMohm, GrowthPct      Draws
	EquivalentFullCycles           Draws
	TotalAh, TotalKwh              Draws // taken out since new
}

// At returns the snapshot of a time from the fit's as-of on; earlier times
// give that of as-of.
func (fit *Fit) At(t time.Time) Snapshot {
	n := len(fit.draws)
	mk := func() Draws { return make(Draws, n) }
	s := Snapshot{mk(), mk(), mk(), mk(), mk(), mk(), mk(), mk(), mk(), mk(), mk()}
	day := max(dayOf(t), fit.m.nowDay)
	for i := range fit.draws {
		d := &fit.draws[i]
		a := fit.ageAt(d, day)
		p := d.cell.through(fit.m, &d.ref, fit.lnCAhead(d, a), a)
		asNew := d.asNewAh
		s.CapacityAh[i], s.CapacityWh[i] = p.ah, p.wh
		s.SohPct[i] = 100 * fit.soh(d, p.ah)
		s.RangeKm[i], s.WhPerKm[i] = p.km, p.whPerKm
		s.NextTestKm[i] = p.km * math.Exp(fit.TestScatter()*d.test[0])
		s.ResistanceMohm[i] = 1000 * p.ohm * fit.m.series
		s.GrowthPct[i] = 100 * (p.ohm/d.cell.resistance*math.Exp(discrepancy.growth*d.meter) - 1)
		through := (a.cycles - fit.m.before) * fit.m.ratedAh
		s.EquivalentFullCycles[i] = fit.m.before + through/asNew
		s.TotalAh[i] = s.EquivalentFullCycles[i] * asNew
		s.TotalKwh[i] = s.TotalAh[i] * p.wh / p.ah / 1000
	}
	return s
}

// TestScatter is the standard deviation of the logarithm of the distance that
// one range test at reference conditions shows.
func (fit *Fit) TestScatter() float64 {
	return math.Hypot(fit.m.scale.consumption, fit.m.scale.limit)
}

// SohAt returns a draw's state of health at an age that may lie anywhere in
// the life: in the log by the knots, beyond by the fade.
func (fit *Fit) sohAt(d *draw, a age) float64 {
	last := len(fit.m.knots) - 1
	var lnC float64
	if a.cycles >= fit.mix.e.cycles[last] {
		lnC = fit.lnCAhead(d, a)
	} else {
		lnC = fit.lnCBetween(d, a.cycles)
	}
	ah, _, _ := d.cell.cycleAh(fit.m, &d.ref, lnC, a)
	return fit.soh(d, ah)
}

// soh is a draw's state of health where a full cycle gives ah. What it was as new,
// neither measured nor counted on a bench, is known as well as the loss since, a
// share of which the model misses.
func (fit *Fit) soh(d *draw, ah float64) float64 {
	left := ah / d.asNewAh
	if known(fit.m.asNewAh) || fit.m.ref.bench {
		return left
	}
	return math.Pow(left, max(1+discrepancy.lost*d.lost, 0))
}

// lnCBetween is ln C of a draw after so many cycles of the log.
func (fit *Fit) lnCBetween(d *draw, cycles float64) float64 {
	ln := fit.knotsBetween(d, cycles)
	if m := fit.m; m.stepFrom >= 0 && cycles >= m.before+fit.f.p.carry[m.stepFrom].start.throughAh/m.ratedAh {
		ln += d.cell.step
	}
	return ln
}

// knotsBetween interpolates the knots by cycles: without what went at once.
func (fit *Fit) knotsBetween(d *draw, cycles float64) float64 {
	at := fit.mix.e.cycles
	k, _ := slices.BinarySearch(at, cycles)
	k = min(max(k-1, 0), len(at)-2)
	if at[k+1] <= at[k] {
		return d.cell.lnC[k+1]
	}
	w := min(max((cycles-at[k])/(at[k+1]-at[k]), 0), 1)
	return d.cell.lnC[k] + w*(d.cell.lnC[k+1]-d.cell.lnC[k])
}

// HorizonYears is how far ahead an end of life is looked for.
const HorizonYears = 30

// EndOfLife returns the draws of the equivalent full cycles (from new) and of
// the day (Unix days) at which the state of health crosses soh (a share). Where
// it does not within 30 years, +Inf. The day is NaN where the past crossing
// has no date.
func (fit *Fit) EndOfLife(soh float64) (cycles, day Draws) {
	m := fit.m
	cycles, day = make(Draws, len(fit.draws)), make(Draws, len(fit.draws))
	for i := range fit.draws {
		d := &fit.draws[i]
		cycles[i], day[i] = fit.crossing(d, soh, fit.pace.in(d))
		if cycles[i] > m.before { // those before the log are told as equivalent full cycles
			cycles[i] = m.before + (cycles[i]-m.before)*m.ratedAh/d.asNewAh
		}
	}
	return cycles, day
}

// crossing finds where one draw falls below soh: rated cycles from new and
// the day.
func (fit *Fit) crossing(d *draw, soh, rate float64) (cycles, day float64) {
	m := fit.m
	now := fit.ageAt(d, m.nowDay)
	aheadOf := func(days float64) age { return age{now.years + days/yearDays, now.cycles + rate*m.riddenDays(days)} }
	above := func(days float64) float64 { return fit.sohAt(d, aheadOf(days)) - soh }
	left := above(0)
	if left < 0 {
		return fit.pastCrossing(d, soh, now)
	}
	const horizon = HorizonYears * yearDays
	lo, hi := 0.0, 60.0
	then := above(hi)
	for ; !(then < 0); then = above(hi) {
		if hi == horizon {
			return math.Inf(1), math.Inf(1)
		}
		lo, hi, left = hi, min(hi*2.5, horizon), then
	}
	hi = firstBelow(above, lo, hi, left, then)
	a := aheadOf(hi)
	return a.cycles, m.nowDay + hi
}

// firstBelow finds where a falling f comes down to 0 between lo and hi, with
// its values there, to a thousandth; f is below 0 at what it returns. It is
// regula falsi, an end that stays a second time weighing half (the Illinois
// rule: Dowell and Jarratt 1971, from memory); each fourth step halves the span,
// which bounds their number.
func firstBelow(f func(float64) float64, lo, hi, atLo, atHi float64) float64 {
	const near = 1e-3
	stayed := 0 // -1: lo did, 1: hi did
	for i := 1; hi-lo >= near && i < 100; i++ {
		x := lo + (hi-lo)*atLo/(atLo-atHi)
		if i%4 == 0 {
			x = (lo + hi) / 2
		}
		x = min(max(x, lo+near/4), hi-near/4) // a step aside encloses what was hit
		if y := f(x); y < 0 {
			if hi, atHi = x, y; stayed < 0 {
				atLo /= 2
			}
			stayed = -1
		} else {
			if lo, atLo = x, y; stayed > 0 {
				atHi /= 2
			}
			stayed = 1
		}
	}
	return hi
}

// pastCrossing finds the crossing within the log, the last knot above the
// level to the first below.
func (fit *Fit) pastCrossing(d *draw, soh float64, now age) (cycles, day float64) {
	e := fit.mix.e
	n := len(e.cycles)
	at := func(k int) age {
		if k >= n {
			return now
		}
		return age{e.years[k], e.cycles[k]}
	}
	k := n
	for k > 0 && fit.sohAt(d, at(k-1)) < soh {
		k--
	}
	if k == 0 {
		return 0, dayOf(fit.m.born)
	}
	lo, hi := at(k-1), at(k)
	for range 24 {
		mid := age{(lo.years + hi.years) / 2, (lo.cycles + hi.cycles) / 2}
		if fit.sohAt(d, mid) < soh {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi.cycles, dayOf(fit.m.born) + hi.years*yearDays
}

// Quantile returns the q-quantile of draws, NaN where there are none. Draws
// that are not numbers are left out.
func Quantile(draws Draws, q float64) float64 { return draws.Sort().Quantile(q) }

// Sorted are draws in rising order, without those that are not numbers.
type Sorted []float64

// Sort puts draws in order, for several quantiles.
func (draws Draws) Sort() Sorted {
	s := make(Sorted, 0, len(draws))
	for _, v := range draws {
		if !math.IsNaN(v) {
			s = append(s, v)
		}
	}
	slices.Sort(s)
	return s
}

// Quantile returns the q-quantile, NaN where there are no draws.
func (s Sorted) Quantile(q float64) float64 {
	if len(s) == 0 {
		return math.NaN()
	}
	x := q * float64(len(s)-1)
	i := int(x)
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	if math.IsInf(s[i+1], 0) {
		if x == float64(i) {
			return s[i]
		}
		return s[i+1]
	}
	return s[i] + (x-float64(i))*(s[i+1]-s[i])
}
