package charts

import "math"

// reach is a growing interval; the zero value holds nothing.
type reach struct {
	low, high float64
	any       bool
}

func (r *reach) add(vs ...float64) {
	for _, v := range vs {
		if !r.any {
			*r = reach{v, v, true}
			continue
		}
		r.low, r.high = min(r.low, v), max(r.high, v)
	}
}

// xReach gives the ends of the X axis of a clean figure.
func (f Figure) xReach() Limits {
	if f.X.Limits.set() {
		return f.X.Limits
	}
	var r reach
	for _, p := range f.Points {
		for _, m := range p.Marks {
			r.add(m.X)
		}
	}
	for _, l := range f.Lines {
		for _, p := range l.Through {
			r.add(p.X)
		}
	}
	for _, b := range f.Bands {
		for _, s := range b.Spans {
			r.add(s.X)
		}
	}
	for _, e := range f.Events {
		r.add(e.X)
	}
	for _, n := range f.Notes {
		r.add(n.X)
	}
	if f.X.Calendar {
		return roomAround(r, 0.02, 3*86400, 10)
	}
	return withZero(f.X, roomAround(r, 0.03, 0, 0), r)
}

// yReach gives the ends of the Y axis of a clean figure, and whether something runs off it. Points, lines, levels and
// notes are always on it. Bands, error bars and doubted points widen it by as much again at most (or a quarter of the
// values themselves, where that is more): a hopelessly wide band is to be seen as such without pressing the rest
// flat.
func (f Figure) yReach() (l Limits, cut bool) {
	core, soft := f.coreY(), f.softY()
	if f.Y.Limits.set() {
		l = f.Y.Limits
		return l, soft.any && (soft.low < l.Low || soft.high > l.High)
	}
	all := core
	if soft.any {
		if !core.any {
			core = reach{f.middleY(), f.middleY(), true}
			all = core
		}
		if core.high == core.low {
			all.add(core.low-math.Abs(core.low)/20, core.low+math.Abs(core.low)/20)
		}
		room := max(core.high-core.low, max(math.Abs(core.low), math.Abs(core.high))/4)
		if core.high == core.low { // one level is nothing without its band
			room = max(room, min(soft.high-soft.low, 4*math.Abs(core.low)))
		}
		if room == 0 {
			room = soft.high - soft.low
		}
		low, high := core.low-room, core.high+room
		all.add(min(max(soft.low, low), high), min(max(soft.high, low), high))
		cut = soft.low < all.low || soft.high > all.high
	}
	return withZero(f.Y, roomAround(all, 0.06, 0, 0), all), cut
}

func (f Figure) coreY() (r reach) {
	for _, p := range f.Points {
		for _, m := range p.Marks {
			if !m.Doubted {
				r.add(m.Y)
			}
		}
	}
	for _, l := range f.Lines {
		for _, p := range l.Through {
			r.add(p.Y)
		}
	}
	for _, l := range f.Levels {
		r.add(l.Y)
	}
	for _, n := range f.Notes {
		r.add(n.Y)
	}
	return r
}

func (f Figure) softY() (r reach) {
	for _, b := range f.Bands {
		for _, s := range b.Spans {
			r.add(s.Low, s.High)
		}
	}
	for _, p := range f.Points {
		for _, m := range p.Marks {
			if m.Doubted {
				r.add(m.Y)
			}
			if m.Bar {
				r.add(m.Low, m.High)
			}
		}
	}
	return r
}

// middleY gives the middle of the first band or doubted point: what there is to look at where nothing is certain.
func (f Figure) middleY() float64 {
	for _, b := range f.Bands {
		s := b.Spans[len(b.Spans)/2]
		return s.Low/2 + s.High/2
	}
	for _, p := range f.Points {
		return p.Marks[0].Y
	}
	return 0
}

// roomAround gives an interval around r with a share of its width to spare on both sides. Where r is a single value,
// or as good as one, the interval is at least `least` to both sides, or 5 % of the value, or 1. A width up to
// `narrowest`, to 1e-9 or to a millionth of the values counts as none.
func roomAround(r reach, share, least, narrowest float64) Limits {
	if !r.any {
		r = reach{0, 0, true}
	}
	middle, width := r.low/2+r.high/2, r.high-r.low
	magnitude := max(math.Abs(r.low), math.Abs(r.high))
	if width <= max(narrowest, 1e-9) || least == 0 && width <= 1e-6*magnitude {
		half := least
		if half == 0 {
			half = magnitude * 0.05
		}
		if half < 1e-8 {
			half = 1
		}
		return Limits{middle - half, middle + half}
	}
	return Limits{r.low - share*width, r.high + share*width}
}

// withZero lets the axis begin at zero where the spare room alone would cross it, or where the axis asks for it.
func withZero(a Axis, l Limits, r reach) Limits {
	if r.low >= 0 && (l.Low < 0 || a.FromZero) {
		l.Low = 0
	}
	if r.high <= 0 && (l.High > 0 || a.FromZero) {
		l.High = 0
	}
	if l.Low >= l.High {
		return Limits{l.Low - 1, l.Low + 1}
	}
	return l
}
