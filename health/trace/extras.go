package trace

import "math"

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
	get := func(slot int) float64 {
		if slot < 0 {
			return math.NaN()
		}
		return b.extra[slot][k]
	}
	c.takeExtras(get(e.temp), get(e.air), get(e.speed), get(e.odo), dt)
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

func (c *cursor) takeExtra(x []float64, dt float64) {
	if x == nil {
		return
	}
	e := &c.slots
	get := func(slot int) float64 {
		if slot < 0 {
			return math.NaN()
		}
		return x[slot]
	}
	c.takeExtras(get(e.temp), get(e.air), get(e.speed), get(e.odo), dt)
	for n, slot := range e.groups {
		c.groups[n] = x[slot]
	}
}

// movingKmh is what is no longer standing: below it speed sensors tell noise.
const movingKmh = 1.5

func (c *cursor) takeExtras(temp, air, kmh, odo, dt float64) {
	s := &c.st
	if temp == temp {
		s.temp.add(temp, dt)
		c.temp = temp
	}
	s.air.add(air, dt)
	m := &s.way
	if odo == odo {
		if m.odoFirst != m.odoFirst {
			m.odoFirst = odo
		}
		m.odoLast = odo
	}
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
