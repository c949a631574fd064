package trace

import (
	"iter"
	"math"

	"packwane/health/logbook"
)

// Learned is what a trace tells beyond sums. Its lists are made one by one, as
// often as they are asked for; an error is that of the spill.
type Learned struct {
	Resistance iter.Seq2[Resistance, error] `json:"resistance"`
	RestPairs  iter.Seq2[RestPair, error]   `json:"capacity_between_rests"`
	OCV        iter.Seq2[RestPoint, error]  `json:"rest_curve"`
	Power      []PowerAt                    `json:"power_over_speed"`
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

// Learned returns what the segments, the pulses and the speeds tell.
func (r *Result) Learned() Learned {
	pairs := func(yield func(RestPair, error) bool) {
		err := r.rd.rests(func(_ RestPoint, p *RestPair) bool { return p == nil || yield(*p, nil) })
		if err != nil {
			yield(RestPair{}, err)
		}
	}
	points := func(yield func(RestPoint, error) bool) {
		err := r.rd.rests(func(p RestPoint, _ *RestPair) bool { return yield(p, nil) })
		if err != nil {
			yield(RestPoint{}, err)
		}
	}
	return Learned{r.rd.resistances, pairs, points, r.rd.powers()}
}

// resistances gives those of the pulses, then those of the rides.
func (r *reading) resistances(yield func(Resistance, error) bool) {
	for _, p := range r.cur.steps.pulses {
		if p.ohms()*float64(r.sign) > 0 && !yield(r.pulseOhms(p), nil) {
			return
		}
	}
	for w, err := range r.pieces.all() {
		if err != nil {
			yield(Resistance{}, err)
			return
		}
		if m, ok := r.rideOhms(w.at); ok && !yield(m, nil) {
			return
		}
	}
}

func (r *reading) pulseOhms(p pulse) Resistance {
	sign := float64(r.sign)
	from, to := round(p.baseI*sign), round(p.loadI*sign)
	m := Resistance{Mohm: roundTo(p.ohms()*sign*1e3, 5), ErrorPct: roundTo(100*r.pulseError(p), 2), How: "step", Seconds: roundTo(p.seconds, 4),
		FromA: &from, ToA: &to, At: logbook.FormatTime(r.cal.at(p.t, p.leg)), Row: p.line}
	if math.Abs(p.baseI) < r.cur.idleOn {
		v := round(p.baseV)
		m.RestV = &v
	}
	m.PackC = celsius(p.tempC)
	return m
}

// celsius is a temperature in a document; nil where it is unknown.
func celsius(c float64) *float64 {
	if c != c {
		return nil
	}
	c = roundTo(c, 4)
	return &c
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
	ohms = p.ohms * float64(r.sign)
	if !(ohms > 0) {
		return 0, 0, false
	}
	return ohms, p.ohmsError / ohms, p.ohmsError <= mostOhmsError*ohms
}

func (r *reading) rideOhms(p *piece) (Resistance, bool) {
	ohms, e, ok := r.ohmsOf(p)
	if !ok {
		return Resistance{}, false
	}
	return Resistance{Mohm: roundTo(ohms*1e3, 5), ErrorPct: roundTo(100*e, 2), How: "regression", Seconds: windowS, PackC: celsius(p.tempC),
		At: logbook.FormatTime(r.cal.at(p.t0, p.leg0)), Row: p.row0}, true
}

// rests gives each long rest and, where they tell of capacity, what lies
// between it and the one before it, until yield returns false.
func (r *reading) rests(yield func(RestPoint, *RestPair) bool) error {
	var net, netE, err2 float64
	var last struct {
		known         bool
		v, net, netWh float64
		row           int64
	}
	for w, err := range r.pieces.all() {
		if err != nil {
			return err
		}
		p := w.at
		last.known = last.known && !p.apart
		in, out := r.sides(p)
		net += in.ah - out.ah
		netE += in.wh - out.wh
		e := p.spacingAs/3600 + p.gapAs/3600
		err2 += e * e
		if p.kind != Rest || p.empty || p.seconds() < enoughRestS {
			continue
		}
		var pair *RestPair
		if moved := math.Abs(net - last.net); last.known && moved > 0 && math.Abs(p.endV-last.v) > 1e-3*p.endV {
			pair = &RestPair{round(last.v), round(p.endV), round(net - last.net), round(netE - last.netWh),
				roundTo(100*math.Sqrt(err2)/moved, 2), last.row, p.row1}
		}
		if !yield(RestPoint{round(-net), round(p.endV), roundTo(p.seconds()/60, 4)}, pair) {
			return nil
		}
		last.known, last.v, last.net, last.netWh, last.row = true, p.endV, net, netE, p.row1
		err2 = 0
	}
	return nil
}

func (r *reading) powers() []PowerAt {
	out := []PowerAt{}
	all := r.pieces.power
	if all == nil {
		return out
	}
	for k := range all.s {
		if all.s[k] >= leastPowerS {
			out = append(out, PowerAt{(float64(k) + 0.5) * powerStepKmh, roundTo(-all.j[k]/all.s[k]*float64(r.sign), 4), roundTo(all.s[k]/60, 4)})
		}
	}
	return out
}
