package gpx

import "math"

// survey is what a first look over a timed track tells: how often it was
// sampled, how fast it was, how noisy.
type survey struct {
	stepS   float64 // median time between points
	noiseM  float64 // standard deviation of one coordinate from point to point
	typical float64 // median speed while on the move, m/s
	most    float64 // speed beyond which a step is taken for a fault, m/s
	slackM  float64 // what noise may add to a step
	longS   float64 // a step of more than this is a gap

	recorded bool // the points carry speeds of their own that can be believed
	doubted  bool // they carry speeds that cannot
}

const (
	surveyLagS   = 4.0 // speeds of the survey are taken over at least this long
	onTheMove    = 1.0 // m/s: slower than walking pace is left out of typical
	leastMost    = 15.0
	leastSlackM  = 10.0
	leastLongS   = 10.0
	longSteps    = 4.0
	quietQuarter = 0.25 // share of the residuals that the noise is judged by

	// Speeds in the points are believed when nearly all points have one and
	// their median is that of the positions: some writers use km/h.
	recordedShare = 0.9
	recordedOff   = 0.1
)

// look makes the survey of points in the order of time.
func look(points *spool) survey {
	var steps, speeds, residuals, recorded logHistogram
	with := 0
	var back backlog
	for f := range points.all() {
		s := sample{at: f.at(), t: float64(f.timeMs) / 1000}
		back.push(s)
		if dt, ok := back.step(); ok {
			steps.add(dt, 1)
		}
		if r, ok := back.residual(); ok {
			residuals.add(r, 1)
		}
		if v, dt, ok := back.speed(); ok && v > onTheMove {
			speeds.add(v, dt)
			if f.has&hasSpeed != 0 {
				recorded.add(f.speed(), dt)
			}
		}
		if f.has&hasSpeed != 0 {
			with++
		}
	}
	s := survey{stepS: steps.quantile(0.5)}
	// A quarter of a Rayleigh distribution lies below 0.7585 of its scale.
	s.noiseM = residuals.quantile(quietQuarter) / 0.7585
	s.typical = speeds.quantile(0.5)
	s.most = max(leastMost, 2*speeds.quantile(0.9)+5)
	s.slackM = max(leastSlackM, 8*s.noiseM)
	s.longS = max(leastLongS, longSteps*s.stepS)
	if s.typical > 0 && float64(with) >= recordedShare*float64(points.n) {
		s.recorded = math.Abs(recorded.quantile(0.5)/s.typical-1) <= recordedOff
		s.doubted = !s.recorded
	}
	return s
}

// sample is a position at a time in seconds.
type sample struct {
	at vec
	t  float64
}

// backlog holds the last samples, newest last.
type backlog struct{ s []sample }

const mostBacklog = 128

func (b *backlog) push(s sample) {
	if len(b.s) == mostBacklog {
		b.s = b.s[1:]
	}
	b.s = append(b.s, s)
}

// step returns the time since the sample before.
func (b *backlog) step() (dt float64, ok bool) {
	n := len(b.s)
	if n < 2 {
		return 0, false
	}
	return b.s[n-1].t - b.s[n-2].t, true
}

// residual returns how far the last sample but one lies from the line between
// its neighbours, divided so that noise of one coordinate comes out at its own
// scale. Samples at rest to the last digit (receivers that hold a position) and
// uneven steps do not count.
func (b *backlog) residual() (float64, bool) {
	n := len(b.s)
	if n < 3 {
		return 0, false
	}
	p, q, r := b.s[n-3], b.s[n-2], b.s[n-1]
	d1, d2 := q.t-p.t, r.t-q.t
	if d1 > 2*d2 || d2 > 2*d1 || (p.at == q.at && q.at == r.at) {
		return 0, false
	}
	w := d1 / (d1 + d2)
	off := q.at.minus(p.at.to(r.at, w)).length()
	return off / math.Sqrt(1+w*w+(1-w)*(1-w)), true
}

// speed returns the speed since the youngest sample that is old enough, or the
// oldest one kept, and the time that this stands for.
func (b *backlog) speed() (v, dt float64, ok bool) {
	n := len(b.s)
	for i := n - 2; i >= 0; i-- {
		if age := b.s[n-1].t - b.s[i].t; age >= surveyLagS || i == 0 && n == mostBacklog {
			return b.s[n-1].at.minus(b.s[i].at).length() / age, b.s[n-1].t - b.s[n-2].t, true
		}
	}
	return 0, 0, false
}
