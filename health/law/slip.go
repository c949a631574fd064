package law

import (
	"math"
	"sync"
)

// Aged is the open-circuit curve of a cell that has lost lithium. What is left of
// it slides along the electrodes, so that a charge level, as a share of what the
// cell holds now, has the volts that another one had as new: higher in the middle
// where the positive electrode's volts slope (layered oxides), and where they are
// flat (LFP) the negative's steps come at a higher level. A cell that loses
// active material of both electrodes alike keeps its curve. There are no mean volts of
// it: those of the curve as new are 0.5 % lower where a tenth is lost.
type Aged struct {
	asNew   *Curve
	slip    float64 // capacity lost, times how much of it was lithium
	plateau bool
}

// Slipped is the curve after a loss of capacity (share of that as new), of which
// share slides the electrodes: as far as levels keep their order, a tenth back and six
// tenths on.
func (c *Curve) Slipped(loss, share float64, plateau bool) Aged {
	return Aged{c, min(max(loss*share, -.1), .6), plateau}
}

// slideLow and slideHigh are where the slope of one electrode gives way to the end
// of the other, as charge levels from the end.
const slideLow, slideHigh = .2, .1

// slides is how far the levels of the grid slide where the lost lithium is the
// whole capacity: of sloping volts and of a plateau. From the half cells of Chen et
// al. 2020 (J. Electrochem. Soc. 167, 080534; see the test) and, for LFP, from the
// stretch of the negative's steps: own fits.
var slides = sync.OnceValue(func() *[2][CurvePoints]float64 {
	var t [2][CurvePoints]float64
	for i := range CurvePoints {
		s := float64(i) * CurveStep
		low, high := s/slideLow, (1-s)/slideHigh
		t[0][i] = (1 - s) * (1 - math.Exp(-low*low*low*low))
		t[1][i] = -s * (1 - math.Exp(-high*high))
	}
	return &t
})

func (a Aged) slides() *[CurvePoints]float64 {
	if a.plateau {
		return &slides()[1]
	}
	return &slides()[0]
}

// place is the level as new that has the volts of s now, and its derivative.
func (a Aged) place(s float64) (at, slope float64) {
	if a.slip == 0 || s <= 0 || s >= 1 {
		return s, 1
	}
	t := a.slides()
	i, w := cellOf(s)
	d := t[i+1] - t[i]
	return s + float64(a.slip*(t[i]+float64(d*w))), 1 + float64(a.slip*d/CurveStep)
}

// OCV is Curve.OCV of the aged cell.
func (a Aged) OCV(s float64) (volts, slope float64) {
	at, by := a.place(s)
	volts, slope = a.asNew.OCV(at)
	return volts, slope * by
}

// Soc is Curve.Soc of the aged cell.
func (a Aged) Soc(v float64) float64 {
	want := a.asNew.Soc(v)
	if a.slip == 0 || want <= 0 || want >= 1 {
		return want
	}
	t := a.slides()
	at := func(i int) float64 { return float64(i)*CurveStep + float64(a.slip*t[i]) }
	low, high := 0, CurvePoints-1
	for high-low > 1 {
		if mid := (low + high) / 2; at(mid) <= want {
			low = mid
		} else {
			high = mid
		}
	}
	return (float64(low) + (want-at(low))/(at(high)-at(low))) * CurveStep
}
