package model

import (
	"math"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

// Known says which figures the log tells. What it does not tell the draws
// only repeat from the priors.
type Known struct {
	Capacity      bool
	AsNew         bool // the log or a measurement reaches back to the pack as new
	PastUnknown   bool // nobody says what the pack was before its log
	Resistance    bool
	Growth        bool // resistance as new is told too
	Road          bool // consumption and range
	SelfDischarge bool // at rest, cells and electronics together
	CellLoss      bool // of the cells alone
	DirectCharge  bool // charges were metered on the DC side
	Climb, Wind   bool // some rides say theirs, so that the road is told from them
	SeasonYears   float64
}

// Known looks at how far the records narrowed the priors.
func (fit *Fit) Known() Known {
	m := fit.m
	var k Known
	level := 0.0
	n := len(m.knots)
	for i := range n {
		for j := range n {
			level += fit.mix.e.l.At(i, j)
		}
	}
	k.Capacity = level > 1/square(.13)
	k.PastUnknown = m.pastUnknown()
	k.AsNew = known(m.asNewAh) || !k.PastUnknown && len(m.events) > 0 && m.events[0].cycles < 40 && m.events[0].years < .6
	k.Resistance = fit.checked() && spread(fit.each(func(d *draw) float64 { return math.Log(fit.ohmNow(d)) })) < .55*m.params[pResistance].sd
	k.Growth = k.Resistance && spread(fit.each(func(d *draw) float64 { return math.Log(fit.ohmNow(d) / d.cell.resistance) })) < .15
	if !m.ref.bench {
		k.Climb, k.Wind = m.unsaid(saysClimb) < seldom, m.unsaid(saysWind) < seldom
		k.Road = spread(fit.each(func(d *draw) float64 { return math.Log(d.cell.road.WhPerKm(m.ref.trip)) + d.cell.referenceEffect(m) })) < .20
	}
	k.SelfDischarge = fit.wellLogged() && fit.steadyLoss() && spread(fit.each(func(d *draw) float64 { return math.Log(fit.restLossPerDay(d)) })) < .35
	k.CellLoss = k.SelfDischarge && spread(fit.each(func(d *draw) float64 { return math.Log(d.cell.selfLossPerDay) })) < .6*m.params[pSelfLoss].sd
	for i := range m.events {
		e := &m.events[i]
		if e.kind == evCharge && known(e.wh) && !e.ac {
			k.DirectCharge = true
		}
	}
	if len(m.events) > 0 {
		k.SeasonYears = (m.lastDay - m.events[0].startDay) / yearDays
	}
	return k
}

// seldom is the share of rides without a figure from which on it is as good as
// never said.
const seldom = .9

// checked reports whether a check that was not put aside shows a resistance:
// what volts under way tell of it leans on the open-circuit curve.
func (fit *Fit) checked() bool {
	for _, t := range fit.f.p.tape {
		if t.kind == obOhm && !t.rejected {
			return true
		}
	}
	return false
}

func (fit *Fit) ohmNow(d *draw) float64 {
	a := fit.ageAt(d, fit.m.nowDay)
	return d.cell.groupOhm(fit.lnCAhead(d, a), a.years, a.cycles)
}

// spread is the standard deviation of draws, by the middle nine tenths: of
// hundreds, one can lie anywhere.
func spread(d Draws) float64 { return (Quantile(d, .95) - Quantile(d, .05)) / (2 * 1.645) }

// Bench reports whether the pack's full cycles were bench discharges: it has
// no range then.
func (fit *Fit) Bench() bool { return fit.m.ref.bench }

// Conditions are the reference conditions as the fit understood them.
type Conditions struct {
	PackC, AirC float64
	SpeedKmh    float64
	SpeedSdKmh  float64 // within a ride
	StopsSPerKm float64 // standing
	MassKg      float64
	AmpereBench float64
	LimitV      float64 // of the pack
}

// Reference returns the reference conditions.
func (fit *Fit) Reference() Conditions {
	r := &fit.m.ref
	return Conditions{PackC: r.packC, AirC: r.trip.AirC, SpeedKmh: r.trip.SpeedMs * law.KmhPerMs, SpeedSdKmh: math.Sqrt(r.trip.SpeedVarMs2) * law.KmhPerMs, StopsSPerKm: 1000 * r.trip.StoppedSPerM, MassKg: r.trip.MassKg, AmpereBench: r.ampere, LimitV: r.limitV * fit.m.series}
}

// RoundTripPct returns draws of the energy that a full cycle gives over the
// energy that its charge takes at the pack's terminals, percent.
func (fit *Fit) RoundTripPct() Draws {
	m := fit.m
	return fit.each(func(d *draw) float64 {
		p := fit.pointAt(d, m.nowDay)
		full := m.fullSoc(&d.cell, m.ref.fullV)
		a := fit.ageAt(d, m.nowDay)
		end := full - p.ah/math.Exp(fit.lnCAhead(d, a))
		in := p.ah * (1 + d.cell.coulomb) * (d.cell.curve.MeanV(end, full) + float64(d.cell.chargeDrop*d.cell.grown(fit.lnCAhead(d, a), a.years, a.cycles))) * m.series
		return 100 * p.wh / in
	})
}

// restLossPerDay is the share of the capacity that a draw loses in a day at
// rest, inside the cells and to the pack's electronics.
func (fit *Fit) restLossPerDay(d *draw) float64 {
	m := fit.m
	return d.cell.selfLossPerDay + d.cell.standbyW*24/(m.chem.NominalV*m.series)/math.Exp(fit.lnCAhead(d, fit.ageAt(d, m.nowDay)))
}

// SelfDischargePctMonth returns draws of the charge that the pack loses at
// rest in a month, percent of its capacity: in the cells and to its own
// electronics, which a log of rest volts cannot part.
func (fit *Fit) SelfDischargePctMonth() Draws {
	return fit.each(func(d *draw) float64 { return 100 * fit.restLossPerDay(d) * yearDays / 12 })
}

// CellLossPctMonth returns draws of the charge that the cells alone lose of
// themselves in a month, percent.
func (fit *Fit) CellLossPctMonth() Draws {
	return fit.each(func(d *draw) float64 { return 100 * d.cell.selfLossPerDay * yearDays / 12 })
}

// Unlogged lists the records before which a ride or a charge is missing from the log,
// as their volts, what filled the pack again or the odometer show.
func (fit *Fit) Unlogged() []logbook.Record {
	var out []logbook.Record
	for i := range fit.f.p.carry {
		if fit.f.p.carry[i].unseen || fit.m.events[i].unloggedKm > 0 {
			out = append(out, fit.m.events[i].record)
		}
	}
	return out
}

// wellLogged reports whether the log leaves out so little riding that what a
// pack lost between two records was lost at rest.
func (fit *Fit) wellLogged() bool { return len(fit.Unlogged())*20 <= len(fit.m.events) }

// A pack that seems to lose more than muchLost of its charge a day loses it in every rest of
// leastRest days and more alike, to a factor of alikeLost over the slowest: riding that was
// not logged does not. Common practice, no source.
const muchLost, leastRest, alikeLost, leastRests = .005, 4.0, 2.2, 3

// steadyLoss reports whether what the pack lost from full to the next charge may be a loss
// at rest.
func (fit *Fit) steadyLoss() bool {
	if Quantile(fit.each(fit.restLossPerDay), .5) < muchLost {
		return true
	}
	least, most, n := math.Inf(1), 0.0, 0
	for i := 1; i < len(fit.m.events); i++ {
		e, before := &fit.m.events[i], &fit.m.events[i-1]
		if before.kind != evCharge || before.full != logbook.Yes || e.kind != evCharge || e.gapDays < leastRest {
			continue
		}
		rate := fit.f.p.carry[i].x0 / e.gapDays
		least, most, n = min(least, rate), max(most, rate), n+1
	}
	return n < leastRests || most < alikeLost*max(least, 0)
}

// StandbyW returns draws of the power that the pack's electronics draw at rest.
func (fit *Fit) StandbyW() Draws {
	return fit.each(func(d *draw) float64 { return d.cell.standbyW })
}

// SeasonRangeKm returns draws of the range at a time from now on at that day's
// usual air temperature, the pack warmer than it by what riding makes.
func (fit *Fit) SeasonRangeKm(t time.Time) Draws {
	day := dayOf(t)
	trip := fit.m.ref.trip
	trip.AirC = fit.m.season.at(day)
	return fit.each(func(d *draw) float64 {
		a := fit.ageAt(d, day)
		return d.cell.reference(fit.m, fit.lnCAhead(d, a), a.years, a.cycles, d.cell.heatOnWhole(trip.AirC), &trip).km
	})
}

// UsualAirC returns the usual air temperature at a time of the year where the
// rider rides, and how far one day may be from it.
func (fit *Fit) UsualAirC(t time.Time) (c, sd float64) {
	return fit.m.season.at(dayOf(t)), fit.m.season.sd
}

// FadeFigures are draws of what the fade is made of so far and how it goes on.
type FadeFigures struct {
	CycleLossPct    Draws // of the capacity as new, by cycling, until now
	CalendarLossPct Draws // by time, until now
	AtOncePct       Draws // at once, of what there was then (see Step); nil where none was
	CyclesTo80      Draws // equivalent cycles of the rated capacity at which cycling alone costs 20 %
	Families        map[string]float64
}

// Fade returns what the fade is made of.
func (fit *Fit) Fade() FadeFigures {
	m := fit.m
	var f FadeFigures
	for i := range fit.draws {
		d := &fit.draws[i]
		a := fit.ageAt(d, m.nowDay)
		calendar := law.CalendarLoss(math.Exp(d.fade.lnB), a.years, d.fade.q)
		total := 1 - math.Exp(fit.lnCAhead(d, a)-d.cell.step-d.cell.lnC[0])
		if m.stepFrom >= 0 {
			f.AtOncePct = append(f.AtOncePct, 100*(1-math.Exp(d.lnStep())))
		}
		f.CalendarLossPct = append(f.CalendarLossPct, 100*calendar)
		f.CycleLossPct = append(f.CycleLossPct, 100*(total-calendar))
		f.CyclesTo80 = append(f.CyclesTo80, math.Exp(d.fade.lnN))
	}
	f.Families = map[string]float64{}
	for i := range fit.mix.parts {
		p := &fit.mix.parts[i]
		f.Families[p.fade.shape.Family] += math.Exp(p.lnWeight - fit.mix.lnTotal)
	}
	return f
}
