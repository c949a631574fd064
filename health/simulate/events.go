package simulate

import (
	"math"

	"packwane/health/logbook"
)

// testCalm is the speed's restlessness on a range test over the usual one.
const testCalm = 0.8

// RideTruth is what really happened on one ride.
type RideTruth struct {
	ID      string // of its record; "" where it was not written down
	Drive   Drive
	Outcome Outcome
	MaxKm   float64 // planned; above any range where it was ridden to the limit
	StartH  float64 // hours since the start of the log
	start   state
	seed    uint64
}

func (m *sim) ride(route int, rider Rider, km, start float64, test bool) {
	start = minuteUp(start)
	m.wait(start)
	wx := m.weather.day(int(start / 24))
	speed := rider.SpeedKmh * m.about(0.06)
	if test {
		speed = rider.TestKmh * m.about(0.03)
		rider.Restless *= testCalm
	}
	rider.Peaks = 1 + (rider.Peaks-1)*m.about(0.15)
	if m.rng.Float64() < 0.3 { // what is in the rucksack
		rider.Kg += 4 * m.rng.Float64()
	}
	air := m.weather.airC(start + 0.7)
	d := Drive{
		Route: m.cfg.Routes[route], Rider: rider, SpeedKmh: speed, AirC: air, PackC: m.s.tempC, TyreKpa: m.kpa, BoardKg: m.cfg.Board.MassKg,
		Wet: wx.wet, WindKmh: wx.windKmh * math.Exp(0.2*clip(m.rng.NormFloat64(), 2)), FromDeg: math.Mod(wx.fromDeg+20*m.rng.NormFloat64()+720, 360), PressHpa: wx.seaHpa,
		Level: m.s.z + m.s.spread/2, Spread: m.s.spread, Age: m.g.age(&m.w, false),
	}
	t := RideTruth{Drive: d, MaxKm: km, StartH: start, start: m.s, seed: m.rng.Uint64()}
	m.finish(&t)
}

// bench discharges the cell to its limit with a steady current.
func (m *sim) benchRide(start float64) {
	start = minuteUp(start)
	m.wait(start)
	b := m.cfg.Bench
	t := RideTruth{StartH: start, MaxKm: toLimitKm, start: m.s, seed: m.rng.Uint64(), Drive: Drive{
		AirC: b.ChamberC + b.ChamberNoise*clip(m.rng.NormFloat64(), 2), PackC: m.s.tempC,
		AmpsOn: b.DischargeC * m.cfg.Pack.RatedAh * float64(m.cfg.Pack.Parallel),
		Level:  m.s.z + m.s.spread/2, Spread: m.s.spread, Age: m.g.age(&m.w, false),
	}}
	m.finish(&t)
}

// finish runs the ride, lets it wear the pack and has it written down.
func (m *sim) finish(t *RideTruth) {
	from := m.s.z
	t.Outcome = m.g.run(&t.Drive, m.s, t.MaxKm, newNoise(t.seed, 1, false))
	o := &t.Outcome
	m.s = o.end
	ah := m.cfg.Cell.CapacityAh * float64(m.cfg.Pack.Parallel)
	rate := 0.0
	if o.Hours > 0 {
		rate = o.Ah / o.Hours / ah
	}
	m.g.cycle(&m.w, o.Ah/ah, from, m.s.z, o.MeanPackC, rate)
	m.w.throughA += o.Ah
	m.w.throughW += o.Wh
	m.s.spread = math.Min(0.08, m.s.spread+m.cfg.Cell.DriftPct/100*o.Ah/ah*(0.5+m.rng.Float64()))
	m.g.weakest(&m.s)
	paused := o.Km * t.Drive.Route.StopsKm * 15 / 3600
	if o.Km > 12 {
		paused += 0.25 * m.rng.Float64()
	}
	end := minuteUp(m.hour + o.Hours + paused)
	m.odoKm += o.Km
	if o.Km > 0 {
		m.whKm += 0.15 * (o.NetWhKm() - m.whKm)
	}
	if m.keep != nil {
		m.keep.ride(m, t, end)
	}
	m.pass(end-m.hour, o.MeanPackC)
	m.rides = append(m.rides, *t)
}

// chargeTruth is what really happened at one charge.
type chargeTruth struct {
	start, end float64 // hours
	before     state
	after      state
	age        Age
	airC       float64
	charged
}

func (m *sim) charge(stop, hold float64) {
	m.wait(minuteUp(m.hour))
	t := chargeTruth{start: m.hour, before: m.s, age: m.g.age(&m.w, false)}
	t.airC = m.storeC(m.hour)
	rate := m.cfg.Habits.ChargeC
	t.charged = m.g.charge(&m.s, t.age, t.airC, rate, stop, hold)
	t.after = m.s
	t.end = minuteUp(m.hour + t.Hours + t.HoldHours + 1.0/60)
	if m.keep != nil {
		m.keep.charge(m, &t)
	}
	m.pass(t.end-m.hour, t.MeanPackC)
	m.g.relax(&m.s, t.HoldHours)
}

// check measures the resistance with a pulse, or has an ac meter do it.
func (m *sim) check(n float64) {
	m.next.check = n + m.cfg.Keeping.CheckEveryDays*(0.8+0.4*m.rng.Float64())
	m.wait(minuteUp(math.Max(m.hour+2+2*m.rng.Float64(), n*24+10)))
	if m.keep != nil {
		m.keep.check(m)
	}
	m.wait(m.hour + 0.25)
}

// benchDay cycles the cell for a day.
func (m *sim) benchDay() {
	b := m.cfg.Bench
	m.wait(minuteUp(m.hour + 0.25))
	begin := m.hour
	per := 24 / b.CyclesDay
	for i := 0; float64(i) < math.Max(1, math.Floor(b.CyclesDay)); i++ {
		m.charge(2, 0)
		m.benchRide(m.hour + 0.25)
		m.cycled++
		if m.keep != nil && b.CheckEvery > 0 && m.cycled%b.CheckEvery == 1 {
			m.wait(m.hour + 0.75)
			m.charge(0.5, 0)
			m.wait(m.hour + 1)
			m.keep.check(m)
		}
		if b.PauseEvery > 0 && m.cycled%b.PauseEvery == 0 {
			m.wait(m.hour + 24*b.PauseDays)
			return
		}
		m.wait(math.Max(m.hour+0.25, begin+float64(i+1)*per))
	}
}

// happen lets the day's events come true.
func (m *sim) happen(n float64) {
	for m.events < len(m.cfg.Events) && float64(m.cfg.Events[m.events].Day) <= n {
		e := m.cfg.Events[m.events]
		m.events++
		m.wait(minuteUp(math.Max(m.hour, n*24+8)))
		switch e.What {
		case "balance":
			m.s.spread = 0
			m.g.weakest(&m.s)
		case "storage":
			m.stored = n + float64(e.Days)
		case "cells_replaced":
			m.w = wear{meanZ: 0.5}
			m.s = state{z: 0.5, tempC: m.s.tempC}
			m.g.weakest(&m.s)
		case StringLost:
			m.w.gone = 1 - (1-m.w.gone)*(1-e.Share)
			continue // nobody writes it down
		case LimitSet:
			m.cfg.Pack.LimitV = e.LimitV
			if m.keep != nil {
				m.keep.add(m.cfg, &logbook.Setup{At: m.at(m.hour), Pack: m.cfg.Pack.ID, LimitV: logbook.Some(e.LimitV)})
			}
			continue
		}
		if m.keep != nil {
			m.keep.service(m, e)
		}
	}
}
