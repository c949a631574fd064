package law

import "math"

// Aged is the open-circuit curve of a cell that has lost lithium. What is left of
// it slides along the electrodes, so that a charge level, as a share of what the
// cell holds now, has the volts that another one had as new: higher in the middle
// where the positive electrode's volts slope (layered oxides), and where they are
// flat (LFP) the negative's steps come at a higher level. A cell that loses
// active material of both electrodes alike keeps its curve.
type Aged struct {
	*Curve
	slip    float64 // capacity lost, times how much of it was lithium
	plateau bool
}

// Slipped is the curve after a loss of capacity (share of that as new), of which
// share slides the electrodes.
func (c *Curve) Slipped(loss, share float64, plateau bool) Aged {
	return Aged{c, min(max(loss, -.1), .6) * share, plateau}
}

// slideLow and slideHigh are where the slope of one electrode gives way to the end
// of the other, as charge levels from the end.
const slideLow, slideHigh = .2, .1

// place is the level as new that has the volts of s now, and its derivative. From
// the half cells of Chen et al. 2020 (J. Electrochem. Soc. 167, 080534; see the
// test) and, for LFP, from the stretch of the negative's steps: own fits.
func (a Aged) place(s float64) (at, slope float64) {
	if a.slip == 0 || s <= 0 || s >= 1 {
		return s, 1
	}
	if a.plateau {
		u := (1 - s) / slideHigh
		e := math.Exp(-u * u)
		return s - float64(a.slip*s*(1-e)), 1 - a.slip*(1-e-float64(s*e*2*u/slideHigh))
	}
	u := s / slideLow
	u3 := u * u * u
	e := math.Exp(-u3 * u)
	return s + float64(a.slip*(1-s)*(1-e)), 1 + a.slip*(float64((1-s)*e*4*u3/slideLow)-(1-e))
}

// OCV is Curve.OCV of the aged cell.
func (a Aged) OCV(s float64) (volts, slope float64) {
	at, by := a.place(s)
	volts, slope = a.Curve.OCV(at)
	return volts, slope * by
}

// MeanV is Curve.MeanV of the aged cell: of the levels as new between those that
// a and b stand for.
func (a Aged) MeanV(from, to float64) float64 {
	from, _ = a.place(from)
	to, _ = a.place(to)
	return a.Curve.MeanV(from, to)
}

// Soc is Curve.Soc of the aged cell.
func (a Aged) Soc(v float64) float64 {
	want := a.Curve.Soc(v)
	s := want
	for range 6 {
		at, by := a.place(s)
		s += (want - at) / max(by, .3)
	}
	return s
}
