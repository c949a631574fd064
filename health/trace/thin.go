package trace

// Point is a short time of the trace for drawing: its first moment and the
// extremes of voltage and current in it. Positive current charges.
type Point struct {
	Seconds    float64 // since the first row
	MinV, MaxV float64
	MinA, MaxA float64
}

// mostPoints is how many points a trace is thinned to; between half of it and
// all of it are kept of a long file. The extremes of what is joined are kept.
const mostPoints = 4096

type thinner struct {
	points []Point
	width  float64 // s: windows that begin within it of a point's moment join it
}

func (th *thinner) add(t float64, w *window) {
	p := Point{t, w.minV, w.maxV, w.minI, w.maxI}
	if n := len(th.points); n > 0 && t-th.points[n-1].Seconds < th.width {
		th.points[n-1].join(p)
		return
	}
	if len(th.points) == mostPoints {
		th.widen()
	}
	th.points = append(th.points, p)
}

func (p *Point) join(o Point) {
	p.MinV, p.MaxV = min(p.MinV, o.MinV), max(p.MaxV, o.MaxV)
	p.MinA, p.MaxA = min(p.MinA, o.MinA), max(p.MaxA, o.MaxA)
}

// widen joins points until at most half of them are left.
func (th *thinner) widen() {
	all := th.points
	th.width = max(th.width, (all[len(all)-1].Seconds-all[0].Seconds)/mostPoints)
	for len(th.points) > mostPoints/2 {
		th.width *= 2
		kept := th.points[:1]
		for _, p := range th.points[1:] {
			if last := &kept[len(kept)-1]; p.Seconds-last.Seconds < th.width {
				last.join(p)
			} else {
				kept = append(kept, p)
			}
		}
		th.points = kept
		if th.width == 0 {
			break
		}
	}
}
