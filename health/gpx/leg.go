package gpx

import "math"

// The measure of a leg. Every step between two points gets a velocity from a
// window around it that is as wide as the noise demands; from these come stops
// (stops.go) and between them rides, whose way is smoothed (smooth.go).

// step is what lies between two neighbouring points.
type step struct {
	speed  float64 // m/s
	noise  float64 // standard deviation of one component of the velocity
	moving bool
}

const (
	recordedNoise = 0.05 // m/s, of speeds from the Doppler shift; common practice, no source

	wantedNoise  = 0.25 // m/s in the velocities that tell riding from standing
	widestStepS  = 14.0
	spikeNoise   = 6.0 // times the noise: a point that far off its neighbours is left out
	hardestMs2   = 8.0 // acceleration that no rider stands
	leastSpikeM  = 3.0
	exactlyNoisy = 0.15 // m: below this, points are taken as they are
)

// measure adds one leg.
func (m *meter) measure(leg []place) {
	leg = m.withoutSpikes(leg)
	if len(leg) < 2 {
		m.seeAll(leg)
		return
	}
	steps := m.velocities(leg)
	m.decide(leg, steps)
	for _, part := range m.parts(leg, steps) {
		if part.rest {
			m.seeAll(leg[part.first : part.last+1])
			m.stand(part.until.t - part.from.t)
			continue
		}
		m.ride(m.waypoints(leg, part))
	}
}

// seeAll notes the elevations of points that stand where the way has got to.
func (m *meter) seeAll(at []place) {
	for i := range at {
		m.profile.see(m.distanceM, &at[i].fix)
	}
}

// withoutSpikes drops single points that lie off the line between their
// neighbours farther than noise and hard braking explain.
func (m *meter) withoutSpikes(leg []place) []place {
	out := leg[:min(1, len(leg))]
	for i := 1; i < len(leg); i++ {
		if i+1 < len(leg) && m.spike(out[len(out)-1], leg[i], leg[i+1]) {
			m.spikes.note(int(leg[i].line))
			continue
		}
		out = append(out, leg[i])
	}
	return out
}

func (m *meter) spike(a, b, c place) bool {
	d1, d2 := b.t-a.t, c.t-b.t
	off := b.at.minus(a.at.to(c.at, d1/(d1+d2))).length()
	return off > spikeNoise*m.survey.noiseM+leastSpikeM+0.5*hardestMs2*d1*d2
}

// windowS returns the width in seconds of a window in which the slope of a
// straight line through points every dt seconds, each with this noise, has the
// standard deviation wanted: variance = 12 noise² dt / width³ (least squares,
// evenly spaced).
func windowS(noise, dt, wanted float64) float64 {
	return math.Cbrt(12 * noise * noise * dt / (wanted * wanted))
}

// stepWindowS is the width of the window that a step's velocity is fitted in.
func (m *meter) stepWindowS() float64 {
	return min(windowS(m.survey.noiseM, m.survey.stepS, wantedNoise), widestStepS)
}

// velocities fits each step.
func (m *meter) velocities(leg []place) []step {
	out := make([]step, len(leg)-1)
	for i := range out {
		out[i] = m.fit(leg, i, 1)
		if v, ok := speedBetween(&leg[i].fix, &leg[i+1].fix); ok && m.survey.recorded {
			out[i] = step{speed: v, noise: recordedNoise}
		}
	}
	return out
}

// fit takes the velocity of step i from a window so many times the usual width.
func (m *meter) fit(leg []place, i int, times float64) step {
	half := 0.5 * times * m.stepWindowS()
	mid := 0.5 * (leg[i].t + leg[i+1].t)
	first, last := i, i+1
	for first > 0 && leg[first-1].t >= mid-half {
		first--
	}
	for last+1 < len(leg) && leg[last+1].t <= mid+half {
		last++
	}
	return slope(leg[first:last+1], mid, m.survey.noiseM)
}

// slope fits a straight line in time to each coordinate (least squares).
func slope(p []place, mid, noise float64) step {
	var st, stt float64
	var sp, stp vec
	n := float64(len(p))
	origin := p[0].at
	for _, q := range p {
		t, d := q.t-mid, q.at.minus(origin)
		st += t
		stt += t * t
		sp = sp.plus(d)
		stp = stp.addScaled(d, t)
	}
	spread := stt - st*st/n
	v := stp.addScaled(sp, -st/n).times(1 / spread)
	return step{speed: v.length(), noise: noise / math.Sqrt(spread)}
}
