package simulate

import "math"

// charged is what went into a pack, free of any meter's error.
type charged struct {
	Ah, Wh    float64 // into the terminals
	Hours     float64 // until it was unplugged or the charger finished
	HoldHours float64
	MeanPackC float64
	Full      bool
}

// charge lets the charger run until it has finished, or until the charge level
// reaches stop, then holds for some hours. Group volts never pass full: the
// current eases there.
func (g *rig) charge(s *state, a Age, airC, rate, stop, holdHours float64) charged {
	const stepS = 180
	var out charged
	ah := g.ahOf(a)
	full := g.groups * g.cfg.Pack.FullV
	var sumC, last float64
	for i := 0; i < 4000; i++ {
		goal, finishes := g.full-s.spread/2, true
		if stop < goal {
			goal, finishes = stop, false
		}
		if s.z >= goal-1e-6 {
			out.Full = finishes
			break
		}
		w := g.cfg.Cell.warmth(s.tempC)
		fast, slow := g.ohms(w, a, last)
		mid := *s
		mid.z -= last * stepS / 7200 / ah
		src := g.source(&mid, a, fast)
		amps := math.Min(rate*ah, (full-src.volts)/src.ohms)
		amps = math.Max(amps, rate*ah*0.1)
		dz := amps * stepS / 3600 / ah * g.cfg.Cell.CoulombEff
		share := math.Min(1, (goal-s.z)/dz)
		h := stepS * share / 3600
		out.Ah += amps * h
		out.Wh += amps * h * (src.volts + amps*src.ohms)
		out.Hours += h
		sumC += s.tempC * h
		g.flow(s, a, -amps*g.cfg.Cell.CoulombEff, slow, stepS*share, ah)
		g.heat(s, airC, amps*amps*src.ohms, h)
		last = -amps * g.cfg.Cell.CoulombEff
	}
	if out.Hours > 0 {
		out.MeanPackC = sumC / out.Hours
	} else {
		out.MeanPackC = s.tempC
	}
	if out.Full {
		g.hold(s, ah, holdHours, &out)
	}
	return out
}

// hold keeps the charger on: the fullest groups are bled while the rest goes
// on filling, so that imbalance shrinks and charge comes in.
func (g *rig) hold(s *state, ah, hours float64, out *charged) {
	bled := math.Min(s.spread, g.cfg.Cell.BleedPct/100*(hours+0.05))
	s.spread -= bled
	in := g.full - s.spread/2 - s.z
	s.z += in
	g.weakest(s)
	out.Ah += ah * in
	out.Wh += ah * in * g.groups * g.cfg.Pack.FullV
	out.HoldHours = hours
}
