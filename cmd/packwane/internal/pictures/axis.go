package pictures

import (
	"math"

	"packwane/charts"
)

// farShare is how far from everything else a doubted point may lie and still
// be shown in its place, as a share of the height of the rest.
const farShare = 0.25

// holdAxis keeps doubted points that lie far from everything else from pressing
// the rest flat: the axis ends before them, and they become arrowheads there.
func holdAxis(f *charts.Figure) {
	low, high := math.Inf(1), math.Inf(-1)
	see := func(vs ...float64) {
		for _, v := range vs {
			low, high = min(low, v), max(high, v)
		}
	}
	for _, l := range f.Lines {
		for _, p := range l.Through {
			see(p.Y)
		}
	}
	for _, b := range f.Bands {
		for _, s := range b.Spans {
			see(s.Low, s.High)
		}
	}
	for _, l := range f.Levels {
		see(l.Y)
	}
	eachMark(f, func(m charts.Mark) {
		if !m.Doubted {
			see(m.Y)
		}
	})
	room, far := (high-low)*farShare, false
	if !(room > 0) {
		return
	}
	least, most := low-room, high+room
	eachMark(f, func(m charts.Mark) {
		if m.Y < least || m.Y > most {
			far = true
		} else {
			see(m.Y)
		}
	})
	if pad := 0.06 * (high - low); far {
		f.Y.Limits = charts.Limits{Low: low - pad, High: high + pad}
	}
}

func eachMark(f *charts.Figure, do func(charts.Mark)) {
	for _, p := range f.Points {
		for _, m := range p.Marks {
			do(m)
		}
	}
}
