package trace

import (
	"math"

	"packwane/health/logbook"
)

// scale sets what is small and what is large, from the pack's capacity and
// from the currents of the first rows.
func (c *cursor) scale(pack *logbook.Pack) {
	h := c.lay.headCurrents()
	ah := capacityOf(pack)
	c.idleOn = h.idle(ah)
	c.idleOff = c.idleOn / 2
	c.stepOn = 4 * c.idleOn
	c.stepNow = c.stepOn
	c.peakI = max(ah, h.peak, 1)
	c.wildI = wildFactor * c.peakI
	c.leastUsual = c.lay.spacing()
	if c.leastUsual != c.leastUsual {
		c.leastUsual = 1
	}
	c.usual = c.leastUsual
	c.grainV = c.lay.grain(Voltage)
	c.maxDt = max(gapFactor*c.usual, leastGapS)
	c.coarse.last = math.NaN()
}

// idleShare is the part of the pack's capacity per hour below which a current
// is no charge and no ride: controllers and displays draw less, chargers stop
// above it (common practice, no source).
const idleShare = 40

// headCurrents is what the currents of the first rows look like, in amperes.
type headCurrents struct {
	peak  float64
	noise float64 // usual change from row to row
	quiet int     // rows with next to no current, beside the peak
}

func (l *layout) headCurrents() (h headCurrents) {
	for _, r := range []Role{Current, ChargeCurrent, DischargeCurrent} {
		p := l.pickOf(r)
		if p == nil {
			continue
		}
		var steps []float64
		values := l.numbers(p.index)
		for k := range values {
			values[k] = p.scale.to(values[k])
			h.peak = max(h.peak, math.Abs(values[k]))
			if k > 0 {
				steps = append(steps, math.Abs(values[k]-values[k-1]))
			}
		}
		if m := median(steps); m == m {
			h.noise = max(h.noise, m)
		}
		for _, x := range values {
			if math.Abs(x) < h.peak/20 {
				h.quiet++
			}
		}
	}
	return h
}

// idle returns the current below which nothing is said to go on: a share of
// the pack's capacity an hour. Where the file's own currents are far smaller
// than the pack suggests and stand out of rest and noise, or the capacity is
// not known, it is a share of those.
func (h headCurrents) idle(ah float64) float64 {
	const (
		standsOut = 8.0 // times the noise
		least     = 3   // rows at rest
	)
	plain := h.peak >= standsOut*h.noise
	byPack := ah / idleShare
	switch {
	case ah > 0 && plain && h.quiet >= least && h.peak >= byPack/10 && h.peak < 4*byPack:
		return h.peak / 4
	case ah > 0:
		return byPack
	case h.peak == 0:
		return 0.1
	case plain:
		return max(h.peak/25, min(4*h.noise, h.peak/10))
	}
	return 2 * h.peak
}
