package report

import (
	"slices"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
	"packwane/health/model"
)

// found is what a rule found: one reminder before it is dated.
type found struct {
	due     time.Time // its day in the zone of now is the date
	raised  time.Time // when its cause came to be known; zero for what the model says
	why     phrase
	more    string // what to do, beyond the rule's own words
	records []string
	figures []Figure
	anchor  string // what makes it this reminder and not the next of its kind
	board   string // that it is about, where it is not the pack
}

// duty is one pack on the day it is asked about.
type duty struct {
	h     *logbook.History
	fit   *model.Fit // may be nil
	known model.Known
	now   time.Time
	today time.Time // the calendar day of now, as a date
	chem  law.Chemistry

	life    time.Time // when the cells in it were put in, by the log; zero where they are the first
	rides   []*logbook.Ride
	charges []*logbook.Charge
	checks  []*logbook.Check // these three: of this life
	pack    []*logbook.Service

	snap      *model.Snapshot
	fullRides []*logbook.Ride // of tests, nil until they are asked for
	atRest    []restVolt      // of restVolts, likewise
	spreads   []spread
}

func newDuty(h *logbook.History, fit *model.Fit, now time.Time) *duty {
	d := &duty{h: h, fit: fit, now: now, life: replacedAt(h)}
	d.today = d.dateOf(now)
	d.chem, _ = law.ChemistryNamed(h.Pack.Chemistry)
	if fit != nil {
		d.known = fit.Known()
	}
	for _, s := range h.Services {
		if s.Pack == h.Pack.ID {
			d.pack = append(d.pack, s)
		}
	}
	d.rides = since(h.Rides, d.life)
	d.charges = since(h.Charges, d.life)
	d.checks = since(h.Checks, d.life)
	d.spreads = d.spreadReadings()
	return d
}

// since returns the records from t on; they are in order.
func since[T logbook.Record](rs []T, t time.Time) []T {
	i, _ := slices.BinarySearchFunc(rs, t, func(r T, t time.Time) int { return logbook.AtOf(r).Compare(t) })
	return rs[i:]
}

// dateOf returns the calendar day of an instant in the zone of now, as
// midnight UTC, so that days can be counted.
func (d *duty) dateOf(t time.Time) time.Time {
	y, m, day := t.In(d.now.Location()).Date()
	return time.Date(y, m, day, 0, 0, 0, 0, time.UTC)
}

// dayAt turns a day of the model into an instant; ok is false for one that
// never comes.
func dayAt(unixDay float64) (t time.Time, ok bool) {
	if !(unixDay > -200000 && unixDay < 84000) {
		return time.Time{}, false
	}
	return time.Unix(int64(unixDay*86400), 0), true
}

// retired reports whether the pack was taken out of service and left alone
// since.
func (d *duty) retired() bool {
	last := d.h.RetiredAt()
	return !last.IsZero() && len(since(d.h.Rides, last)) == 0 && len(since(d.h.Charges, last)) == 0
}

// inspected reports whether the pack was inspected at or after t, whatever
// came of it: a failed inspection has a rule of its own.
func (d *duty) inspected(t time.Time) bool { return !d.lastInspection().Before(t) }

// lastInspection is the time of the pack's latest inspection, zero where there
// is none.
func (d *duty) lastInspection() (t time.Time) {
	for _, s := range d.pack {
		if s.What == "inspection" {
			t = s.At
		}
	}
	return t
}

// passed reports whether an inspection of the pack, or of the board where one
// is named, was passed at or after t.
func (d *duty) passed(t time.Time, board string) bool {
	return slices.ContainsFunc(d.h.Services, func(s *logbook.Service) bool {
		mine := s.Pack == d.h.Pack.ID || board != "" && s.Board == board
		return mine && s.What == "inspection" && s.Passed == logbook.Yes && !s.At.Before(t)
	})
}

// answerDays is how long an inspection answers for a state that goes on, such
// as a low state of health. Common practice, no source.
const answerDays = 365

// goesOn dates the reminder of a state that began at a time and goes on: an
// inspection up to early days before, or since, answers for a year.
func (d *duty) goesOn(began time.Time, early int) time.Time {
	last := d.lastInspection()
	if last.IsZero() || last.Before(began.AddDate(0, 0, -early)) {
		return began
	}
	return last.AddDate(0, 0, answerDays)
}

// now's snapshot, worked out once.
func (d *duty) snapshot() *model.Snapshot {
	if d.snap == nil {
		s := d.fit.At(d.now)
		d.snap = &s
	}
	return d.snap
}

// lastRecord is when the latest ride, charge or check of this life ended; zero
// where there is none.
func (d *duty) lastRecord() (t time.Time) {
	for _, r := range d.rides {
		t = later(t, logbook.EndOf(r))
	}
	if n := len(d.charges); n > 0 {
		t = later(t, d.charges[n-1].At)
	}
	if n := len(d.checks); n > 0 {
		t = later(t, d.checks[n-1].At)
	}
	return t
}

// firstRecord is when the earliest of them began.
func (d *duty) firstRecord() (t time.Time) {
	first := func(at time.Time) {
		if t.IsZero() || at.Before(t) {
			t = at
		}
	}
	if len(d.rides) > 0 {
		first(d.rides[0].At)
	}
	if len(d.charges) > 0 {
		first(d.charges[0].At)
	}
	if len(d.checks) > 0 {
		first(d.checks[0].At)
	}
	return t
}

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

// tests lists the full cycles of this life: started full, stopped at the
// limit.
func (d *duty) tests() []*logbook.Ride {
	if d.fullRides != nil {
		return d.fullRides
	}
	full := startedFull(d.h)
	d.fullRides = []*logbook.Ride{}
	for _, r := range d.rides {
		if r.Stop == "limit" && full[r] && (r.DistanceKm.OK || r.DischargedAh.OK || r.DischargedWh.OK) {
			d.fullRides = append(d.fullRides, r)
		}
	}
	return d.fullRides
}

// told lists the records that tell the capacity and the range best: the last
// few full cycles, else the last few rides that measured anything.
func (d *duty) told() []string {
	const few = 3
	rides := d.tests()
	if len(rides) == 0 {
		for _, r := range slices.Backward(d.rides) {
			if len(rides) < few && (r.DistanceKm.OK || r.DischargedAh.OK || r.DischargedWh.OK) {
				rides = append(rides, r)
			}
		}
		slices.Reverse(rides)
	}
	return idsOf(rides[max(0, len(rides)-few):])
}

func idsOf[T logbook.Record](rs []T) []string {
	out := make([]string, len(rs))
	for i, r := range rs {
		out[i] = logbook.HeadOf(r).ID
	}
	return out
}

// cellV turns pack volts into volts of one cell; absent where the number of
// series groups is not known.
func (d *duty) cellV(v logbook.Num) logbook.Num {
	n := d.h.Pack.Series
	if !v.OK || !n.OK {
		return logbook.Num{}
	}
	return logbook.Some(v.V / n.V)
}

// stored reports whether the pack is put away, and until when if that is
// known.
func (d *duty) stored() (until time.Time, is bool) {
	for _, s := range d.pack {
		if s.What == "storage" {
			until, is = s.Until, s.Until.After(d.now) || s.Until.IsZero() && d.lastRecord().Before(s.At)
		}
	}
	return until, is
}
