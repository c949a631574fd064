package simulate

import (
	"fmt"
	"math"

	"packwane/health/logbook"
)

// keeper writes the log: from the truth to what a rider with imperfect meters
// and little patience notes down. Its chances are its own, so that keeping
// differently changes nothing of what happened.
type keeper struct {
	records []logbook.Record
	wrong   []Wrong
	n       *noise // of readings and of what is left out
	slips   *noise
	counts  map[logbook.Kind]int
}

func newKeeper(cfg *Config) *keeper {
	return &keeper{n: newNoise(cfg.Seed, 0x6b656570, false), slips: newNoise(cfg.Seed, 0x736c6970, false), counts: map[logbook.Kind]int{}}
}

func (k *keeper) add(cfg *Config, r logbook.Record) string {
	k.counts[r.Kind()]++
	h := logbook.HeadOf(r)
	h.Rev = 1
	h.ID = fmt.Sprintf("%s-%s-%04d", cfg.Pack.ID, r.Kind(), k.counts[r.Kind()])
	k.records = append(k.records, r)
	return h.ID
}

// some is a figure that is left out now and then.
func (k *keeper) some(m *sim, v, step float64) logbook.Num {
	if k.n.uniform() < m.cfg.Keeping.Miss {
		return logbook.Num{}
	}
	return logbook.Some(round(v, step))
}

// restMin is how long the rider waited before reading a voltage, at most so
// many minutes: what comes next does not begin before.
func (k *keeper) restMin(m *sim, most float64) float64 {
	return round(max(5, min(most, m.cfg.Keeping.RestMin*math.Exp(0.3*k.n.normal()))), 1)
}

func (k *keeper) volts(m *sim, s state, a Age, restMin float64) logbook.Num {
	m.g.relax(&s, restMin/60)
	if k.n.uniform() < m.cfg.Keeping.Miss {
		return logbook.Num{}
	}
	return logbook.Some(m.cfg.Meters.volts(m.g.restV(&s, a), k.n))
}

func (m *sim) years() float64 { return m.hour / 8766 }

func (k *keeper) ride(m *sim, t *RideTruth, end float64) {
	kp, o := &m.cfg.Keeping, &t.Outcome
	limit := o.Stop == "limit"
	if o.Km < 0.3 && m.cfg.Bench == nil {
		return // turned back at the gate
	}
	if k.n.uniform() < kp.Unlogged && !limit || kp.OnlyTests && !(limit && t.MaxKm >= toLimitKm) {
		return
	}
	r := &logbook.Ride{Pack: m.cfg.Pack.ID, At: m.at(t.StartH), End: m.at(end), Stop: o.Stop}
	a := m.g.age(&m.w, false)
	if kp.RestVolts {
		r.StartRestV = k.volts(m, t.start, t.Drive.Age, 0)
		wait := k.restMin(m, 60)
		if m.cfg.Bench != nil {
			wait = k.restMin(m, 15)
		}
		if r.EndRestV = k.volts(m, o.end, a, wait); r.EndRestV.OK {
			r.EndRestMin = k.some(m, wait, 5)
		}
	}
	if kp.Loaded {
		r.MinV = k.some(m, m.cfg.Meters.volts(o.MinV, k.n), 0.1)
		r.PeakA = k.some(m, o.PeakA*(1+0.03*k.n.normal()), 0.5)
	}
	k.energy(m, r, o)
	if m.cfg.Bench == nil {
		k.travel(m, r, t)
	} else if kp.Conditions {
		r.AmbientC = k.some(m, t.Drive.AirC+0.3*k.n.normal(), 0.5)
	}
	if kp.PackTemp {
		r.PackC = k.some(m, o.MeanPackC+m.cfg.Meters.ProbeC+0.5*k.n.normal(), 1)
	}
	if kp.Miss > 0 && k.n.uniform() < kp.Miss && !limit {
		r.Stop = ""
	}
	t.ID = k.add(m.cfg, r)
	if m.cfg.Bench == nil && k.slips.rng.Float64() < kp.Wrong {
		k.slipRide(m, r, t)
	}
}

func (k *keeper) energy(m *sim, r *logbook.Ride, o *Outcome) {
	kp, mt := &m.cfg.Keeping, &m.cfg.Meters.Ride
	if !kp.RideAh && !kp.RideWh {
		return
	}
	regen := m.cfg.Board.RegenEff > 0 && m.cfg.Bench == nil
	ah, wh := o.Ah, o.Wh
	gross := regen && k.n.uniform() >= kp.Miss
	if !gross {
		ah, wh = ah-o.RegenAh, wh-o.RegenWh
	}
	// Ah and Wh share the current sensor's error of that day.
	err := mt.Noise * k.n.normal()
	one := *mt
	one.Noise = 0
	y := m.years()
	count := func(v, per, step float64) logbook.Num {
		return logbook.Some(one.reads(v*(1+err), y, o.Hours, per, step, k.n))
	}
	volts := m.g.groups * m.cfg.Pack.NominalV
	if kp.RideAh && k.n.uniform() >= kp.Miss {
		r.DischargedAh = count(ah, 1, mt.StepAh)
	}
	if kp.RideWh && k.n.uniform() >= kp.Miss {
		r.DischargedWh = count(wh, volts, mt.StepWh)
	}
	if gross {
		r.RegenAh, r.RegenWh = regenOf(r.DischargedAh, count(o.RegenAh, 0, mt.StepAh)), regenOf(r.DischargedWh, count(o.RegenWh, 0, mt.StepWh))
	}
	r.Meter = mt.Name
	if mt.ErrorPct > 0 {
		r.ErrorPct = logbook.Some(mt.ErrorPct)
	}
}

// regenOf leaves the regeneration out where its gross is not written down.
func regenOf(gross, regen logbook.Num) logbook.Num {
	if !gross.OK {
		return logbook.Num{}
	}
	return regen
}

func (k *keeper) travel(m *sim, r *logbook.Ride, t *RideTruth) {
	kp, o, d := &m.cfg.Keeping, &t.Outcome, &t.Drive
	r.Board = m.cfg.Board.ID
	r.DistanceKm = logbook.Some(round(o.Km*(1+kp.KmErr*k.n.normal()), 0.01))
	if k.n.uniform() < kp.Miss/4 {
		r.DistanceKm = logbook.Num{}
	}
	if kp.Odometer {
		r.OdometerKm = k.some(m, m.odoKm, 0.1)
	}
	r.Route = d.Route.Name
	if kp.Sessions && t.MaxKm >= toLimitKm {
		r.Session = "outing " + m.at(t.StartH).Format(logbook.DateLayout)
	}
	if !kp.Conditions {
		return
	}
	r.MovingSpeedKmh = k.some(m, o.SpeedKmh*(1+0.004*k.n.normal()), 0.1)
	r.MovingMin = k.some(m, o.Hours*60, 1)
	r.SpeedSdKmh = k.some(m, o.SpeedSD*(1+0.05*k.n.normal()), 0.1)
	r.AmbientC = k.some(m, d.AirC+0.7*k.n.normal(), 1)
	if k.n.uniform() < 0.7 {
		r.TyreKpa = k.some(m, d.TyreKpa*(1+0.015*k.n.normal()), 5)
	}
	if k.n.uniform() >= kp.Miss {
		r.Rider = d.Rider.Name
	}
	r.RiderKg = k.some(m, d.Rider.Kg+0.5*k.n.normal(), 1)
	r.ClimbM = k.some(m, o.ClimbM*(1+0.08*k.n.normal()), 5)
	r.DescentM = k.some(m, o.DescentM*(1+0.08*k.n.normal()), 5)
	k.wind(m, r, t)
}

// wind is a rough guess: what the forecast said, or what the face felt.
func (k *keeper) wind(m *sim, r *logbook.Ride, t *RideTruth) {
	d := &t.Drive
	if d.Route.Shape == "one_way" && k.n.uniform() < 0.5 {
		r.HeadwindKmh = k.some(m, t.Outcome.HeadKmh*(1+0.3*k.n.normal())+1.5*k.n.normal(), 1)
		return
	}
	if k.n.uniform() < m.cfg.Keeping.Miss {
		return
	}
	r.WindKmh = logbook.Some(round(max(0, d.WindKmh*(1+0.2*k.n.normal())), 1))
	r.WindFromDeg = logbook.Some(math.Mod(round(d.FromDeg+20*k.n.normal()+720, 45), 360))
	r.Shape = d.Route.Shape
}

func (k *keeper) charge(m *sim, t *chargeTruth) {
	kp, mt := &m.cfg.Keeping, &m.cfg.Meters
	if kp.OnlyTests && k.n.uniform() < 0.5 && !(t.Full && t.HoldHours > 0) {
		return
	}
	r := &logbook.Charge{Pack: m.cfg.Pack.ID, At: m.at(t.end), Full: logbook.FlagOf(t.Full)}
	if k.n.uniform() >= kp.Miss {
		r.Start = m.at(t.start)
	}
	if t.HoldHours > 0 {
		r.HoldMin = k.some(m, t.HoldHours*60, 5)
	}
	if kp.RestVolts {
		r.StartRestV = k.volts(m, t.before, t.age, 0)
		wait := k.restMin(m, 30)
		if m.cfg.Bench != nil {
			wait = k.restMin(m, 15)
		}
		if r.EndRestV = k.volts(m, t.after, t.age, wait+60*t.HoldHours); r.EndRestV.OK {
			r.EndRestMin = k.some(m, wait, 5)
		}
	}
	y, volts, hours := m.years(), m.g.groups*m.cfg.Pack.NominalV, t.Hours+t.HoldHours
	switch {
	case kp.Wall:
		wall := t.Wh/(mt.WallEff*(1+0.004*k.n.normal())) + 2*hours // the charger's own idling
		r.ChargedWh = logbook.Some(mt.Wall.reads(wall, y, 0, 0, mt.Wall.StepWh, k.n))
		r.Meter, r.MeterSide = mt.Wall.Name, "ac"
	default:
		err := mt.Charge.Noise * k.n.normal()
		one := mt.Charge
		one.Noise = 0
		if kp.ChargeAh && k.n.uniform() >= kp.Miss {
			r.ChargedAh = logbook.Some(one.reads(t.Ah*(1+err), y, hours, 1, one.StepAh, k.n))
		}
		if kp.ChargeWh && k.n.uniform() >= kp.Miss {
			r.ChargedWh = logbook.Some(one.reads(t.Wh*(1+err), y, hours, volts, one.StepWh, k.n))
		}
		r.Meter = one.Name
		if one.ErrorPct > 0 {
			r.ErrorPct = logbook.Some(one.ErrorPct)
		}
	}
	if kp.Conditions {
		r.AmbientC = k.some(m, t.airC+0.7*k.n.normal(), 1)
	}
	if kp.PackTemp {
		r.PackC = k.some(m, t.MeanPackC+mt.ProbeC+0.5*k.n.normal(), 1)
	}
	if kp.Groups {
		s := t.after
		m.g.relax(&s, 0.7)
		r.CellSpreadMv = k.some(m, k.spread(m, &s, t.age), 1)
	}
	k.add(m.cfg, r)
	if m.cfg.Bench == nil && k.slips.rng.Float64() < kp.Wrong {
		k.slipCharge(m, r, t)
	}
}
