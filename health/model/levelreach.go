package model

import (
	"math"
	"slices"
)

// reach turns the beliefs into what is left.
func (l *leveller) reach() *Reach {
	m, r := l.fit.m, l.out
	below, empty := 0.0, 0
	for _, i := range l.picks {
		t := l.today(l.steps[i])
		ah, wh, _ := t.scene.onward(m, t.deficit)
		end := t.scene.endAt()
		below += max(1-end/max(t.scene.full, .1), 0) / float64(len(l.picks))
		if ah == 0 {
			empty++
		}
		left := max(wh-t.climbWh, 0)
		r.LevelPct = append(r.LevelPct, 100*min(max(1-l.steps[i].deficit/end, 0), 1))
		r.RemainingWh = append(r.RemainingWh, wh)
		r.RemainingKm = append(r.RemainingKm, left/t.scene.whPerKm)
		r.ThisRideKm = append(r.ThisRideKm, left*t.limit/(t.scene.whPerKm*t.whim))
		if l.learns() {
			r.DayPct = append(r.DayPct, 100*math.Expm1(t.day))
		}
	}
	r.BelowPct = 100 * below
	r.BelowLimit = empty > len(l.picks)/2
	r.BeyondFull = l.beyondFull()
	l.home()
	return r
}

// home works out how far one may go on and still come home.
func (l *leveller) home() {
	m, r := l.fit.m, l.out
	atRisk := make([]float64, 0, len(l.homePicks))
	reached, helped := 0, 0
	for _, i := range l.homePicks {
		ld := l.steps[i]
		t := l.today(ld)
		home := t.day
		if l.learns() && l.untoldWind(ld) {
			day, wind := l.part(ld)
			home = max(day, 0) - wind
			if wind < -helps {
				helped++
			}
		}
		back := ld.back * math.Exp(home)
		r.OutWhPerKm, r.HomeWhPerKm = append(r.OutWhPerKm, t.scene.whPerKm), append(r.HomeWhPerKm, back)
		_, wh, _ := t.scene.onward(m, t.deficit)
		there := max(min(wh, t.scene.outAndBack(m, t.deficit, back))-t.climbWh, 0)
		farthest := (there*t.limit - back*t.whim*l.s.OutKm.Or(0)) / ((t.scene.whPerKm + back) * t.whim)
		if farthest >= 0 {
			reached++
		}
		r.FarthestKm = append(r.FarthestKm, farthest)
		atRisk = append(atRisk, farthest)
	}
	r.HomeShare = float64(reached) / float64(len(l.homePicks))
	r.Helped = helped > len(l.homePicks)/2
	slices.Sort(atRisk)
	r.TurnBackKm = max(Quantile(atRisk, l.s.Risk), 0)
	r.TurnBackV = l.turnV(r.TurnBackKm)
}

// today is one draw of what is still to come.
type today struct {
	scene       scene   // with what today's kilometre takes
	day         float64 // ln of that over the expected
	deficit     float64
	climbWh     float64
	whim, limit float64 // factors of one ride's consumption and of where it meets the limit
}

func (l *leveller) today(ld *levelDraw) today {
	m := l.fit.m
	t := today{scene: ld.scene, deficit: ld.deficit + limitDoubt*l.rng.NormFloat64()}
	own := m.scale.consumption
	if l.learns() {
		t.day = l.learn(ld)
		own *= math.Sqrt(1 - dayShare)
	}
	t.scene.whPerKm *= math.Exp(t.day)
	t.scene.ampere *= math.Exp(t.day)
	t.climbWh = ld.climbWh * math.Exp(t.day)
	if l.s.RestV.OK {
		t.deficit += voltDoubt * l.rng.NormFloat64()
	}
	t.whim = math.Exp(own * l.rng.NormFloat64())
	t.limit = math.Exp(m.scale.limit * l.rng.NormFloat64())
	return t
}

// outAndBack is the energy from a deficit to the limit where the rider turns on
// the way: the limit is met on the way home, at the current of its wind. Where
// that is less than on the way out nobody counts on it.
func (s *scene) outAndBack(m *machine, deficit, backWhPerKm float64) float64 {
	home := *s
	home.ampere *= backWhPerKm / s.whPerKm
	q := home.endAt() - deficit
	if q <= 0 {
		return 0
	}
	home.ampere = (home.ampere + s.ampere) / 2
	return s.ah(q) * home.loadV(m, deficit, q) * m.series
}

// learns reports whether the way out tells what today's kilometre takes.
func (l *leveller) learns() bool {
	return l.s.OutKm.OK && l.s.OutKm.V > 0 && (l.s.UsedWh.OK || l.s.UsedAh.OK)
}

// seen is ln of what the way out took over what a draw expects of it.
func (l *leveller) seen(ld *levelDraw) float64 {
	m, s := l.fit.m, &ld.scene
	wh := l.s.UsedWh.V
	if !l.s.UsedWh.OK {
		q := l.s.UsedAh.V / s.ah(1)
		wh = l.s.UsedAh.V * s.loadV(m, 0, q) * m.series
	}
	return math.Log(wh / l.s.OutKm.V / s.whPerKm)
}

// helps is what wind or slope must have spared on the way out, as a logarithm, to be told.
const helps = .02

// untoldWind reports whether a wind that nobody spoke of may have helped on the way out.
func (l *leveller) untoldWind(ld *levelDraw) bool {
	return !l.s.Way.HeadwindKmh.OK && l.seen(ld) < 0
}

// part parts what the way out took less than expected, by how much each usually
// varies, into what is the day's and what a wind along the way did, which is against the
// rider on the way home (0 or less, as a logarithm). A day that goes on as it was is not
// counted on beyond the usual, nor is a wind that will help.
func (l *leveller) part(ld *levelDraw) (day, wind float64) {
	seen := l.seen(ld)
	common, noise := l.wayVar()
	gain := square(ld.windLn) / (square(ld.windLn) + common + noise)
	wind = gain*seen + ld.windLn*math.Sqrt(1-gain)*l.rng.NormFloat64()
	gain = common / (common + noise)
	day = gain*(seen-wind) + math.Sqrt(common*(1-gain))*l.rng.NormFloat64()
	return day, min(wind, 0)
}

// wayNu are the degrees of freedom of the Student distribution of a way out
// about the expected: a day that takes far more than any that was logged is
// believed.
const wayNu = 4.0

// wayVar is the variance of seen: what of the scatter stays with the ride as it
// goes on, and what does not.
func (l *leveller) wayVar() (common, noise float64) {
	scatter := square(l.fit.m.scale.consumption)
	return dayShare * scatter, (1-dayShare)*scatter + square(usedNoise) + square(.01)
}

// lnWay is how well the way out goes with a draw in so much wind (see windLn), as the logarithm of a density:
// where the log leaves the scale of consumption open, as a wall meter does, one
// way out with a meter tells much of it.
func (l *leveller) lnWay(ld *levelDraw, windLn float64) float64 {
	common, noise := l.wayVar()
	return -(wayNu + 1) / 2 * math.Log1p(square(l.seen(ld))/(common+noise+square(windLn))/wayNu)
}

// learn is ln of what today's kilometre takes over the expected, from the way
// out: its meter and its scatter hide some of it. A day that takes far less than
// any that was logged is not believed: the way home may ask it back.
func (l *leveller) learn(ld *levelDraw) float64 {
	seen := l.seen(ld)
	common, noise := l.wayVar()
	if far := square(max(seen, 0)) / (common + noise); far > 1 {
		common *= (wayNu + far) / (wayNu + 1)
	}
	gain := common / (common + noise)
	return gain*seen + math.Sqrt(common*(1-gain))*l.rng.NormFloat64()
}

// turnV is the middle of what the voltmeter reads at rest where one has to
// turn, as long after the load as now.
func (l *leveller) turnV(km float64) float64 {
	m := l.fit.m
	if !m.voltsKnown || l.out.BelowLimit {
		return math.NaN()
	}
	var volts []float64
	for k, i := range l.homePicks {
		ld := l.steps[i]
		s := ld.scene
		at := s.after(m, ld.deficit, km*l.out.OutWhPerKm[k])
		v, _ := s.curve.OCV(s.full - at)
		volts = append(volts, (v+ld.d.cell.voltOffset-ld.drop)*m.series)
	}
	return Quantile(volts, .5)
}

// beyondFull reports whether the volts lie above what a full pack shows.
func (l *leveller) beyondFull() bool {
	if !l.s.RestV.OK || !l.fit.m.voltsKnown {
		return false
	}
	v := l.s.RestV.V / l.fit.m.series
	top := l.fit.each(func(d *draw) float64 {
		full, _ := d.cell.curve.OCV(l.fit.m.fullSoc(&d.cell, l.fit.m.ref.fullV))
		return full + d.cell.voltOffset
	})
	return v > Quantile(top, .95)+.05
}

// RestSpan returns the rest volts of the pack when it is full, and where the
// limit is met under load at reference conditions: the middle of the draws.
func (fit *Fit) RestSpan() (fullV, limitV float64) {
	trip := fit.tripOf(Way{})
	var tops, lows Draws
	for i := range fit.draws {
		d := &fit.draws[i]
		s := fit.sceneOf(d, Way{}, &trip)
		top, _ := s.curve.OCV(s.full)
		low, _ := s.curve.OCV(s.full - s.endAt())
		tops, lows = append(tops, top+d.cell.voltOffset), append(lows, low+d.cell.voltOffset)
	}
	return Quantile(tops, .5) * fit.m.series, Quantile(lows, .5) * fit.m.series
}
