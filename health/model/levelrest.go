package model

// tellingSlopeV is the slope of the open-circuit curve, V of a cell from empty
// to full, below which volts do not tell the charge: the plateau of lfp.
const tellingSlopeV = .25

// LevelAtRest returns the charge level that the pack's volts at rest tell, as a
// share of its capacity, at the mode of the fit. ok is false where they tell
// none: the series groups are not known, the volts lie off the curve of the
// chemistry, or the curve is flat there.
func (fit *Fit) LevelAtRest(packV float64) (level float64, ok bool) {
	m, c := fit.m, fit.f.p.c
	if !m.voltsKnown {
		return 0, false
	}
	a := fit.ageAt(&fit.draws[0], m.nowDay)
	curve := c.curveAt(m, a.years, a.cycles)
	level = curve.Soc(packV/m.series - c.voltOffset)
	_, slope := curve.OCV(level)
	return level, level >= 0 && level <= 1.05 && slope > tellingSlopeV
}
