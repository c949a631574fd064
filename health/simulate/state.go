package simulate

import "math"

// rig is what does not change while a pack ages: its tables and its makers'
// figures.
type rig struct {
	cfg    *Config
	curve  *curve
	groups float64 // in series
	wireO  float64 // ohm
	full   float64 // charge level of the fullest group when the charger has finished
	cutV   float64 // group volts at which protection opens
}

func newRig(cfg *Config) *rig {
	g := &rig{cfg: cfg, curve: newCurve(cfg.Pack.Chemistry, &cfg.Cell), groups: float64(cfg.Pack.Series), wireO: cfg.Pack.WireMohm / 1000, full: 1}
	if v := cfg.Pack.FullV; v < g.curve.v[gridN]-0.005 {
		g.full = g.curve.level(v)
	}
	g.cutV = cfg.Pack.CutoffV / g.groups * 0.9
	return g
}

// Age is what ageing has done to a pack by some moment.
type Age struct {
	Lost      float64 // share of the new capacity that is gone for good
	Hidden    float64 // share that a rest gives back
	Gone      float64 // share of the cells in parallel that came off
	Stiffness float64 // resistance over that of the new pack
}

// ahOf returns the charge between resting full and resting empty of a group.
func (g *rig) ahOf(a Age) float64 {
	return g.cfg.Cell.CapacityAh * float64(g.cfg.Pack.Parallel) * (1 - a.Lost) * (1 - a.Hidden) * (1 - a.Gone)
}

// state is the electrical and thermal state of a pack.
type state struct {
	z      float64    // charge level of all groups but the weakest, on average
	low    float64    // by how much the weakest group is lower
	spread float64    // imbalance: half of it stands between z and the fullest group, half between z and the weakest
	slow   [2]float64 // volts by which a group sags from diffusion; below 0 after charging
	hyst   float64    // -1 after discharge to +1 after charge
	tempC  float64
}

// ohms returns the resistance of one group of a new cell in mid charge: what
// is there at once, and the sum of what comes in minutes.
func (g *rig) ohms(w warmth, a Age, amps float64) (fast, slow float64) {
	r := g.cfg.Cell.R10Mohm / 1000 / float64(g.cfg.Pack.Parallel) * a.Stiffness
	trans := r * w.trans
	trans /= 1 + trans*math.Abs(amps)/transferV
	return r*w.ohm + trans, r * w.slow
}

// electro is the pack as a source: volts behind a resistance.
type electro struct {
	volts, ohms float64
	weakV       float64 // volts of the weakest group behind its resistance
	weakOhm     float64
}

func (g *rig) source(s *state, a Age, fast float64) electro {
	v, r := g.curve.at(s.z, a.Lost)
	vw, rw := g.curve.at(s.z-s.low, a.Lost)
	sag := s.slow[0] + s.slow[1] - s.hyst*g.cfg.Cell.HysteresisV
	n := g.groups - 1
	return electro{
		volts: n*(v-sag) + vw - sag, ohms: fast*(n*r+rw) + g.wireO,
		weakV: vw - sag, weakOhm: fast * rw,
	}
}

// amps returns the current at which the source gives the power, and whether it
// can give it at all.
func (e electro) amps(watts float64) (float64, bool) {
	d := e.volts*e.volts - 4*e.ohms*watts
	if d < 0 || e.volts <= 0 {
		return e.volts / (2 * e.ohms), false
	}
	return 2 * watts / (e.volts + math.Sqrt(d)), true
}

// flow lets a current run for some seconds (above 0 discharges).
func (g *rig) flow(s *state, a Age, amps, slowOhm, seconds, ah float64) {
	dz := amps * seconds / 3600 / ah
	s.z -= dz
	s.low += dz * g.cfg.Cell.WeakPct / 100
	_, r := g.curve.at(s.z, a.Lost)
	for i := range s.slow {
		want := amps * slowOhm * r * slowShare[i]
		s.slow[i] = want + (s.slow[i]-want)*math.Exp(-seconds/g.cfg.Cell.TauS[i])
	}
	s.hyst -= (math.Copysign(1, amps) + s.hyst) * math.Min(1, math.Abs(dz)/0.04)
}

// slowShare parts the diffusion resistance between a quick and a slow element.
var slowShare = [2]float64{0.4, 0.6}

// relax lets the diffusion relax for some hours.
func (g *rig) relax(s *state, hours float64) {
	for i := range s.slow {
		s.slow[i] *= math.Exp(-hours * 3600 / g.cfg.Cell.TauS[i])
	}
}

// restV returns what a voltmeter without error would read without load.
func (g *rig) restV(s *state, a Age) float64 { return g.source(s, a, 0).volts }

// weakest sets how far the weakest group is below the others: the imbalance,
// and what its smaller size has cost it since full.
func (g *rig) weakest(s *state) {
	s.low = s.spread/2 + (g.full-s.z)*g.cfg.Cell.WeakPct/100
}

// pulse returns the pack's resistance by a discharge pulse, in ohm.
func (g *rig) pulse(s state, a Age, amps, seconds float64) float64 {
	fast, slow := g.ohms(g.cfg.Cell.warmth(s.tempC), a, amps)
	before := g.source(&s, a, fast)
	_, r := g.curve.at(s.z, a.Lost)
	// Charge transfer needs some seconds to come up.
	missing := g.ohmsTransfer(s.tempC, a, amps) * r * g.groups * math.Exp(-seconds/3)
	g.flow(&s, a, amps, slow, seconds, g.ahOf(a))
	after := g.source(&s, a, fast)
	return before.ohms - missing + (before.volts-after.volts)/amps
}

func (g *rig) ohmsTransfer(tempC float64, a Age, amps float64) float64 {
	w := g.cfg.Cell.warmth(tempC)
	all, _ := g.ohms(w, a, amps)
	w.trans = 0
	rest, _ := g.ohms(w, a, amps)
	return all - rest
}

// acOhms is what a 1 kHz meter shows: neither charge transfer nor diffusion.
func (g *rig) acOhms(s *state, a Age) float64 {
	w := g.cfg.Cell.warmth(s.tempC)
	w.trans = 0
	fast, _ := g.ohms(w, a, 0)
	return fast*g.groups + g.wireO
}

// heat moves the pack's temperature towards the air's for some hours, with the
// given heat inside in W.
func (g *rig) heat(s *state, airC, watts, hours float64) {
	p := &g.cfg.Pack
	target := airC + watts/p.CoolWK
	s.tempC = target + (s.tempC-target)*math.Exp(-hours*3600*p.CoolWK/p.HeatJK)
}
