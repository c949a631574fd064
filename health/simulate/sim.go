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
	events  int     // that have happened
	cycled  int     // bench cycles so far
	stored  float64 // day until which the pack is put away
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
	switch h := &cfg.Habits; {
	case len(h.TestOn) > 0:
		m.next.test = float64(h.TestOn[0])
	case h.TestEveryDays > 0:
		m.next.test = 3 + math.Floor(h.TestEveryDays*0.5*m.rng.Float64())
	default:
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
