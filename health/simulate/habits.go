package simulate

import "math"

// day lives through one day of riding, if there is any.
func (m *sim) day(n float64) {
	m.tyres(n)
	m.happen(n)
	if n < m.stored {
		return
	}
	h, wx := &m.cfg.Habits, m.weather.day(int(n))
	fair := wx.meanC > 0 && wx.windKmh < 35
	lust := 1 - h.WinterBreak/(1+math.Exp((wx.meanC-6)/2.5))
	if wx.meanC < -4 || wx.windKmh > 40 {
		lust = 0 // nobody goes out
	}
	weekday := (int(m.start().Weekday()) + int(n)) % 7
	switch {
	case n >= m.next.test && fair:
		m.test(n)
	case weekday >= 1 && weekday <= 5 && m.rng.Float64() < h.CommuteDays/5*lust:
		m.commute(n)
	case m.rng.Float64() < h.RidesWeek/7*lust:
		m.pleasure(n)
	}
	if n >= m.next.check && m.s.z > 0.3 && m.s.z < 0.97 && m.hour < n*24+20 {
		m.check(n)
	}
	m.evening(n)
}

func (m *sim) tyres(n float64) {
	h := &m.cfg.Habits
	m.kpa *= math.Exp(-m.cfg.Board.LeakPctWeek / 700)
	if n-m.pumped >= h.PumpDays*(0.8+0.4*m.rng.Float64()) {
		m.kpa = m.cfg.Board.RefTyreKpa * (1 + h.PumpSpread*clip(m.rng.NormFloat64(), 2))
		m.pumped = n
	}
}

// test is a range test: charged and held in the morning, ridden to the limit.
func (m *sim) test(n float64) {
	h := &m.cfg.Habits
	m.next.test = n + h.TestEveryDays*(0.85+0.3*m.rng.Float64())
	if on := h.TestOn; len(on) > 0 {
		for len(on) > 0 && float64(on[0]) <= n {
			on = on[1:]
		}
		if h.TestOn, m.next.test = on, math.Inf(1); len(on) > 0 {
			m.next.test = float64(on[0])
		}
	}
	m.wait(math.Max(m.hour, n*24+6.5+m.rng.Float64()))
	if m.s.z+m.s.spread/2 < m.g.full-0.015 || m.s.spread > 0.015 {
		m.charge(2, 1+m.rng.Float64())
	}
	start := math.Max(m.hour+0.7+m.rng.Float64(), n*24+11+3*m.rng.Float64())
	route := m.cfg.routeIndex(m.cfg.Pack.RefRoute)
	if route < 0 {
		route = m.pickRoute()
	}
	m.ride(route, m.cfg.Riders[0], toLimitKm, start, true)
}

func (m *sim) commute(n float64) {
	to, from := -1, -1
	for i, r := range m.cfg.Routes {
		switch r.Commute {
		case 1:
			to = i
		case 2:
			from = i
		}
	}
	if to < 0 || from < 0 {
		return
	}
	need := m.cfg.Routes[to].Km + m.cfg.Routes[from].Km
	if m.reachKm() < 1.15*need && m.hour < n*24+3 {
		m.wait(n*24 + 3)
		m.charge(2, 0)
	}
	m.ride(to, m.cfg.Riders[0], m.cfg.Routes[to].Km*m.about(0.01), math.Max(m.hour+0.5, n*24+7.3+0.5*m.rng.Float64()), false)
	m.ride(from, m.cfg.Riders[0], m.cfg.Routes[from].Km*m.about(0.01), math.Max(m.hour+1, n*24+16+1.5*m.rng.Float64()), false)
}

func (m *sim) pleasure(n float64) {
	h := &m.cfg.Habits
	route := m.pickRoute()
	km := m.cfg.Routes[route].Km * math.Exp(h.KmSpread*clip(m.rng.NormFloat64(), 2))
	if m.rng.Float64() < h.ToLimit {
		km = toLimitKm
	} else {
		km = math.Min(km, 0.85*m.reachKm())
	}
	if km < 2 {
		return
	}
	m.ride(route, m.pickRider(), km, math.Max(m.hour+0.5, n*24+9+8*m.rng.Float64()), false)
}

// evening charges the pack where the rider thinks that it needs it.
func (m *sim) evening(n float64) {
	h := &m.cfg.Habits
	if m.s.z > h.ChargeBelow || m.s.z > 0.97 {
		return
	}
	m.wait(minuteUp(math.Max(m.hour+1.2+1.5*m.rng.Float64(), n*24+17+3*m.rng.Float64())))
	stop, hold := 2.0, 0.0
	if m.rng.Float64() < h.PartCharges {
		stop = math.Max(m.s.z+0.05, 0.55+0.4*m.rng.Float64())
	} else if m.rng.Float64() < h.HoldShare {
		hold = 0.5 + 1.5*m.rng.Float64()
	}
	m.charge(stop, hold)
}

// reachKm is how far the rider thinks that the charge will go.
func (m *sim) reachKm() float64 {
	p := &m.cfg.Pack
	return math.Max(0, m.s.z-0.08) * m.g.ahOf(m.g.age(&m.w, false)) * float64(p.Series) * p.NominalV / m.whKm
}

func (m *sim) about(sd float64) float64 { return 1 + sd*clip(m.rng.NormFloat64(), 2) }

func (m *sim) pickRoute() int {
	var sum float64
	for _, r := range m.cfg.Routes {
		sum += r.Share
	}
	x := m.rng.Float64() * sum
	for i, r := range m.cfg.Routes {
		if x -= r.Share; x < 0 {
			return i
		}
	}
	return 0
}

func (m *sim) pickRider() Rider {
	x := m.rng.Float64()
	for _, r := range m.cfg.Riders[1:] {
		if x -= r.Share; x < 0 {
			return r
		}
	}
	return m.cfg.Riders[0]
}
