package trace

import (
	"math"

	"packwane/health/logbook"
)

// What tells a rest voltage, a full charge and the end of a ride.
const (
	startRestS   = 600.0 // idle so long behind a charge or ride, before a start voltage is taken
	endRestS     = 60.0  // idle so long, an end voltage is; how long is told with it
	steadyRestV  = 5e-4  // of the voltage a minute: at the beginning of a file it must not move more
	taperShare   = 0.25  // of its highest current: what a charge has fallen to when it tapered
	heldShare    = 0.004 // of the voltage: what a tapering charge is held to
	fullShare    = 0.985 // of the pack's full voltage: what a full charge reaches at least
	notFullShare = 0.97  // what a charge that ended below is not full
	limitShare   = 0.005 // of the limit: how near the voltage under load must have come
	cutoffShare  = 0.01
	loadShare    = 0.05 // of the pack an hour: what a load is
)

// segments turns the pieces into segments.
func (r *reading) segments() {
	t0 := r.pieces[0].t0
	for k := range r.pieces {
		p := &r.pieces[k]
		in, out := r.sides(p)
		s := Segment{
			Kind: p.kind, Start: r.cal.at(p.t0, p.leg0), End: r.cal.at(p.t1, p.leg1), FirstRow: p.row0, LastRow: p.row1,
			ChargedAh: in.ah, ChargedWh: in.wh, DischargedAh: out.ah, DischargedWh: out.wh,
			MinV: p.minV, MaxV: p.maxV, Seconds: [2]float64{p.t0 - t0, p.t1 - t0},
		}
		if s.End.Before(s.Start) {
			s.End = s.Start
		}
		s.PeakA = r.peak(p)
		if p.kind != Rest {
			s.ErrorPct = r.errorPct(p)
			s.StartRestV = r.startRest(k)
			s.EndRestV, s.EndRestMin = r.endRest(k)
			s.DistanceKm, s.MovingMin = distance(p)
		}
		switch p.kind {
		case Charging:
			s.Full = r.full(k)
		case Riding:
			s.Stop = r.stop(k)
		}
		r.res.Segments = append(r.res.Segments, s)
	}
}

// peak is the highest current in the direction of the piece.
func (r *reading) peak(p *piece) float64 {
	lo, hi := p.minI, p.maxI
	if r.sign == PositiveDischarges {
		lo, hi = -hi, -lo
	}
	if p.kind == Charging {
		return max(hi, 0)
	}
	return max(-lo, 0)
}

// errorPct is the standard error of the charge of a piece in per cent: from the
// spacing of its rows, from gaps, and from the meter itself. What flowed in a
// gap lies anywhere between nothing and twice the straight line over it: a
// uniform distribution (JCGM 100:2008, 4.3.7).
func (r *reading) errorPct(p *piece) logbook.Num {
	as := p.pos.value() + p.neg.value()
	if as <= 0 {
		return logbook.Num{}
	}
	gap := 2 * p.gapAs / math.Sqrt(12)
	e := math.Hypot(100*math.Hypot(p.spacing.ampereSeconds(), gap)/as, meterPct)
	return logbook.Some(roundTo(min(e, 100), 2))
}

// meterPct is by how much one meter's figures differ from day to day: its zero
// and its warmth (common practice, no source).
const meterPct = 0.3

// startRest is the voltage before piece k, where the pack had rested.
func (r *reading) startRest(k int) logbook.Num {
	if k == 0 || r.pieces[k].apart {
		return logbook.Num{}
	}
	rest := &r.pieces[k-1]
	if rest.kind != Rest || rest.rows == 0 {
		return logbook.Num{}
	}
	minutes := max(rest.seconds()/60, 1)
	steady := math.Abs(rest.endV-rest.firstV) <= steadyRestV*rest.endV*minutes
	if first := k == 1 || rest.apart; first && steady || rest.seconds() >= startRestS {
		return some(rest.endV)
	}
	return logbook.Num{}
}

// endRest is the voltage of the rest behind piece k, and how long it had
// rested when that was read.
func (r *reading) endRest(k int) (v, minutes logbook.Num) {
	if k+1 >= len(r.pieces) || r.pieces[k+1].apart {
		return v, minutes
	}
	rest := &r.pieces[k+1]
	if rest.kind != Rest || rest.rows == 0 || rest.seconds() < endRestS {
		return v, minutes
	}
	return some(rest.endV), logbook.Some(roundTo(rest.seconds()/60, 4))
}

// full tells whether a charge ran until the charger finished: its current
// tapered while the voltage was held, near the pack's full voltage where that
// is known. It is no where the charge ended well below that; else it is open.
func (r *reading) full(k int) logbook.Flag {
	p := &r.pieces[k]
	lastI := math.Abs(p.endI)
	tapered := lastI <= taperShare*r.peak(p) && p.endV >= (1-heldShare)*p.maxV
	fullV, known := r.packFullV()
	switch {
	case tapered && (!known || p.maxV >= fullShare*fullV):
		return logbook.Yes
	case known && p.maxV < notFullShare*fullV:
		return logbook.No
	}
	return logbook.Absent
}

// packFullV is the voltage of the full pack.
func (r *reading) packFullV() (v float64, ok bool) {
	p := r.opts.Pack
	if p == nil || !p.CellFullV.OK || !p.Series.OK {
		return 0, false
	}
	return p.CellFullV.V * p.Series.V, true
}

// stop tells what ended a ride: protection, where the load was cut off at
// about cutoff_v, or the limit, where the voltage under load came down to
// limit_v in its last minute. All else is left open.
func (r *reading) stop(k int) string {
	p := &r.pieces[k]
	pack := r.opts.Pack
	if pack == nil {
		return ""
	}
	low := p.late.lowest()
	loaded := math.Abs(p.endI) >= loadShare*max(capacityOf(pack), r.peak(p)/2)
	if pack.CutoffV.OK && loaded && low <= (1+cutoffShare)*pack.CutoffV.V && (!pack.LimitV.OK || pack.LimitV.V > pack.CutoffV.V) {
		return "cutoff"
	}
	if pack.LimitV.OK && low <= (1+limitShare)*pack.LimitV.V {
		return "limit"
	}
	return ""
}

// distance is how far and how long a piece moved.
func distance(p *piece) (km, minutes logbook.Num) {
	m := &p.way
	if m.seen {
		km, minutes = some(m.km.value()), some(m.movingS/60)
	}
	if d := m.odoLast - m.odoFirst; d == d && d >= 0 && (d > 0 || !m.seen) {
		km = some(d)
	}
	return km, minutes
}
