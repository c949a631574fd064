package trace

import (
	"iter"
	"math"
	"time"

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

// Segments gives the parts of the trace in their order, as often as it is
// called. There may be very many: they are made one by one. An error is that
// of the spill.
func (r *Result) Segments() iter.Seq2[Segment, error] {
	return func(yield func(Segment, error) bool) {
		for w, err := range r.rd.pieces.all() {
			if err != nil {
				yield(Segment{}, err)
				return
			}
			if !yield(r.rd.segment(&w), nil) {
				return
			}
		}
	}
}

// segment makes a segment of a piece.
func (r *reading) segment(w *place) Segment {
	p := w.at
	in, out := r.sides(p)
	s := Segment{
		Kind: p.kind, Start: r.cal.at(p.t0, p.leg0), End: r.endOf(p), FirstRow: p.row0, LastRow: p.row1,
		ChargedAh: in.ah, ChargedWh: in.wh, DischargedAh: out.ah, DischargedWh: out.wh,
		MinV: p.minV, MaxV: p.maxV, Seconds: [2]float64{p.t0 - r.pieces.t0, p.t1 - r.pieces.t0},
	}
	s.PeakA = r.peak(p)
	if p.kind != Rest {
		s.ErrorPct = errorPct(p)
		s.StartRestV = w.startRest()
		s.EndRestV, s.EndRestMin = w.endRest()
		s.DistanceKm, s.MovingMin = distance(p)
	}
	switch p.kind {
	case Charging:
		s.Full = r.full(p)
	case Riding:
		s.Stop = r.stop(p)
	}
	return s
}

// endOf is the moment at which a piece ends: never before it begins, even where
// the file's clock was set back in it.
func (r *reading) endOf(p *piece) time.Time {
	return later(r.cal.at(p.t0, p.leg0), r.cal.at(p.t1, p.leg1))
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
func errorPct(p *piece) logbook.Num {
	as := p.pos + p.neg
	if as <= 0 {
		return logbook.Num{}
	}
	gap := 2 * p.gapAs / math.Sqrt(12)
	e := math.Hypot(100*math.Hypot(p.spacingAs, gap)/as, meterPct)
	return logbook.Some(roundTo(min(e, 100), 2))
}

// meterPct is by how much one meter's figures differ from day to day: its zero
// and its warmth (common practice, no source).
const meterPct = 0.3

// startRest is the voltage before a piece, where the pack had rested.
func (w *place) startRest() logbook.Num {
	rest := w.before
	if rest == nil || w.at.apart || rest.kind != Rest || rest.empty {
		return logbook.Num{}
	}
	minutes := max(rest.seconds()/60, 1)
	steady := math.Abs(rest.endV-rest.firstV) <= steadyRestV*rest.endV*minutes
	if first := w.n == 1 || rest.apart; first && steady || rest.seconds() >= startRestS {
		return some(rest.endV)
	}
	return logbook.Num{}
}

// endRest is the voltage of the rest behind a piece, and how long it had
// rested when that was read.
func (w *place) endRest() (v, minutes logbook.Num) {
	rest := w.after
	if rest == nil || rest.apart || rest.kind != Rest || rest.empty || rest.seconds() < endRestS {
		return v, minutes
	}
	return some(rest.endV), logbook.Some(roundTo(rest.seconds()/60, 4))
}

// full tells whether a charge ran until the charger finished: its current
// tapered while the voltage was held, near the pack's full voltage where that
// is known. It is no where the charge ended well below that; else it is open.
func (r *reading) full(p *piece) logbook.Flag {
	lastI := math.Abs(p.endI)
	tapered := lastI <= taperShare*r.peak(p) && p.endV >= (1-heldShare)*p.maxV
	fullV, known := r.packFullV(p)
	switch {
	case tapered && (!known || p.maxV >= fullShare*fullV):
		return logbook.Yes
	case known && p.maxV < notFullShare*fullV:
		return logbook.No
	}
	return logbook.Absent
}

// packFullV is the voltage of the full pack.
func (r *reading) packFullV(p *piece) (v float64, ok bool) {
	pack := r.packAt(p)
	if pack == nil || !pack.CellFullV.OK || !pack.Series.OK {
		return 0, false
	}
	return pack.CellFullV.V * pack.Series.V, true
}

// packAt is the pack as it was set up when a piece began; nil where none is known.
func (r *reading) packAt(p *piece) *logbook.Pack {
	if r.opts.Pack == nil || r.opts.PackAt == nil || !r.cal.known {
		return r.opts.Pack
	}
	pack := r.opts.PackAt(r.cal.at(p.t0, p.leg0))
	return &pack
}

// stop tells what ended a ride: protection, where the load was cut off at
// about cutoff_v, or the limit, where the voltage under load came down to
// limit_v in its last minute. All else is left open.
func (r *reading) stop(p *piece) string {
	pack := r.packAt(p)
	if pack == nil {
		return ""
	}
	low := p.lateV
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
	if p.moved {
		km, minutes = some(p.km), some(p.movingS/60)
	}
	if d := p.odoKm; d == d && d >= 0 && (d > 0 || !p.moved) {
		km = some(d)
	}
	return km, minutes
}
