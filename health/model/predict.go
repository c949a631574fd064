package model

import (
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

// Prediction is what the model expects of one ride before it is known.
type Prediction struct {
	DistanceKm   Draws // from full to the limit
	DischargedAh Draws
	DischargedWh Draws
	WhPerKm      Draws
}

// Predict returns draws of what a ride from full to the limit in r's
// conditions would show on the meters: everything that r says of air, pack,
// tyre, rider, wind, way, speed and stop is used, nothing that it measured of
// charge, energy, distance or volts. The draws hold the scatter of one ride
// and of its meter. Distances are NaN for a ride without one.
func (fit *Fit) Predict(r *logbook.Ride) Prediction {
	m := fit.m
	e := m.rideEvent(r)
	e.minV = math.NaN()
	e.years = max(e.startDay-dayOf(m.born), 0) / yearDays
	e.limitV, e.cutoffV, e.fullV = m.limitsAt(r.At)
	m.fillTemperature(&e)
	e.share, e.course = 1, m.warming.Whole()
	if known(e.km) {
		m.fillTrip(&e, r)
		e.tripVar += m.strangeness(r)
	}
	e.effects = m.knownEffects(r)
	e.meter = m.knownGroup(groupMeter, r.Meter)
	n := len(fit.draws)
	out := Prediction{make(Draws, n), make(Draws, n), make(Draws, n), make(Draws, n)}
	meterSd := math.Sqrt(orNum(positive(e.meterVar), square(m.scale.meter)))
	for i := range fit.draws {
		d := &fit.draws[i]
		a := fit.ageAt(d, e.startDay)
		lnC := fit.lnCAhead(d, a)
		q, wh, lnLoad := fit.toLimit(d, &e, lnC, a)
		scatter := m.scale.limit * d.test[0]
		day := meterSd*d.test[1] + d.cell.gain(m, &e)
		out.DischargedAh[i] = q * math.Exp(scatter+day)
		out.DischargedWh[i] = wh * math.Exp(scatter+day)
		out.WhPerKm[i], out.DistanceKm[i] = math.NaN(), math.NaN()
		if known(e.km) {
			road := math.Sqrt(square(m.scale.consumption*e.lever)+e.tripVar) * d.test[2]
			out.WhPerKm[i] = math.Exp(lnLoad + road)
			out.DistanceKm[i] = wh * math.Exp(scatter) / out.WhPerKm[i]
		}
	}
	return out
}

// toLimit is a full cycle in the conditions of an event: charge, energy and
// ln Wh/km.
func (fit *Fit) toLimit(d *draw, e *event, lnC float64, a age) (ah, wh, lnLoad float64) {
	m, c := fit.m, &d.cell
	t := c.heatOf(e)
	ohm := c.ohmsAt(t.mean).times(c.groupOhm(lnC, a.years, a.cycles))
	ampere, peak := m.usual.cRate*m.ratedAh, 1.0
	if known(e.km) {
		lnLoad = math.Log(c.road.WhPerKm(e.trip))
		for _, g := range e.effects {
			lnLoad += c.groups[g]
		}
		ampere, peak = c.amperes(m, math.Exp(lnLoad), e.trip.SpeedMs, ohm.long), c.peak
	}
	ah = c.toLimitAh(m, lnC, a.years, a.cycles, t.end, ampere, peak, c.stopV(e), e.fullV)
	full := m.fullSoc(c, e.fullV)
	end := full - ah/math.Exp(lnC)/c.chillAt(t.end).drawn
	volts := c.curve.MeanV(full, end) - float64(ampere*(ohm.long+float64(ohm.pulse*c.unevenness(e)))*law.MeanLowCharge(max(full, 0), max(end, 0), c.steepness))
	return ah, ah * max(volts, .3*m.chem.NominalV) * m.series, lnLoad
}

func (m *machine) knownGroup(kind groupKind, name string) int {
	for g, k := range m.groupKind {
		if k == kind && m.groupNames[g] == name {
			return g
		}
	}
	return -1
}

func (m *machine) knownEffects(r *logbook.Ride) []int {
	var out []int
	out = appendGroup(out, m.knownGroup(groupRoute, r.Route))
	out = appendGroup(out, m.knownGroup(groupRider, r.Rider))
	for kind, name := range m.gear.on(m.h, m.h.RideBoard(r), r.At) {
		out = appendGroup(out, m.knownGroup(kind, name))
	}
	if r.Stop != "limit" {
		out = appendGroup(out, m.knownGroup(groupCasual, casualName))
	}
	return appendGroup(out, m.knownGroup(groupSession, r.Session))
}

// PredictCheck returns draws of the resistance, mΩ, that a check at r's
// charge level and temperature would show.
func (fit *Fit) PredictCheck(r *logbook.Check) Draws {
	m := fit.m
	e := m.checkEvent(r)
	m.fillTemperature(&e)
	day := e.startDay
	return fit.each(func(d *draw) float64 {
		a := fit.ageAt(d, day)
		ohm := d.cell.groupOhm(fit.lnCAhead(d, a), a.years, a.cycles) * m.series
		ohm *= d.cell.pulse(e.packC, orNum(e.soc, somewhere))
		if e.acMethod {
			if g := m.knownGroup(groupMethod, "ac"); g >= 0 {
				ohm *= math.Exp(d.cell.groups[g])
			}
		}
		return 1000 * ohm * math.Exp(math.Sqrt(e.ohmVar+e.tempVar*square(.012)+square(.015))*d.test[0])
	})
}

// MeasuredMohm returns the resistance that a check shows, mΩ of the pack, or
// NaN.
func MeasuredMohm(r *logbook.Check) float64 {
	ohm, _ := checkOhm(r)
	return 1000 * ohm
}
