package model

import (
	"math"
	"slices"
)

// reach turns the beliefs into what is left.
func (l *leveller) reach() *Reach {
	m, r := l.fit.m, l.out
	scatter := m.scale.consumption
	learned := l.s.OutKm.OK && l.s.OutKm.V > 0 && (l.s.UsedWh.OK || l.s.UsedAh.OK)
	atRisk := make([]float64, 0, len(l.picks))
	below := 0.0
	empty := 0
	home := 0
	for _, i := range l.picks {
		ld := l.steps[i]
		s := ld.scene
		day := 0.0
		if learned {
			day = l.learn(ld, scatter)
			r.DayPct = append(r.DayPct, 100*math.Expm1(day))
		}
		s.whPerKm *= math.Exp(day)
		s.ampere *= math.Exp(day)
		back := ld.back * math.Exp(day)
		deficit := ld.deficit + limitDoubt*l.rng.NormFloat64()
		if l.s.RestV.OK {
			deficit += voltDoubt * l.rng.NormFloat64()
		}
		ah, wh, _ := s.onward(m, deficit)
		end := s.endAt()
		below += max(1-end/max(s.full, .1), 0) / float64(len(l.picks))
		if ah == 0 {
			empty++
		}
		left := max(wh-ld.climbWh*math.Exp(day), 0)
		r.LevelPct = append(r.LevelPct, 100*min(max(1-ld.deficit/end, 0), 1.05))
		r.RemainingWh = append(r.RemainingWh, wh)
		r.RemainingKm = append(r.RemainingKm, left/s.whPerKm)
		r.OutWhPerKm, r.HomeWhPerKm = append(r.OutWhPerKm, s.whPerKm), append(r.HomeWhPerKm, back)
		own := scatter
		if learned {
			own *= math.Sqrt(1 - dayShare)
		}
		whim := math.Exp(own * l.rng.NormFloat64()) // of consumption on what is still to come
		limit := math.Exp(m.scale.limit * l.rng.NormFloat64())
		r.ThisRideKm = append(r.ThisRideKm, left*limit/(s.whPerKm*whim))
		out := l.s.OutKm.Or(0)
		there := max(min(wh, s.outAndBack(m, deficit, back))-ld.climbWh*math.Exp(day), 0)
		farthest := (there*limit - back*whim*out) / ((s.whPerKm + back) * whim)
		if farthest >= 0 {
			home++
		}
		r.FarthestKm = append(r.FarthestKm, farthest)
		atRisk = append(atRisk, farthest)
	}
	r.BelowPct = 100 * below
	r.BelowLimit = empty > len(l.picks)/2
	r.HomeShare = float64(home) / float64(len(l.picks))
	slices.Sort(atRisk)
	r.TurnBackKm = max(Quantile(atRisk, l.s.Risk), 0)
	r.TurnBackV = l.turnV(r.TurnBackKm)
	r.BeyondFull = l.beyondFull()
	return r
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
	return q * s.capacity * home.loadV(m, deficit, q) * m.series
}

// learn is ln of what today's kilometre takes over the expected, from the way
// out: its meter and its scatter hide some of it. A day that takes far more than
// any that was logged is believed, as a Student distribution of 4 degrees of
// freedom does; one that takes far less is not: the way home may ask it back.
func (l *leveller) learn(ld *levelDraw, scatter float64) float64 {
	m, s := l.fit.m, &ld.scene
	wh := l.s.UsedWh.V
	if !l.s.UsedWh.OK {
		q := l.s.UsedAh.V / s.capacity
		wh = l.s.UsedAh.V * s.loadV(m, 0, q) * m.series
	}
	seen := math.Log(wh / l.s.OutKm.V / s.whPerKm)
	common := dayShare * square(scatter)
	noise := (1-dayShare)*square(scatter) + square(usedNoise) + square(.01)
	if far := square(max(seen, 0)) / (common + noise); far > 1 {
		common *= (4 + far) / 5
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
	for k, i := range l.picks {
		ld := l.steps[i]
		s := ld.scene
		at := s.after(m, ld.deficit, km*l.out.OutWhPerKm[k])
		v, _ := ld.d.cell.curve.OCV(s.full - at)
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
// limit is met under load at reference conditions, at the mode of the fit.
func (fit *Fit) RestSpan() (fullV, limitV float64) {
	m := fit.m
	c := &fit.f.p.c
	d := draw{cell: *c}
	w := Way{}
	trip := fit.tripOf(w)
	s := m.sceneOn(c, c.still(c.lnC[len(c.lnC)-1], 0, 0), even(m.ref.packC), c.road.WhPerKm(trip)*math.Exp(fit.wayEffect(&d.cell, w)), trip.SpeedMs, m.ref.limitV, m.ref.fullV)
	top, _ := c.curve.OCV(s.full)
	low, _ := c.curve.OCV(s.full - s.endAt())
	return (top + c.voltOffset) * m.series, (low + c.voltOffset) * m.series
}
