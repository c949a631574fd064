package trace

import (
	"fmt"
	"math"

	"packwane/health/logbook"
)

// What is worth a record of its own.
const (
	recordShare = 0.01 // of the pack's rated charge
	recordKm    = 0.3
	recordOfMax = 0.02 // of the largest segment, where the pack's charge is not known
	pulseRows   = 3    // rows a pulse must have: where they are far apart, neither its beginning nor the voltage is known well
)

// records makes the charges, rides and checks of the trace.
func (r *reading) records() {
	if r.opts.Pack == nil || !r.cal.known {
		return
	}
	least := recordShare * capacityOf(r.opts.Pack)
	if least == 0 {
		for k := range r.pieces {
			in, out := r.sides(&r.pieces[k])
			least = max(least, recordOfMax*max(in.ah, out.ah))
		}
	}
	small := side{}
	n := 0
	for k := range r.pieces {
		s := &r.res.Segments[k]
		ah := s.ChargedAh
		if s.Kind == Riding {
			ah = s.DischargedAh
		}
		switch {
		case s.Kind == Rest:
		case ah < least && s.DistanceKm.Or(0) < recordKm:
			n++
			small.ah += ah
		case s.Kind == Charging:
			r.add(r.charge(k))
		default:
			r.add(r.ride(k))
		}
	}
	if n > 0 {
		r.warn("small_segments", "%s of under %s Ah each are no records: %s Ah in all", countOf(int64(n), "segment"), brief(least), brief(small.ah))
	}
	r.checks()
}

func (r *reading) warn(code, format string, args ...any) {
	r.res.Warnings = append(r.res.Warnings, Warning{code, fmt.Sprintf(format, args...)})
}

// add validates a record, gives it an id from its content and keeps it. One
// that the log would refuse is said, not kept.
func (r *reading) add(rec logbook.Record) {
	if err := logbook.Validate(rec); err != nil {
		r.warn("record_refused", "a %s could not be kept: %v", rec.Kind(), err)
		return
	}
	logbook.HeadOf(rec).ID = logbook.MakeID(rec)
	r.res.Records = append(r.res.Records, rec)
}

func (r *reading) charge(k int) logbook.Record {
	p, s := &r.pieces[k], &r.res.Segments[k]
	c := logbook.New(logbook.KindCharge).(*logbook.Charge)
	c.Pack, c.Meter = r.opts.Pack.ID, r.opts.Meter
	c.At, c.Start = s.End, s.Start
	c.StartRestV, c.EndRestV, c.EndRestMin = s.StartRestV, s.EndRestV, s.EndRestMin
	c.ChargedAh, c.ChargedWh = some(s.ChargedAh-s.DischargedAh), some(s.ChargedWh-s.DischargedWh)
	c.Full, c.ErrorPct = s.Full, s.ErrorPct
	c.PackC, c.AmbientC = degrees(p.temp), degrees(p.air)
	if s.EndRestV.OK {
		c.CellSpreadMv = spread(r.pieces[k+1].groupV)
	}
	return c
}

func (r *reading) ride(k int) logbook.Record {
	p, s := &r.pieces[k], &r.res.Segments[k]
	d := logbook.New(logbook.KindRide).(*logbook.Ride)
	d.Pack, d.Meter = r.opts.Pack.ID, r.opts.Meter
	d.At, d.End = s.Start, s.End
	d.StartRestV, d.EndRestV, d.EndRestMin = s.StartRestV, s.EndRestV, s.EndRestMin
	d.MinV, d.PeakA = some(p.minV), some(s.PeakA)
	d.DischargedAh, d.DischargedWh = some(s.DischargedAh), some(s.DischargedWh)
	if s.ChargedAh > leastRegen*s.DischargedAh {
		d.RegenAh, d.RegenWh = some(s.ChargedAh), some(s.ChargedWh)
	} else {
		d.DischargedAh, d.DischargedWh = some(s.DischargedAh-s.ChargedAh), some(s.DischargedWh-s.ChargedWh)
	}
	d.ErrorPct, d.Stop = s.ErrorPct, s.Stop
	d.PackC, d.AmbientC = degrees(p.temp), degrees(p.air)
	r.motion(d, p, s)
	return d
}

// leastRegen is the part of what a ride draws from which on what it feeds back
// is no noise.
const leastRegen = 0.002

func (r *reading) motion(d *logbook.Ride, p *piece, s *Segment) {
	m := &p.way
	d.DistanceKm = s.DistanceKm
	if m.odoLast == m.odoLast {
		d.OdometerKm = some(m.odoLast)
	}
	if m.movingS <= 0 {
		return
	}
	mean := m.speedS / m.movingS
	d.MovingMin = some(m.movingS / 60)
	d.MovingSpeedKmh = some(mean)
	d.SpeedSdKmh = some(math.Sqrt(max(m.speedSq/m.movingS-mean*mean, 0)))
}

func degrees(w weighted) logbook.Num {
	if v, ok := w.mean(); ok {
		return logbook.Some(roundTo(v, 4))
	}
	return logbook.Num{}
}

// spread is the difference of the highest and the lowest group in millivolts.
func spread(groups []float64) logbook.Num {
	if len(groups) < 2 {
		return logbook.Num{}
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range groups {
		if v != v {
			return logbook.Num{}
		}
		lo, hi = min(lo, v), max(hi, v)
	}
	return logbook.Some(math.Round((hi-lo)*1e4) / 10)
}

// checks makes records of what was learned of the resistance: one of each
// pulse out of rest, one of each ride by regression, one of the groups after
// each charge.
func (r *reading) checks() {
	sign := float64(r.sign)
	for _, p := range r.cur.steps.pulses {
		if math.Abs(p.baseI) >= r.cur.idleOn || p.ohms()*sign <= 0 || math.Abs(p.loadI) < r.cur.stepOn || p.rows < pulseRows {
			continue
		}
		c := logbook.New(logbook.KindCheck).(*logbook.Check)
		c.Pack, c.At = r.opts.Pack.ID, r.cal.at(p.t, p.leg)
		c.ResistanceMohm, c.PulseS = logbook.Some(roundTo(p.ohms()*sign*1e3, 4)), some(p.seconds)
		c.RestV = some(p.baseV)
		if p.tempC == p.tempC {
			c.PackC = logbook.Some(roundTo(p.tempC, 4))
		}
		c.Note = fmt.Sprintf("a step to %s A in a trace", brief(p.loadI*sign))
		r.add(c)
	}
	for k := range r.pieces {
		p := &r.pieces[k]
		if ohms, _, ok := r.ohmsOf(p); ok {
			c := logbook.New(logbook.KindCheck).(*logbook.Check)
			c.Pack, c.At = r.opts.Pack.ID, r.res.Segments[k].End
			c.ResistanceMohm, c.PulseS = logbook.Some(roundTo(ohms*1e3, 4)), logbook.Some(windowS)
			c.PackC = degrees(p.temp)
			c.Note = "regression of voltage on current over a ride in a trace"
			r.add(c)
		}
		if g := p.groupV; k > 0 && p.kind == Rest && len(g) > 1 && r.pieces[k-1].kind == Charging && p.seconds() >= startRestS {
			c := logbook.New(logbook.KindCheck).(*logbook.Check)
			c.Pack, c.At = r.opts.Pack.ID, r.res.Segments[k].End
			c.GroupV, c.CellSpreadMv = append([]float64(nil), g...), spread(g)
			r.add(c)
		}
	}
}
