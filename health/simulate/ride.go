package simulate

import "math"

// Lengths of the segments in which the road changes, and of the finer steps
// towards the end, in seconds.
const (
	segmentS = 40
	fineS    = 10
	benchS   = 90
	easeS    = 120 // over which a rider takes the current's mean
)

// toLimitKm stands for "until the limit" where a distance is asked for.
const toLimitKm = 1e6

// begin returns the state in which the drive starts, rested.
func (g *rig) begin(d *Drive) state {
	s := state{z: d.Level - d.Spread/2, spread: d.Spread, tempC: d.PackC, hyst: 1}
	g.weakest(&s)
	return s
}

// run lets the drive go for at most maxKm (or, on the bench, until the limit).
func (g *rig) run(d *Drive, s state, maxKm float64, n *noise) Outcome {
	r := runner{rig: g, d: d, s: s, ah: g.ahOf(d.Age), out: Outcome{MinV: math.Inf(1), Stop: "chosen"}}
	if d.WattsOn > 0 || d.AmpsOn > 0 {
		r.bench()
	} else {
		r.road(maxKm, n)
	}
	o := &r.out
	if o.Hours > 0 {
		o.SpeedKmh = o.Km / o.Hours
		o.MeanPackC = r.sumC / o.Hours
		o.HeadKmh = r.sumHead / o.Hours
		o.SpeedSD = math.Sqrt(max(0, r.sumVV/o.Hours-o.SpeedKmh*o.SpeedKmh))
	}
	if o.Km > 0 { // pulling away and braking count too
		o.SpeedSD = math.Hypot(o.SpeedSD, 0.07*o.SpeedKmh*math.Sqrt(d.Route.StopsKm))
	}
	o.end = r.s
	return *o
}

// runner carries one ride along.
type runner struct {
	*rig
	d          *Drive
	s          state
	ah         float64
	w          warmth
	fast, slow float64
	amps       float64
	usualA     float64 // mean of the last minutes
	out        Outcome
	prevMargin float64
	started    bool
	// integrals over hours
	sumC, sumHead, sumVV float64
}

func (r *runner) bench() {
	for i := 0; i < 100_000; i++ {
		r.prepare()
		step := float64(benchS)
		if r.s.z < 0.1 {
			step = fineS
		}
		watts, amps := r.d.WattsOn, r.d.AmpsOn
		if done := r.step(watts, amps, 0, 1, step); done {
			return
		}
	}
}

// prepare refreshes what temperature and current do to the resistance.
func (r *runner) prepare() {
	if !r.d.HoldC || !r.started {
		r.w = r.cfg.Cell.warmth(r.s.tempC)
	}
	r.fast, r.slow = r.ohms(r.w, r.d.Age, r.amps)
}

func (r *runner) road(maxKm float64, n *noise) {
	d := r.d
	w := r.way(d, n)
	lap := max(d.Route.Km, 0.5) // ridden round and round until the limit
	if maxKm < toLimitKm {
		lap = maxKm
		if d.Route.Shape == "loop" {
			lap /= max(1, math.Round(maxKm/max(d.Route.Km, 0.5)))
		}
	}
	var pace, gust, veer float64
	for i := 0; i < 20_000 && r.out.Km < maxKm-1e-9; i++ {
		pace = 0.6*pace + 0.8*n.normal()
		gust = 0.5*gust + 0.866*n.normal()
		veer = 0.5*veer + 0.866*n.normal()
		v := d.SpeedKmh / 3.6 * max(0.35, 1+d.Rider.Restless*clip(pace, 2.2))
		seconds := float64(segmentS)
		last := false
		if left := (maxKm - r.out.Km) * 1000 / v; left <= seconds {
			seconds, last = left, true
		}
		m := r.out.Km * 1000
		grade := w.gradeAmp*math.Sin(2*math.Pi*(m+v*seconds/2)/w.waveM+w.phase) + d.Route.RiseMKm/1000
		wind := w.windMs * max(0, 1+0.3*gust)
		angle := d.FromDeg*math.Pi/180 + 0.26*veer - w.heading(r.out.Km, lap)
		head, cross := wind*math.Cos(angle), wind*math.Sin(angle)
		out, back := w.watts(v, w.thrust(v, grade, head, cross), d.Route.StopsKm*v/1000)
		peak := 1 + (d.Rider.Peaks-1)*(1+0.2*n.normal())
		r.prepare()
		if r.roadSegment(v, seconds, grade, head*3.6, out, back, peak) {
			return
		}
		if last {
			r.out.Km = maxKm
			return
		}
	}
}

// roadSegment rides one segment, in finer steps where the end is near. It
// reports whether the ride is over.
func (r *runner) roadSegment(v, seconds, grade, headKmh, out, back, peak float64) bool {
	steps := 1
	if r.s.z-r.s.low < 0.15 || !r.started {
		steps = int(math.Ceil(seconds / fineS))
	}
	dt := seconds / float64(steps)
	for range steps {
		before := r.out.Hours
		over := r.step(out, 0, back, peak, dt)
		h := r.out.Hours - before
		km := v * 3.6 * h
		r.out.Km += km
		r.sumHead += headKmh * h
		r.sumVV += v * v * 12.96 * h
		if climb := grade * km * 1000; climb > 0 {
			r.out.ClimbM += climb
		} else {
			r.out.DescentM -= climb
		}
		if over {
			return true
		}
	}
	return false
}

// step draws a power (or, where it is 0, a current) and gives back another for
// some seconds, with peaks above the mean. It ends early, and says so, where
// the voltage under the peaks meets the limit.
func (r *runner) step(watts, amps, back, peak, seconds float64) bool {
	mid := r.s // halfway through the step, as far as can be known
	mid.z -= r.amps * seconds / 7200 / r.ah
	src := r.source(&mid, r.d.Age, r.fast)
	able := true
	if watts > 0 {
		amps, able = src.amps(watts)
	}
	r.amps = amps
	// Peaks last a second or two: all but the slower part of the transfer.
	peakA := amps * max(1, peak)
	v := src.volts - amps*src.ohms
	low := v - 0.9*(peakA-amps)*src.ohms
	// One dip ends no ride: the rider eases off. It ends where the peaks that
	// the ride usually has, at the current of the last minutes, meet the limit.
	if !r.started {
		r.usualA = amps
	}
	r.usualA += (amps - r.usualA) * min(1, seconds/easeS)
	low = max(low, r.cfg.Pack.LimitV)
	margin := src.volts - src.ohms*r.usualA*(1+0.9*(max(1, r.d.Rider.Peaks)-1)) - r.cfg.Pack.LimitV
	weak := src.weakV - amps*src.weakOhm - r.cutV
	over := margin <= 0 || !able || weak <= 0
	share := 1.0
	if over {
		share = 0
		if able && r.started && r.prevMargin > 0 && margin < 0 && weak > 0 {
			share = r.prevMargin / (r.prevMargin - margin)
		}
		r.out.Stop = "limit"
		if weak <= 0 && margin > 0 {
			r.out.Stop = "cutoff"
		}
	}
	if !over {
		r.out.MinV, r.prevMargin = min(r.out.MinV, low), margin
	} else if r.out.Stop == "limit" {
		r.out.MinV = min(r.out.MinV, r.cfg.Pack.LimitV)
	}
	r.out.PeakA = max(r.out.PeakA, peakA)
	r.out.lastV = v
	r.started = true
	h := seconds * share / 3600
	r.out.Hours += h
	r.out.Ah += amps * h
	r.out.Wh += amps * v * h
	net := amps
	if back > 0 {
		in := back / (v + 0.5*amps*src.ohms)
		r.out.RegenAh += in * h
		r.out.RegenWh += back * h
		net -= in
	}
	r.flow(&r.s, r.d.Age, net, r.slow, seconds*share, r.ah)
	r.sumC += r.s.tempC * h
	if !r.d.HoldC {
		r.heat(&r.s, r.d.AirC, amps*amps*src.ohms+math.Abs(amps)*r.groups*math.Abs(r.s.slow[0]+r.s.slow[1]), h)
	}
	return over
}
