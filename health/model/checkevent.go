package model

import (
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

func (m *machine) checkEvent(c *logbook.Check) event {
	e := newEvent(evCheck, c, c.At, c.At)
	e.packC = numOr(c.PackC)
	if c.SocPct.OK {
		e.soc = c.SocPct.V / 100
	}
	e.acMethod = c.Method == "ac"
	e.startV = m.readV(c.RestV)
	if c.BaseA.Or(0) > 0 {
		e.startV = math.NaN() // not at rest
	}
	e.soc = m.socOf(e.soc, e.startV, c.GroupV)
	e.voltVar = m.stepVar(c.RestV, c.LoadV)
	e.ohm, e.ohmVar = checkOhm(c)
	return e
}

// A charge level that a check states is held against its rest volts where those tell
// one: on a flat curve they do not.
const oddSoc, steepV = .3, .25 // of a charge; V per charge

// socOf is the charge level of a check: as stated, or by its rest volts where they
// deny that or nothing is stated; NaN where nothing tells.
func (m *machine) socOf(stated, cellV float64, groupV []float64) float64 {
	if !known(cellV) && len(groupV) > 0 {
		cellV = median(groupV)
	}
	if !known(cellV) {
		return stated
	}
	by := m.meanCurve.Soc(cellV)
	if _, slope := m.meanCurve.OCV(by); slope < steepV || by < 0 || by > 1 || known(stated) && math.Abs(by-stated) < oddSoc {
		return stated
	}
	return by
}

// checkOhm returns the resistance of the pack that a check shows, Ω, and the
// variance of its logarithm; NaN where it shows none. The spread of one
// reading, 4 %, is common practice, no source: contact, timing, charge level.
func checkOhm(c *logbook.Check) (ohm, variance float64) {
	const base = .04 * .04
	if c.ResistanceMohm.OK {
		s := step(c.ResistanceMohm) / c.ResistanceMohm.V / math.Sqrt(12)
		return c.ResistanceMohm.V / 1000, min(base+s*s, 1)
	}
	if !c.RestV.OK || !c.LoadV.OK || !c.LoadA.OK {
		return math.NaN(), 0
	}
	r := law.TwoLevelOhm(c.RestV.V, c.BaseA.Or(0), c.LoadV.V, c.LoadA.V)
	if !(r > 0) || math.IsInf(r, 0) {
		return math.NaN(), 0
	}
	s := max(step(c.LoadV), step(c.RestV)) / (c.RestV.V - c.LoadV.V) / math.Sqrt(6)
	if c.PulseS.OK && c.PulseS.V > 0 {
		t := math.Log(c.PulseS.V / 10)
		r *= math.Exp(-.06 * t) // resistance grows about 6 % for each e-fold of the pulse, from memory
		s = math.Hypot(s, .05*t)
	}
	return r, min(base+s*s, 1)
}
