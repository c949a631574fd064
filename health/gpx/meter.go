package gpx

// meter adds up what the legs of a track and the breaks between them give.
type meter struct {
	survey survey

	distanceM float64
	movingS   float64
	stoppedS  float64
	stops     []Stop
	standing  bool // the last thing that happened was standing

	speeds speedHistogram // time on the move by speed
	spread spreadSum

	eastM, northM float64 // the way as the crow flies, counted parts only
	profile       profile
	path          path
	series        series

	left map[float64]float64 // see leftOf

	gaps, lost breaks
	spikes     tally
}

// breaks counts interruptions of the track.
type breaks struct {
	n      int
	metres float64 // straight across
	s      float64
}

func (b *breaks) add(metres, seconds float64) {
	b.n++
	b.metres += metres
	b.s += seconds
}

// stand counts time at rest at the place p.
func (m *meter) stand(seconds float64) {
	if seconds <= 0 {
		return
	}
	m.stoppedS += seconds
	if m.standing {
		m.stops[len(m.stops)-1].Min += seconds / 60
		return
	}
	m.standing = true
	m.stops = append(m.stops, Stop{AtKm: m.distanceM / 1000, Min: seconds / 60})
}

// move counts one step of the way from a to b, metres long.
func (m *meter) move(a, b vec, metres, seconds float64) {
	if metres > 0 {
		east, north := eastNorth(a, b.minus(a))
		m.eastM += east
		m.northM += north
	}
	m.path.start(a)
	m.distanceM += metres
	m.movingS += seconds
	m.standing = false
	m.path.add(b, m.distanceM)
	m.series.add(metres, seconds)
}

// timeAt counts time on the move at one speed.
func (m *meter) timeAt(metresPerS, seconds float64) { m.speeds.add(metresPerS*3.6, seconds) }

// jitterM is how far two points of a rider at rest may lie apart.
func (m *meter) jitterM() float64 { return 3*m.survey.noiseM + 1 }

// longGapM is how long a step straight across is worth a warning.
const longGapM = 100.0

// bridge counts a long step inside one segment: straight on, as GPX says that
// its points belong together. What is slower than riding holds a stop.
func (m *meter) bridge(a, b place) {
	d, dt := overGround(a.at, b.at), b.t-a.t
	if d <= m.jitterM() {
		m.stand(dt)
		return
	}
	riding := dt
	if v := m.survey.typical; v > 0 && d/dt < 0.5*v {
		riding = d / v
	}
	if d > longGapM {
		m.gaps.add(d, dt)
	}
	m.stand(dt - riding)
	m.move(a.at, b.at, d, riding)
	m.timeAt(d/riding, riding)
	m.spread.add(d/riding, 0, riding)
}

// part passes from one segment to another: a pause where both ends are close,
// else a way that nobody recorded and that is not counted.
func (m *meter) part(a, b place) {
	d, dt := overGround(a.at, b.at), b.t-a.t
	if d <= max(pauseM, m.jitterM()) && dt <= longestPauseS {
		m.stand(dt)
		return
	}
	m.lose(a, b)
}

// lose passes a break of which nothing is counted.
func (m *meter) lose(a, b place) {
	m.lost.add(overGround(a.at, b.at), b.t-a.t)
	m.standing = false
	m.path.cut()
	m.profile.cut()
}
