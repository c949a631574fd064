package trace

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/prose"
)

// What is worth a record of its own.
const (
	recordShare = 0.01 // of the pack's rated charge
	recordKm    = 0.3
	recordOfMax = 0.02 // of the largest segment, where the pack's charge is not known
	pulseRows   = 3    // rows a pulse must have: where they are far apart, neither its beginning nor the voltage is known well
)

// Records gives the charges, rides and checks of the trace, as often as it is
// called: none where it is not Dated or no pack was given. There may be very
// many: they are made one by one, and each is the caller's. An error is that of
// the spill.
func (r *Result) Records() iter.Seq2[logbook.Record, error] {
	return func(yield func(logbook.Record, error) bool) {
		err := r.rd.records(func(rec logbook.Record) bool {
			if logbook.Validate(rec) != nil { // it was said
				return true
			}
			logbook.HeadOf(rec).ID = logbook.MakeID(rec)
			return yield(rec, nil)
		}, nil)
		if err != nil {
			yield(nil, err)
		}
	}
}

// mostRefused is how many records that the log would refuse are named one by one.
const mostRefused = 20

// survey counts the records and says which segments give none.
func (r *reading) survey() ([]Warning, error) {
	r.least = recordShare * capacityOf(r.opts.Pack)
	if r.least == 0 {
		r.least = recordOfMax * (r.pieces.maxAs / 3600)
	}
	var out []Warning
	say := func(code, format string, args ...any) { out = append(out, Warning{code, fmt.Sprintf(format, args...)}) }
	r.res.Counts = map[logbook.Kind]int{}
	refused := 0
	err := r.records(func(rec logbook.Record) bool {
		if err := logbook.Validate(rec); err == nil {
			r.res.Counts[rec.Kind()]++
			r.res.reach(extent(rec))
		} else if refused++; refused <= mostRefused {
			say("record_refused", "a %s could not be kept: %v", rec.Kind(), err)
		}
		return true
	}, func(n int64, ah float64) {
		say("small_segments", "%s of under %s Ah each are no records: %s Ah in all", prose.Plural(n, "segment"), brief(r.least), brief(ah))
	})
	if refused > mostRefused {
		say("record_refused", "%s more could not be kept", prose.Plural(refused-mostRefused, "record"))
	}
	return out, err
}

// reach widens the time in which records lie.
func (r *Result) reach(from, to time.Time) {
	if r.from.IsZero() {
		r.from = from
	}
	r.from, r.to = earlier(r.from, from), later(r.to, to)
}

// records makes the charges and rides, then the checks, valid or not, until
// yield returns false. small, which may be nil, is told how many segments are
// too small to be records, and what they hold.
func (r *reading) records(yield func(logbook.Record) bool, small func(n int64, ah float64)) error {
	if r.opts.Pack == nil || !r.cal.known {
		return nil
	}
	few, fewAh := int64(0), 0.0
	for w, err := range r.pieces.all() {
		if err != nil {
			return err
		}
		if w.at.kind == Rest {
			continue
		}
		s := r.segment(&w)
		ah := s.ChargedAh
		if s.Kind == Riding {
			ah = s.DischargedAh
		}
		if ah < r.least && s.DistanceKm.Or(0) < recordKm {
			few++
			fewAh += ah
			continue
		}
		var rec logbook.Record
		if s.Kind == Charging {
			rec = r.charge(&w, &s)
		} else {
			rec = r.ride(w.at, &s)
		}
		if !yield(rec) {
			return nil
		}
	}
	if few > 0 && small != nil {
		small(few, fewAh)
	}
	return r.checks(yield)
}

func (r *reading) charge(w *place, s *Segment) logbook.Record {
	p := w.at
	c := logbook.New(logbook.KindCharge).(*logbook.Charge)
	c.Pack, c.Meter = r.opts.Pack.ID, r.opts.Meter
	c.At, c.Start = s.End, s.Start
	c.StartRestV, c.EndRestV, c.EndRestMin = s.StartRestV, s.EndRestV, s.EndRestMin
	c.ChargedAh, c.ChargedWh = some(s.ChargedAh-s.DischargedAh), some(s.ChargedWh-s.DischargedWh)
	c.Full, c.ErrorPct = s.Full, s.ErrorPct
	c.PackC, c.AmbientC = degrees(p.tempC), degrees(p.airC)
	if s.EndRestV.OK {
		c.CellSpreadMv = spread(w.after.groupV)
	}
	return c
}

func (r *reading) ride(p *piece, s *Segment) logbook.Record {
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
	d.PackC, d.AmbientC = degrees(p.tempC), degrees(p.airC)
	motionOf(d, p, s)
	return d
}

// leastRegen is the part of what a ride draws from which on what it feeds back
// is no noise.
const leastRegen = 0.002

func motionOf(d *logbook.Ride, p *piece, s *Segment) {
	d.DistanceKm = s.DistanceKm
	if p.odoLast == p.odoLast {
		d.OdometerKm = some(p.odoLast)
	}
	if p.movingS <= 0 {
		return
	}
	mean := p.speedS / p.movingS
	d.MovingMin = some(p.movingS / 60)
	d.MovingSpeedKmh = some(mean)
	d.SpeedSdKmh = some(math.Sqrt(max(p.speedSq/p.movingS-mean*mean, 0)))
}

// degrees is a temperature in a record; absent where it is NaN.
func degrees(c float64) logbook.Num {
	if c != c {
		return logbook.Num{}
	}
	return logbook.Some(roundTo(c, 4))
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
func (r *reading) checks(yield func(logbook.Record) bool) error {
	for _, p := range r.cur.steps.pulses {
		if c := r.pulseCheck(p); c != nil && !yield(c) {
			return nil
		}
	}
	for w, err := range r.pieces.all() {
		if err != nil {
			return err
		}
		if c := r.rideCheck(w.at); c != nil && !yield(c) {
			return nil
		}
		if c := r.groupCheck(&w); c != nil && !yield(c) {
			return nil
		}
	}
	return nil
}

func (r *reading) newCheck(at time.Time) *logbook.Check {
	c := logbook.New(logbook.KindCheck).(*logbook.Check)
	c.Pack, c.At = r.opts.Pack.ID, at
	return c
}

func (r *reading) pulseCheck(p pulse) *logbook.Check {
	sign := float64(r.sign)
	if math.Abs(p.baseI) >= r.cur.idleOn || p.ohms()*sign <= 0 || math.Abs(p.loadI) < r.cur.stepOn || p.rows < pulseRows {
		return nil
	}
	c := r.newCheck(r.cal.at(p.t, p.leg))
	c.ResistanceMohm, c.PulseS = logbook.Some(roundTo(p.ohms()*sign*1e3, 4)), some(p.seconds)
	c.RestV, c.PackC = some(p.baseV), degrees(p.tempC)
	c.Note = fmt.Sprintf("a step to %s A in a trace", brief(p.loadI*sign))
	return c
}

func (r *reading) rideCheck(p *piece) *logbook.Check {
	ohms, _, ok := r.ohmsOf(p)
	if !ok {
		return nil
	}
	c := r.newCheck(r.endOf(p))
	c.ResistanceMohm, c.PulseS = logbook.Some(roundTo(ohms*1e3, 4)), logbook.Some(windowS)
	c.PackC = degrees(p.tempC)
	c.Note = "regression of voltage on current over a ride in a trace"
	return c
}

func (r *reading) groupCheck(w *place) *logbook.Check {
	p := w.at
	if w.before == nil || w.before.kind != Charging || p.kind != Rest || len(p.groupV) < 2 || p.seconds() < startRestS {
		return nil
	}
	c := r.newCheck(r.endOf(p))
	c.GroupV, c.CellSpreadMv = slices.Clone(p.groupV), spread(p.groupV)
	return c
}
