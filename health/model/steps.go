package model

import (
	"math"

	"packwane/health/logbook"
)

// step returns the decimal step to which a figure was written: 7.1 gives 0.1.
// A figure written to a whole number may be as coarse as 1.
func step(n logbook.Num) float64 {
	if !n.OK {
		return 0
	}
	s := 1.0
	for range 6 {
		if x := n.V / s; math.Abs(x-math.Round(x)) < 1e-6*max(1, math.Abs(x)) {
			return s
		}
		s /= 10
	}
	return s
}

// stepVar is the variance of one of a record's volts by its step, V² per cell: that
// of the finest of them, for they were read from one meter.
func (m *machine) stepVar(readings ...logbook.Num) float64 {
	finest := 0.0
	for _, r := range readings {
		if s := min(step(r), .1); s > 0 && (finest == 0 || s < finest) {
			finest = s
		}
	}
	return square(finest/m.series) / 12
}

// shareSteps gives every figure the step to which its field was read in this log.
func (m *machine) shareSteps() {
	share := func(kind eventKind, decade float64, of func(*event) *float64) {
		var steps []*float64
		for i := range m.events {
			if s := of(&m.events[i]); m.events[i].kind == kind && *s > 0 {
				steps = append(steps, s)
			}
		}
		readTo(steps, decade)
	}
	for _, kind := range []eventKind{evRide, evCharge} {
		share(kind, 10, func(e *event) *float64 { return &e.ahRound })
		share(kind, 10, func(e *event) *float64 { return &e.whRound })
	}
	share(evRide, 10, func(e *event) *float64 { return &e.roundKm })
	for _, kind := range []eventKind{evRide, evCharge, evCheck} {
		share(kind, 100, func(e *event) *float64 { return &e.voltVar })
	}
}

// readTo makes of the steps to which figures of one kind are written those to which
// they were read. One figure in ten that was read to a tenth is written as a whole
// one: 15.0 among figures like 14.7. Where clearly more are, their writer left the
// tenths out. A decade is a step of one place, in the unit of the steps.
func readTo(steps []*float64, decade float64) {
	if len(steps) == 0 {
		return
	}
	level := math.Inf(1)
	for _, s := range steps {
		level = min(level, *s)
	}
	for {
		var coarser []*float64
		for _, s := range steps {
			if *s > level*math.Sqrt(decade) {
				coarser = append(coarser, s)
			}
		}
		n := float64(len(steps))
		if byChance := .1*n + 3*math.Sqrt(.09*n); float64(len(coarser)) <= byChance {
			for _, s := range coarser {
				*s = level
			}
			return
		}
		steps, level = coarser, level*decade
	}
}
