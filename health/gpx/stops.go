package gpx

import "math"

// A step is certainly a stop below the low speed and certainly a ride above the
// high one. Both rise with the noise of the
// velocities, of which a rider at rest shows a Rayleigh distribution: beyond
// three of its scales lies 1 % of it.
const (
	slowMs, slowNoise = 0.4, 1.0
	fastMs, fastNoise = 0.7, 3.0

	shortestStopS = 3.0  // common practice, no source: less is braking
	wanderM       = 15.0 // from a stop and back to it: receivers at rest wander so far
	wanderBackM   = 5.0

	// A rider who stays within the radius (root of the mean square) for so
	// long stands, at whatever speed a receiver makes the position wander,
	// unless the speed is a ride's: then it is a ride in circles.
	dwellS, dwellM = 30.0, 8.0
	circlingMs     = 2.0
)

// decide marks the steps that are ridden. Those between slow and fast are looked
// at in a window twice as wide, with a third of the noise; what is in doubt then
// goes with the nearest step that is certain, so that a track ridden backwards
// comes out the same.
func (m *meter) decide(leg []place, steps []step) {
	dwelling := dwells(leg, steps)
	last := -1 // certain step
	for i := range steps {
		rides, certain := steps[i].judge()
		if !certain {
			wider := m.fit(leg, i, 2)
			rides, certain = wider.judge()
		}
		if dwelling[i] {
			rides = false
		} else if !certain {
			continue
		}
		steps[i].moving = rides
		fillBetween(steps, last, i)
		last = i
	}
	if last < 0 {
		// Neither slow nor fast anywhere: did it lead away?
		away := leg[len(leg)-1].at.minus(leg[0].at).length() > m.jitterM()+wanderBackM
		for i := range steps {
			steps[i].moving = away
		}
		return
	}
	for i := last + 1; i < len(steps); i++ {
		steps[i].moving = steps[last].moving
	}
}

// judge says whether a step is ridden, and whether that is certain.
func (s *step) judge() (rides, certain bool) {
	rides = s.speed > fastMs+fastNoise*s.noise
	return rides, rides || s.speed < slowMs+slowNoise*s.noise
}

// fillBetween gives the steps between two certain ones to the nearer of them;
// from is -1 where there is none before.
func fillBetween(steps []step, from, to int) {
	for j := from + 1; j < to; j++ {
		steps[j].moving = steps[to].moving
		if from >= 0 && j-from <= to-j-1 {
			steps[j].moving = steps[from].moving
		}
	}
}

// dwells says of each step whether the rider stays about there.
func dwells(leg []place, steps []step) []bool {
	out := make([]bool, len(steps))
	var w dwelling
	first, last := 0, -1
	origin := leg[0].at
	for i := range steps {
		mid := 0.5 * (leg[i].t + leg[i+1].t)
		for last+1 < len(steps) && leg[last+1].t <= mid+dwellS/2 {
			last++
			w.add(leg[last].at.minus(origin), steps[last].speed, +1)
		}
		for first < last && leg[first].t < mid-dwellS/2 {
			w.add(leg[first].at.minus(origin), steps[first].speed, -1)
			first++
		}
		whole := leg[last].t-leg[first].t >= 0.8*dwellS
		out[i] = whole && w.n > 2 && w.radius() < dwellM && w.speed/w.n < circlingMs
	}
	return out
}

// dwelling sums up the places and speeds in a window.
type dwelling struct {
	n, speed, squares float64
	sum               vec
}

func (d *dwelling) add(at vec, speed, sign float64) {
	d.n += sign
	d.speed += sign * speed
	d.squares += sign * at.dot(at)
	d.sum = d.sum.addScaled(at, sign)
}

func (d *dwelling) radius() float64 {
	mean := d.sum.times(1 / d.n)
	return math.Sqrt(max(0, d.squares/d.n-mean.dot(mean)))
}

// part is a stretch of a leg at rest or on the move: the points first to last,
// from one moment and place to another, which may lie between points.
type part struct {
	rest        bool
	first, last int
	from, until sample
	center      vec     // of a rest
	clearM      float64 // of a rest: beyond this from its center it has ended
}

// parts cuts the leg at its stops.
func (m *meter) parts(leg []place, steps []step) []part {
	var out []part
	for i := 0; i < len(steps); {
		j := i
		for j+1 < len(steps) && steps[j+1].moving == steps[i].moving {
			j++
		}
		p := part{rest: !steps[i].moving, first: i, last: j + 1}
		if p.rest && leg[p.last].t-leg[p.first].t < shortestStopS && len(steps) > j-i+1 {
			p.rest = false
		}
		out = joined(out, p)
		i = j + 1
	}
	out = m.withoutWandering(leg, out)
	m.sharpen(leg, steps, out)
	return out
}

// joined appends p, or widens the last part where both are of one kind.
func joined(parts []part, p part) []part {
	if n := len(parts); n > 0 && parts[n-1].rest == p.rest {
		parts[n-1].last = p.last
		return parts
	}
	return append(parts, p)
}

// withoutWandering makes one stop of two with a ride between them that goes
// nowhere.
func (m *meter) withoutWandering(leg []place, parts []part) []part {
	var out []part
	for i, p := range parts {
		if !p.rest && m.wanders(leg, parts, i) {
			p.rest = true
		}
		out = joined(out, p)
	}
	return out
}

func (m *meter) wanders(leg []place, parts []part, i int) bool {
	if i == 0 && i == len(parts)-1 {
		return false
	}
	var here, there vec
	switch {
	case i == 0:
		here = center(leg, parts[i+1])
		there = here
	case i == len(parts)-1:
		here = center(leg, parts[i-1])
		there = here
	default:
		here, there = center(leg, parts[i-1]), center(leg, parts[i+1])
	}
	far := 0.0
	for _, q := range leg[parts[i].first : parts[i].last+1] {
		far = math.Max(far, q.at.minus(here).length())
	}
	return far < wanderM && there.minus(here).length() < wanderBackM && far < wanderLimit(m.survey.noiseM)
}

// wanderLimit keeps short shuttles of a clean track: without noise to blame,
// only steps of a few metres are wandering.
func wanderLimit(noise float64) float64 { return wanderBackM + 10*noise }

// center is the mean place of a stop.
func center(leg []place, p part) vec {
	origin := leg[p.first].at
	var sum vec
	for _, q := range leg[p.first : p.last+1] {
		sum = sum.plus(q.at.minus(origin))
	}
	return origin.addScaled(sum, 1/float64(p.last-p.first+1))
}

// scatterTimes is how many times its scatter from the center a receiver at rest
// may show, a root of the mean square in the plane: 2 % lie beyond two.
const scatterTimes = 2.0

// scatter is the root of the mean square of the distances from the center.
func scatter(leg []place, p part, c vec) float64 {
	sum := 0.0
	for _, q := range leg[p.first : p.last+1] {
		d := q.at.minus(c)
		sum += d.dot(d)
	}
	return math.Sqrt(sum / float64(p.last-p.first+1))
}

// sharpen finds when each stop began and ended, more finely than the window of
// the velocities: the moment when the point that has got clear of the noise
// around the stop would have left it at the speed it has.
func (m *meter) sharpen(leg []place, steps []step, parts []part) {
	for i := range parts {
		p := &parts[i]
		p.from, p.until = sample{leg[p.first].at, leg[p.first].t}, sample{leg[p.last].at, leg[p.last].t}
		if !p.rest {
			continue
		}
		core := *p
		core.first, core.last = m.coreOf(leg, *p)
		p.center = center(leg, core)
		p.clearM = max(3*m.survey.noiseM+0.5, scatterTimes*scatter(leg, core, p.center))
		p.from.at, p.until.at = p.center, p.center
		if i > 0 {
			p.from.t = leave(leg, steps, p, core.first, parts[i-1].first, -1)
		}
		if i < len(parts)-1 {
			p.until.t = leave(leg, steps, p, core.last, parts[i+1].last, +1)
		}
	}
	for i := range parts {
		if !parts[i].rest {
			between(parts, i)
		}
	}
}

// between lets the ride i begin and end with the stops around it. Where these
// overlap, the ride has no time at all.
func between(parts []part, i int) {
	p := &parts[i]
	if i > 0 {
		p.from = parts[i-1].until
	}
	if i < len(parts)-1 {
		p.until = parts[i+1].from
	}
	if p.until.t >= p.from.t {
		return
	}
	t := 0.5 * (p.from.t + p.until.t)
	p.from.t, p.until.t = t, t
	if i > 0 {
		parts[i-1].until.t = t
	}
	if i < len(parts)-1 {
		parts[i+1].from.t = t
	}
}

// coreOf leaves out the ends of a stop that the window of the velocities has
// blurred.
func (m *meter) coreOf(leg []place, p part) (first, last int) {
	half := 0.5 * m.stepWindowS()
	first, last = p.first, p.last
	half = min(half, (leg[last].t-leg[first].t)/4)
	for first < last && leg[first].t < leg[p.first].t+half {
		first++
	}
	for last > first && leg[last].t > leg[p.last].t-half {
		last--
	}
	return first, last
}

// leave walks from the point core towards the point edge and returns the moment
// at which the stop ends (towards +1) or begins (-1).
func leave(leg []place, steps []step, p *part, core, edge, towards int) float64 {
	for k := core; k != edge; k += towards {
		q := leg[k+towards]
		d := q.at.minus(p.center).length()
		if d <= p.clearM {
			continue
		}
		s := steps[min(k, k+towards)]
		t := q.t - float64(towards)*d/math.Max(s.speed, slowMs)
		if towards > 0 {
			return math.Max(t, leg[core].t)
		}
		return math.Min(t, leg[core].t)
	}
	return leg[edge].t
}

// waypoints are the places and times of a ride, beginning and ending at the
// stops around it.
func (m *meter) waypoints(leg []place, p part) ride {
	r := ride{}
	add := func(s sample, f *fix) {
		if n := len(r.at); n > 0 && s.t-r.at[n-1].t < 1e-3 {
			return
		}
		r.at = append(r.at, s)
		r.fix = append(r.fix, f)
	}
	add(p.from, &leg[p.first].fix)
	for i := p.first; i <= p.last; i++ {
		if leg[i].t > p.from.t && leg[i].t < p.until.t {
			add(sample{leg[i].at, leg[i].t}, &leg[i].fix)
		}
	}
	add(p.until, &leg[p.last].fix)
	return r
}
