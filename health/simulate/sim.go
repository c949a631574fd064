package simulate

import (
	"math"
	"math/rand/v2"
	"time"
)

// sim is one rider's life going on, hour after hour.
type sim struct {
	cfg     *Config
	g       *rig
	rng     *rand.Rand // of what happens, never of how it is written down
	weather *weather
	s       state
	w       wear
	hour    float64 // since the start of the log
	odoKm   float64
	kpa     float64
	pumped  float64 // day
	whKm    float64 // what the rider expects
	spanned int     // range tests so far
	next    struct{ test, check float64 }

	rides []RideTruth
	days  []wear // at each midnight, the first at hour 0
	keep  *keeper
}

func newSim(cfg *Config) *sim {
	m := &sim{cfg: cfg, g: newRig(cfg), rng: rand.New(rand.NewPCG(cfg.Seed, 0x72696465)), kpa: cfg.Board.RefTyreKpa, odoKm: cfg.Board.StartKm, whKm: 13}
	m.weather = newWeather(&cfg.Climate, cfg.Start.YearDay())
	m.g.preAge(&m.w)
	m.s = state{z: 0.6, tempC: 18, spread: 0.005}
	m.g.weakest(&m.s)
	m.days = append(m.days, m.w)
	if h := cfg.Habits.TestEveryDays; h > 0 {
		m.next.test = 3 + math.Floor(h*0.5*m.rng.Float64())
	} else {
		m.next.test = math.Inf(1)
	}
	m.next.check = 5
	if cfg.Keeping.CheckEveryDays <= 0 {
		m.next.check = math.Inf(1)
	}
	return m
}

// start is the instant of hour 0: midnight of the first day.
func (m *sim) start() time.Time {
	t := m.cfg.Start
	_, off := t.Zone()
	zone := time.UTC
	if off != 0 {
		zone = time.FixedZone("", off)
	}
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, zone)
}

// at turns hours of the log, whole minutes, into a time.
func (m *sim) at(hour float64) time.Time {
	return m.start().Add(time.Duration(math.Round(hour*60)) * time.Minute)
}

func minuteUp(hour float64) float64 { return math.Ceil(hour*60-1e-6) / 60 }

// storeC is the temperature where the pack rests.
func (m *sim) storeC(hour float64) float64 {
	if m.cfg.Bench != nil {
		return m.cfg.Bench.ChamberC
	}
	n := int(hour / 24)
	mean := m.weather.day(n).meanC
	if n > 0 {
		mean = (mean + m.weather.day(n-1).meanC) / 2
	}
	if m.cfg.Habits.Indoors {
		return 19.5 + 0.2*(mean-15)
	}
	return mean + 1.5
}

// wait lets the pack rest until an hour.
func (m *sim) wait(until float64) {
	p, c := &m.cfg.Pack, &m.cfg.Cell
	for m.hour < until-1e-9 {
		next := math.Min(until, (math.Floor(m.hour/24+1e-9)+1)*24)
		h := next - m.hour
		room := m.storeC(m.hour + h/2)
		m.g.heat(&m.s, room, 0, h)
		self := c.SelfPctMon / 100 / 730.5 * math.Exp(4200*(1/refK-1/(room+kelvin)))
		dz := h * (self + p.StandbyMA/1000/m.g.ahOf(m.g.age(&m.w, false)))
		m.s.z = math.Max(0.01, m.s.z-dz)
		m.s.spread = math.Min(0.08, m.s.spread+c.DriftMonth/100*h/730.5)
		m.g.weakest(&m.s)
		m.g.relax(&m.s, h)
		m.pass(h, room)
	}
}

// pass lets the calendar go on by some hours at the charge level of now.
func (m *sim) pass(hours, tempC float64) {
	m.g.wait(&m.w, hours/24, m.s.z, tempC)
	m.hour += hours
	for float64(len(m.days))*24 <= m.hour+1e-9 {
		m.days = append(m.days, m.w)
	}
}

// live goes on until the given day of the log.
func (m *sim) live(days int) {
	for n := int(math.Floor(m.hour/24 + 1e-9)); n < days; n = int(math.Floor(m.hour/24 + 1e-9)) {
		if m.cfg.Bench != nil {
			m.benchDay()
		} else {
			m.day(float64(n))
		}
		m.wait(float64(n+1) * 24)
	}
}

// day lives through one day of riding, if there is any.
func (m *sim) day(n float64) {
	m.tyres(n)
	h, wx := &m.cfg.Habits, m.weather.day(int(n))
	fair := wx.meanC > 0 && wx.windKmh < 45
	lust := 1 - h.WinterBreak/(1+math.Exp((wx.meanC-6)/2.5))
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
	m.spanned++
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
	m.wait(math.Max(m.hour, minuteUp(math.Max(m.hour+1.2+1.5*m.rng.Float64(), n*24+17))))
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
