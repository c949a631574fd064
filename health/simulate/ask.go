package simulate

import "time"

// passes is how many rides an average is taken over: seeds of the road's and
// the throttle's whims, each with its mirror image. They are the same whenever
// they are asked for, so that differences are free of noise.
const passes = 4

// Reference returns the drives at the contract's reference conditions with
// the pack as it is at a time: one, or one for each route where the pack has
// no reference route. On the bench it is the usual discharge.
func (t *Truth) Reference(when time.Time) []Drive {
	w, _ := t.wearAt(when)
	return t.references(t.g.age(&w, true))
}

// NewAge is the Age of a pack as new, for a Drive.
func NewAge() Age { return Age{Stiffness: 1} }

func (t *Truth) references(a Age) []Drive {
	cfg := t.g.cfg
	ref := cfg.refTempC()
	d := Drive{AirC: ref, PackC: ref, HoldC: true, Level: t.g.full, Age: a}
	if b := cfg.Bench; b != nil {
		d.AmpsOn = b.DischargeC * cfg.Pack.RatedAh * float64(cfg.Pack.Parallel)
		return []Drive{d}
	}
	d.Rider, d.SpeedKmh = cfg.Riders[0], cfg.Riders[0].TestKmh
	d.Rider.Restless *= testCalm
	d.TyreKpa, d.BoardKg, d.Wet, d.PressHpa = cfg.Board.RefTyreKpa, cfg.Board.MassKg, 1.02, 1013.25
	if cfg.Pack.RefSpeedKmh > 0 {
		d.SpeedKmh = cfg.Pack.RefSpeedKmh
	}
	if cfg.Pack.RefRiderKg > 0 {
		d.Rider.Kg = cfg.Pack.RefRiderKg
	}
	var out []Drive
	for _, r := range cfg.Routes {
		if cfg.Pack.RefRoute == "" || r.Name == cfg.Pack.RefRoute {
			r.ClimbMKm, r.RiseMKm = 0, 0
			d.Route = r
			out = append(out, d)
		}
	}
	return out
}

// Go rides the drive from its start to the limit, over and over with other
// whims of road and throttle, and returns the mean outcome.
func (t *Truth) Go(d Drive) Outcome { return t.g.mean(&d, toLimitKm) }

// GoKm is Go for at most so many kilometres.
func (t *Truth) GoKm(d Drive, km float64) Outcome { return t.g.mean(&d, km) }

func (g *rig) mean(d *Drive, km float64) Outcome {
	s := g.begin(d)
	if d.WattsOn > 0 || d.AmpsOn > 0 {
		return g.run(d, s, km, nil)
	}
	var sum Outcome
	for seed := range uint64(passes) {
		for _, flip := range []bool{false, true} {
			sum.add(g.run(d, s, km, newNoise(seed, 0x726566, flip)))
		}
	}
	sum.scale(1.0 / (2 * passes))
	return sum
}

func (o *Outcome) add(p Outcome) {
	o.Km, o.Hours = o.Km+p.Km, o.Hours+p.Hours
	o.Ah, o.Wh, o.RegenAh, o.RegenWh = o.Ah+p.Ah, o.Wh+p.Wh, o.RegenAh+p.RegenAh, o.RegenWh+p.RegenWh
	o.MinV, o.PeakA, o.MeanPackC = o.MinV+p.MinV, o.PeakA+p.PeakA, o.MeanPackC+p.MeanPackC
	o.SpeedKmh, o.SpeedSD, o.HeadKmh = o.SpeedKmh+p.SpeedKmh, o.SpeedSD+p.SpeedSD, o.HeadKmh+p.HeadKmh
	o.ClimbM, o.DescentM = o.ClimbM+p.ClimbM, o.DescentM+p.DescentM
	o.Stop, o.end, o.lastV = p.Stop, p.end, o.lastV+p.lastV
}

func (o *Outcome) scale(f float64) {
	for _, v := range []*float64{&o.Km, &o.Hours, &o.Ah, &o.Wh, &o.RegenAh, &o.RegenWh, &o.MinV, &o.PeakA, &o.MeanPackC, &o.SpeedKmh, &o.SpeedSD, &o.HeadKmh, &o.ClimbM, &o.DescentM, &o.lastV} {
		*v *= f
	}
}

// Rides returns what really happened on every ride of the log's years, also on
// those that were not written down.
func (t *Truth) Rides() []RideTruth {
	t.mu.Lock()
	defer t.mu.Unlock()
	last := t.End.Sub(t.life.start()).Hours()
	n := 0
	for n < len(t.life.rides) && t.life.rides[n].StartH < last {
		n++
	}
	return append([]RideTruth(nil), t.life.rides[:n]...)
}

// Ride returns the truth of the ride with the record id.
func (t *Truth) Ride(id string) (RideTruth, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for i := range t.life.rides {
		if t.life.rides[i].ID == id && id != "" {
			return t.life.rides[i], true
		}
	}
	return RideTruth{}, false
}

// Again rides one ride once more with other conditions, with the same gusts,
// hills and throttle, from the charge level that the drive says. With toLimit
// it goes on until the limit.
func (t *Truth) Again(r RideTruth, d Drive, toLimit bool) Outcome {
	km := r.MaxKm
	if toLimit {
		km = toLimitKm
	}
	return t.g.run(&d, t.g.begin(&d), km, newNoise(r.seed, 1, false))
}

// RestAfter returns the pack's volts after so many kilometres of the drive and
// a long rest, on average over the whims: what lies on a discharged pack in
// hysteresis and imbalance is in them.
func (t *Truth) RestAfter(d Drive, km float64) float64 {
	volts := 0.0
	s := t.g.begin(&d)
	for seed := range uint64(passes) {
		for _, flip := range []bool{false, true} {
			end := t.g.run(&d, s, km, newNoise(seed, 0x726566, flip)).end
			end.slow = [2]float64{}
			volts += t.g.restV(&end, d.Age)
		}
	}
	return volts / (2 * passes)
}
