package trace

// extraSlots says in which extra column of a batch what stands, -1 where the
// file has none.
type extraSlots struct {
	temp, air, speed, odo int
	groups                []int
}

func (p *plan) extraSlots() extraSlots {
	e := extraSlots{-1, -1, -1, -1, nil}
	for n, r := range p.extraRole {
		switch r {
		case PackTemp:
			e.temp = n
		case Ambient:
			e.air = n
		case Speed:
			e.speed = n
		case Odometer:
			e.odo = n
		case Groups:
			e.groups = append(e.groups, n)
		}
	}
	return e
}

func (e extraSlots) any() bool { return e.temp >= 0 || e.air >= 0 || e.speed >= 0 || e.odo >= 0 }

// extra takes the optional columns of row k, which lies dt behind the last.
func (c *cursor) extra(b *batch, k int, dt float64) {
	e := &c.slots
	if e.temp >= 0 {
		c.takeTemp(b.extra[e.temp][k], dt)
	}
	if e.air >= 0 {
		c.st.air.add(b.extra[e.air][k], dt)
	}
	if e.odo >= 0 {
		c.takeOdometer(b.extra[e.odo][k])
	}
	if e.speed >= 0 {
		c.takeSpeed(b.extra[e.speed][k], dt)
	}
}

// extraOf copies the optional columns of a row that has to wait.
func (c *cursor) extraOf(b *batch, k int) []float64 {
	if len(b.extra) == 0 {
		return nil
	}
	out := make([]float64, len(b.extra))
	for n := range b.extra {
		out[n] = b.extra[n][k]
	}
	return out
}

// takeExtra takes what extraOf copied.
func (c *cursor) takeExtra(x []float64, dt float64) {
	if x == nil {
		return
	}
	e := &c.slots
	if e.temp >= 0 {
		c.takeTemp(x[e.temp], dt)
	}
	if e.air >= 0 {
		c.st.air.add(x[e.air], dt)
	}
	if e.odo >= 0 {
		c.takeOdometer(x[e.odo])
	}
	if e.speed >= 0 {
		c.takeSpeed(x[e.speed], dt)
	}
	for n, slot := range e.groups {
		c.groups[n] = x[slot]
	}
}

func (c *cursor) takeTemp(degrees, dt float64) {
	if degrees == degrees {
		c.st.temp.sum += degrees * dt
		c.st.temp.weight += dt
		c.temp = degrees
	}
}

func (c *cursor) takeOdometer(km float64) {
	m := &c.st.way
	if km != km {
		return
	}
	if m.odoFirst != m.odoFirst {
		m.odoFirst = km
	}
	m.odoLast = km
}

// movingKmh is what is no longer standing: below it speed sensors tell noise.
const movingKmh = 1.5

func (c *cursor) takeSpeed(kmh, dt float64) {
	s := &c.st
	m := &s.way
	if kmh != kmh {
		return
	}
	m.seen = true
	if c.speed == c.speed && dt > 0 {
		mean := (c.speed + kmh) / 2
		m.km.add(mean * dt / 3600)
		if mean >= movingKmh {
			m.movingS += dt
			m.speedS += mean * dt
			m.speedSq += mean * mean * dt
			if s.power == nil {
				s.power = new(powerBins)
			}
			s.power.add(mean, dt, c.pv*c.pi*dt)
		}
	}
	c.speed = kmh
}

// keepGroups keeps the voltages of the groups of a row: those at the end of a
// rest are told.
func (c *cursor) keepGroups(b *batch, k int) {
	for n, slot := range c.slots.groups {
		c.groups[n] = b.extra[slot][k]
	}
}

// lastTemp is the last temperature of the pack; NaN where there is none.
func (c *cursor) lastTemp() float64 { return c.temp }
