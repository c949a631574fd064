package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
)

// mostTapeRows is how many lines fit on a tape, and leastTapeKm what is worth
// one.
const (
	mostTapeRows = 14
	leastTapeKm  = .5
)

// Tape fills in the table of volts against the kilometres left, in the
// conditions of s, from full down to where nothing is left: whole and half
// volts or so, rounded so that a rider finds the next.
func (out *Reach) Tape(h *logbook.History, fit *model.Fit, s model.Standing) {
	known := fit.Known()
	if !known.Capacity || !known.Road || !h.Pack.Series.OK {
		return
	}
	full, empty := fit.RestSpan()
	s.UsedAh, s.UsedWh, s.OutKm = logbook.Num{}, logbook.Num{}, logbook.Num{}
	at := func(v float64) (*model.Reach, *Estimate) {
		s.RestV = logbook.Some(v)
		r := fit.Reach(s)
		return r, estimate(r.RemainingKm)
	}
	// On a flat curve the last kilometre spans many volts: the lines are for
	// those above.
	low, high := empty, full
	for range 5 {
		mid := (low + high) / 2
		if _, km := at(mid); km == nil || km.Value < leastTapeKm {
			low = mid
		} else {
			high = mid
		}
	}
	step := tapeStep(full - low)
	for v := math.Floor(full/step) * step; v > empty-step && len(out.Table) < mostTapeRows; v -= step {
		v := math.Round(v*100) / 100
		r, km := at(v)
		out.Table = append(out.Table, TapeRow{v, km})
		out.Conditions.TempC, out.Conditions.TempAssumed = tidy(r.AirC), r.AirAssumed
		out.BelowLimitPct = tidy(r.BelowPct)
		if km != nil && km.Value < .1 {
			break
		}
	}
}

// tapeStep is the step in volts that parts a span into a dozen lines or so.
func tapeStep(span float64) float64 {
	for _, s := range []float64{.05, .1, .2, .25, .5, 1, 2, 5} {
		if span/s <= mostTapeRows-1 {
			return s
		}
	}
	return 10
}
