package gpx

import (
	"math"
	"slices"
)

// The way of a ride. Noise makes a chain of points longer than the way: each
// step of length d grows by s²/2d on average where s is the standard deviation
// of its sideways component. So the points are smoothed, only as much as keeps
// that growth small, since smoothing cuts corners; and what is left of the
// growth is taken off.

// ride is the waypoints between two stops (or breaks).
type ride struct {
	at  []sample
	fix []*fix
}

const (
	wantedGrowth = 0.004 // of the length, before it is taken off
	widestWayS   = 20.0
	leastSpeedMs = 2.0 // for the choice of windows
	steadyNoise  = 0.1 // m/s in the speeds whose spread is told
	widestPaceS  = 15.0
)

// ride adds the way between two stops.
func (m *meter) ride(r ride) {
	n := len(r.at)
	if n < 2 {
		return
	}
	way, widths := m.way(r.at)
	lengths := make([]float64, n-1)
	for i := range lengths {
		d, dt := overGround(way[i].at, way[i+1].at), way[i+1].t-way[i].t
		lengths[i] = math.Sqrt(max(0, d*d-m.growth(max(widths[i], widths[i+1]), dt)))
		m.move(way[i].at, way[i+1].at, lengths[i], dt)
		m.profile.see(m.distanceM, r.fix[i+1])
	}
	if !m.recordedPace(r, way) {
		m.pace(way, lengths)
	}
}

// growth returns the variance of the sideways component of a step of dt
// seconds between points smoothed over this width (0: not at all).
func (m *meter) growth(width, dt float64) float64 {
	noise2 := m.survey.noiseM * m.survey.noiseM
	switch {
	case m.survey.noiseM < exactlyNoisy:
		return 0
	case width == 0:
		return 2 * noise2
	}
	per := dt / m.survey.stepS
	return noise2 * m.leftOf(width) * per * per
}

// leftOf returns the variance of the difference of two neighbouring places that
// smoothing over this width leaves, as a multiple of the variance of the noise,
// for points evenly spaced.
func (m *meter) leftOf(width float64) float64 {
	if left, ok := m.left[width]; ok {
		return left
	}
	half := 0.5 * width / m.survey.stepS
	weight := func(t int) float64 { return max(0, 1-float64(t*t)/(half*half)) }
	sum, left := 0.0, 0.0
	for t := -int(half) - 1; t <= int(half)+1; t++ {
		sum += weight(t)
		d := weight(t) - weight(t-1)
		left += d * d
	}
	left /= sum * sum
	if m.left == nil {
		m.left = map[float64]float64{}
	}
	m.left[width] = left
	return left
}

// way smooths the points, each over the widest window that shows no bend:
// where half the window gives another place than noise explains, half is taken
// and looked at again.
func (m *meter) way(in []sample) (way []sample, widths []float64) {
	way, widths = slices.Clone(in), make([]float64, len(in))
	v := max(m.survey.typical, leastSpeedMs)
	width := min(windowS(m.survey.noiseM, m.survey.stepS, v*math.Sqrt(2*wantedGrowth)), widestWayS)
	if m.survey.noiseM < exactlyNoisy || width <= 2*m.survey.stepS {
		return way, widths
	}
	wide := smoothed(in, width)
	settled := make([]bool, len(in))
	for ; width > 2*m.survey.stepS; width /= 2 {
		narrow := in
		if width/2 > 2*m.survey.stepS {
			narrow = smoothed(in, width/2)
		}
		bends := m.bends(wide, narrow, width)
		for i := range in {
			if !settled[i] && !bends[i] {
				way[i], widths[i], settled[i] = wide[i], width, true
			}
		}
		wide = narrow
	}
	return way, widths
}

// bendNoise is how many standard deviations of their difference two windows may
// give different places. The variance that an Epanechnikov window leaves is 1.2
// noise² dt / width; the difference of a window and its half has about the same
// again.
const bendNoise = 3.5

// bends says of each point whether it lies in a bend for this window: within a
// quarter of its width of where the two windows disagree.
func (m *meter) bends(wide, narrow []sample, width float64) []bool {
	out := make([]bool, len(wide))
	most := bendNoise * m.survey.noiseM * math.Sqrt(1.2*m.survey.stepS/width)
	done := 0
	for i := range wide {
		if wide[i].at.minus(narrow[i].at).length() <= most {
			continue
		}
		first := max(done, 0)
		for first < i && wide[first].t < wide[i].t-width/4 {
			first++
		}
		for done = first; done < len(wide) && wide[done].t <= wide[i].t+width/4; done++ {
			out[done] = true
		}
	}
	return out
}

// smoothed returns the points of a straight line in time fitted around each
// one, with weights that fall off to the edge of the window as 1-u²
// (Epanechnikov). The first and the last stay where they are.
func smoothed(in []sample, width float64) []sample {
	out := make([]sample, len(in))
	half := 0.5 * width
	first, last := 0, 0
	for i, s := range in {
		for in[first].t <= s.t-half {
			first++
		}
		for last+1 < len(in) && in[last+1].t < s.t+half {
			last++
		}
		out[i] = sample{fitted(in[first:last+1], s, half), s.t}
	}
	out[0], out[len(in)-1] = in[0], in[len(in)-1]
	return out
}

func fitted(in []sample, s sample, half float64) vec {
	var w0, w1, w2 float64
	var p0, p1 vec
	for _, q := range in {
		t := q.t - s.t
		w := 1 - t*t/(half*half)
		d := q.at.minus(s.at)
		w0 += w
		w1 += w * t
		w2 += w * t * t
		p0 = p0.addScaled(d, w)
		p1 = p1.addScaled(d, w*t)
	}
	det := w0*w2 - w1*w1
	if det <= 1e-9*w0*w0*half*half {
		return s.at
	}
	return s.at.addScaled(p0, w2/det).addScaled(p1, -w1/det)
}

// recordedPace adds the time on the move by the speeds that the points carry;
// false where not all do.
func (m *meter) recordedPace(r ride, way []sample) bool {
	if !m.survey.recorded {
		return false
	}
	for _, f := range r.fix {
		if f.has&hasSpeed == 0 {
			return false
		}
	}
	for i := range len(way) - 1 {
		v, _ := speedBetween(r.fix[i], r.fix[i+1])
		dt := way[i+1].t - way[i].t
		m.timeAt(v, dt)
		m.spread.add(v, 0, dt)
	}
	return true
}

// pace adds the time on the move by speed, twice: for the share of the time near
// the target in a window so wide that noise hardly shows; for the spread in a
// narrower one, less the variance that noise gives it.
func (m *meter) pace(way []sample, lengths []float64) {
	along := make([]float64, len(way))
	for i, d := range lengths {
		along[i+1] = along[i] + d
	}
	noise, dt := m.survey.noiseM, m.survey.stepS
	slopes(way, along, min(windowS(noise, dt, steadyNoise), widestPaceS), func(v, _, seconds float64) {
		m.timeAt(v, seconds)
	})
	slopes(way, along, min(windowS(noise, dt, wantedNoise), widestPaceS), func(v, spread, seconds float64) {
		m.spread.add(v, noise*noise/spread, seconds)
	})
}

// slopes gives the speed at each step from the way in a window around it, the
// spread of the times there, and how long the step took.
func slopes(way []sample, along []float64, width float64, take func(v, spread, seconds float64)) {
	first, last := 0, 1
	for i := range len(way) - 1 {
		mid := 0.5 * (way[i].t + way[i+1].t)
		for first < i && way[first].t < mid-width/2 {
			first++
		}
		for last = max(last, i+1); last+1 < len(way) && way[last+1].t <= mid+width/2; last++ {
		}
		v, spread := slopeAlong(way[first:last+1], along[first:last+1], mid)
		take(max(0, v), spread, way[i+1].t-way[i].t)
	}
}

// spreadSum gathers the variance of the speed over time.
type spreadSum struct{ s, v, vv, noise2 float64 }

func (g *spreadSum) add(v, noise2, seconds float64) {
	g.s += seconds
	g.v += v * seconds
	g.vv += v * v * seconds
	g.noise2 += noise2 * seconds
}

// sd returns the standard deviation in m/s, noise taken off.
func (g *spreadSum) sd() float64 {
	if g.s == 0 {
		return 0
	}
	mean := g.v / g.s
	return math.Sqrt(max(0, g.vv/g.s-mean*mean-g.noise2/g.s))
}

// slopeAlong fits a straight line to the way over time; spread is the sum of
// the squared distances in time from their mean.
func slopeAlong(way []sample, along []float64, mid float64) (v, spread float64) {
	var st, stt, sa, sta float64
	n := float64(len(way))
	for i, s := range way {
		t, a := s.t-mid, along[i]-along[0]
		st += t
		stt += t * t
		sa += a
		sta += t * a
	}
	spread = stt - st*st/n
	return (sta - st*sa/n) / spread, spread
}
