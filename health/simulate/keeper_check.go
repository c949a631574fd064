package simulate

import (
	"math"
	"time"

	"packwane/health/logbook"
)

// spread is the difference between the groups' rest volts, in mV.
func (k *keeper) spread(m *sim, s *state, a Age) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range k.groups(m, s, a) {
		lo, hi = min(lo, v), max(hi, v)
	}
	return (hi - lo) * 1000
}

func (k *keeper) groups(m *sim, s *state, a Age) []float64 {
	n := m.cfg.Pack.Series
	out := make([]float64, n)
	for i := range out {
		z := s.z
		switch {
		case i == n/3:
			z -= s.low
		case i == (2*n)/3 && n > 2:
			z += s.spread / 2
		default:
			// The others lie between, each always at its place.
			z += s.spread * 0.4 * math.Sin(float64(i)*2.4)
		}
		v, _ := m.g.curve.at(z, a.Lost)
		out[i] = round(v+m.cfg.Meters.VoltOffset/m.g.groups+0.0006*k.n.normal(), 0.001)
	}
	return out
}

func (k *keeper) check(m *sim) {
	a := m.g.age(&m.w, false)
	r := &logbook.Check{Pack: m.cfg.Pack.ID, At: m.at(m.hour)}
	p, mt := &m.cfg.Pack, &m.cfg.Meters
	n := k.n
	switch x := n.uniform(); {
	case x < 0.1 && m.cfg.Bench == nil:
		r.Method = "ac"
		r.ResistanceMohm = logbook.Some(round(m.g.acOhms(&m.s, a)*1000*(1+0.02*n.normal()), 0.1))
	case x < 0.3 || m.cfg.Bench != nil:
		r.Method = "dc"
		amps := p.RatedAh * float64(p.Parallel) * 0.8
		r.ResistanceMohm = logbook.Some(round(m.g.pulse(m.s, a, amps, 10)*1000*(1+0.015*n.normal()), 0.1))
	default:
		amps := round(p.RatedAh*float64(p.Parallel)*(0.5+0.6*n.uniform()), 0.5)
		rest := m.g.restV(&m.s, a)
		load := rest - amps*m.g.pulse(m.s, a, amps, 10)
		bias := mt.VoltOffset + 0.3*mt.VoltNoise*n.normal() // the same voltmeter, seconds apart
		r.RestV = logbook.Some(round(rest*(1+mt.VoltScale)+bias, 0.01))
		r.LoadV = logbook.Some(round(load*(1+mt.VoltScale)+bias+0.2*mt.VoltNoise*n.normal(), 0.01))
		r.LoadA = logbook.Some(round(amps*(1+0.01*n.normal()), 0.1))
		r.PulseS = logbook.Some(10)
	}
	r.SocPct = k.some(m, max(0, min(100, 100*m.s.z+3*n.normal())), 5)
	if m.cfg.Keeping.PackTemp {
		r.PackC = k.some(m, m.s.tempC+mt.ProbeC+0.5*n.normal(), 1)
	}
	if m.cfg.Keeping.Groups {
		r.GroupV = k.groups(m, &m.s, a)
		r.CellSpreadMv = logbook.Some(round(k.spread(m, &m.s, a), 1))
	}
	k.add(m.cfg, r)
}

func (k *keeper) service(m *sim, e Event) {
	r := &logbook.Service{Head: logbook.Head{Note: e.Note}, At: m.at(m.hour), What: e.What}
	if e.OnBoard {
		r.Board = m.cfg.Board.ID
	} else {
		r.Pack = m.cfg.Pack.ID
	}
	if e.What == "inspection" || e.What == "repair" {
		r.Passed = logbook.FlagOf(e.Passed)
	}
	if e.Days > 0 {
		r.Until = r.At.Add(time.Duration(e.Days) * 24 * time.Hour)
	}
	k.add(m.cfg, r)
}
