package trace

import (
	"math"

	"packwane/health/logbook"
)

// Learned is what a trace tells beyond sums.
type Learned struct {
	Resistance []Resistance `json:"resistance"`
	RestPairs  []RestPair   `json:"capacity_between_rests"`
	OCV        []RestPoint  `json:"rest_curve"`
	Power      []PowerAt    `json:"power_over_speed"`
}

// Resistance is what the voltage answers to the current with.
type Resistance struct {
	Mohm     float64  `json:"mohm"`
	ErrorPct float64  `json:"error_pct"`
	How      string   `json:"how"` // step or regression
	Seconds  float64  `json:"pulse_s"`
	FromA    *float64 `json:"from_a,omitempty"` // of a step; positive charges
	ToA      *float64 `json:"to_a,omitempty"`
	RestV    *float64 `json:"rest_v,omitempty"` // before a step out of rest
	PackC    *float64 `json:"pack_c,omitempty"`
	At       string   `json:"at"`
	Row      int64    `json:"row,omitempty"`
}

// RestPair is the charge between two rests: capacity, once the charge levels
// of the two rest voltages are known.
type RestPair struct {
	FromV    float64 `json:"from_v"`
	ToV      float64 `json:"to_v"`
	NetAh    float64 `json:"net_ah"` // positive: charged
	NetWh    float64 `json:"net_wh"`
	ErrorPct float64 `json:"error_pct"`
	FromRow  int64   `json:"from_row"`
	ToRow    int64   `json:"to_row"`
}

// RestPoint is a rest voltage and the charge that was drawn before it since
// the file began.
type RestPoint struct {
	DrawnAh float64 `json:"drawn_ah"`
	RestV   float64 `json:"rest_v"`
	RestMin float64 `json:"rest_min"`
}

// PowerAt is the mean power drawn at a speed.
type PowerAt struct {
	SpeedKmh float64 `json:"speed_kmh"` // middle of the step
	PowerW   float64 `json:"power_w"`
	Minutes  float64 `json:"minutes"`
}

// What is enough to learn from.
const (
	enoughRestS   = 600.0 // rested so long, a voltage says where the pack stands
	mostOhmsError = 0.05  // relative: a regression beyond it says nothing
	leastOhmsN    = 30
	leastPowerS   = 30.0
)

// learn collects what the segments, the pulses and the speeds tell.
func (r *reading) learn() {
	l := &r.res.Learned
	l.Resistance, l.RestPairs, l.OCV, l.Power = []Resistance{}, []RestPair{}, []RestPoint{}, []PowerAt{}
	sign := float64(r.sign)
	for _, p := range r.cur.steps.pulses {
		ohms := p.ohms() * sign
		if ohms <= 0 {
			continue
		}
		from, to := round(p.baseI*sign), round(p.loadI*sign)
		m := Resistance{Mohm: roundTo(ohms*1e3, 5), ErrorPct: roundTo(100*r.pulseError(p), 2), How: "step", Seconds: roundTo(p.seconds, 4),
			FromA: &from, ToA: &to, At: logbook.FormatTime(r.cal.at(p.t, p.leg)), Row: p.line}
		if math.Abs(p.baseI) < r.cur.idleOn {
			v := round(p.baseV)
			m.RestV = &v
		}
		if p.tempC == p.tempC {
			c := roundTo(p.tempC, 4)
			m.PackC = &c
		}
		l.Resistance = append(l.Resistance, m)
	}
	for k := range r.pieces {
		r.learnOhms(&r.pieces[k])
	}
	r.learnRests()
	r.learnPower()
}

// pulseError is the relative error of a pulse: the steps in which the voltage
// is told.
func (r *reading) pulseError(p pulse) float64 {
	grain := r.lay.grain(Voltage)
	return max(0.005, grain/math.Abs(p.loadV-p.baseV))
}

// ohmsOf returns the resistance over about 10 s by regression of the voltage
// on the current in a ride.
func (r *reading) ohmsOf(p *piece) (ohms, relError float64, ok bool) {
	ohms, e, ok := p.ohms.ohms()
	ohms *= float64(r.sign)
	if !ok || p.kind != Riding || ohms <= 0 {
		return 0, 0, false
	}
	return ohms, e / ohms, e <= mostOhmsError*ohms
}

func (r *reading) learnOhms(p *piece) {
	ohms, e, ok := r.ohmsOf(p)
	if !ok {
		return
	}
	m := Resistance{Mohm: roundTo(ohms*1e3, 5), ErrorPct: roundTo(100*e, 2), How: "regression", Seconds: windowS,
		At: logbook.FormatTime(r.cal.at(p.t0, p.leg0)), Row: p.row0}
	if c, ok := p.temp.mean(); ok {
		c = roundTo(c, 4)
		m.PackC = &c
	}
	r.res.Learned.Resistance = append(r.res.Learned.Resistance, m)
}

// learnRests pairs each long rest with the one before it.
func (r *reading) learnRests() {
	l := &r.res.Learned
	var net, netE, err2 float64
	var lastNet, lastE float64
	last := -1
	for k := range r.pieces {
		p := &r.pieces[k]
		if p.apart {
			last = -1
		}
		in, out := r.sides(p)
		net += in.ah - out.ah
		netE += in.wh - out.wh
		e := p.spacing.ampereSeconds()/3600 + p.gapAs/3600
		err2 += e * e
		if p.kind != Rest || p.rows == 0 || p.seconds() < enoughRestS {
			continue
		}
		l.OCV = append(l.OCV, RestPoint{round(-net), round(p.endV), roundTo(p.seconds()/60, 4)})
		if moved := math.Abs(net - lastNet); last >= 0 && moved > 0 && math.Abs(p.endV-r.pieces[last].endV) > 1e-3*p.endV {
			l.RestPairs = append(l.RestPairs, RestPair{round(r.pieces[last].endV), round(p.endV), round(net - lastNet), round(netE - lastE),
				roundTo(100*math.Sqrt(err2)/moved, 2), r.pieces[last].row1, p.row1})
		}
		last, lastNet, lastE, err2 = k, net, netE, 0
	}
}

func (r *reading) learnPower() {
	var all powerBins
	seen := false
	for k := range r.pieces {
		if p := r.pieces[k].power; p != nil && r.pieces[k].kind != Charging {
			all.join(p)
			seen = true
		}
	}
	if !seen {
		return
	}
	for k := range all.s {
		if all.s[k] >= leastPowerS {
			r.res.Learned.Power = append(r.res.Learned.Power, PowerAt{(float64(k) + 0.5) * powerStepKmh, roundTo(-all.j[k]/all.s[k]*float64(r.sign), 4), roundTo(all.s[k]/60, 4)})
		}
	}
}
