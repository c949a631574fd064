package report

import (
	"slices"
	"sync"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Insight is the answer to "what does the record show that I just logged?":
// how it lies to what the log made expect before it, what it did to the
// estimates, and what to record next to learn more. What the log cannot tell is
// nil or empty.
type Insight struct {
	Record    string     `json:"record"`
	Pack      string     `json:"pack"`
	Shows     *Shown     `json:"shows"`      // held against what was expected
	MainCause *MainCause `json:"main_cause"` // of a ride, against a full charge as new at reference conditions
	RangeTest *RangeTest `json:"range_test"` // of a ride
	Estimates []Change   `json:"estimates"`  // before and after, both as of now
	DueStarts []DueWord  `json:"due_starts"` // what the record makes due
	DueEnds   []DueWord  `json:"due_ends"`   // and what it settles
	Hold      *Advice    `json:"hold"`       // of a charge: whether balancing is due
	Next      []Advice   `json:"next"`       // what to record next, what tells most first
	Warnings  []Warning  `json:"warnings"`

	notes  []phrase
	asleep time.Time // of a snooze: the day on which what it silences comes back; else zero
}

// Shown is what a record measured, against what the log without it expected of
// it in its own conditions: with the scatter of one ride or reading.
type Shown struct {
	Quantity      string    `json:"quantity"` // distance_km, consumption_wh_per_km, charged_ah, charged_wh or resistance_mohm
	Came          float64   `json:"came"`
	Expected      *Estimate `json:"expected"` // null where the log did not tell
	DifferencePct *float64  `json:"difference_pct"`
	Verdict       string    `json:"verdict"` // as_expected, farther, shorter, more, less or unknown
	CameKm        *float64  `json:"came_km"` // a full charge in these conditions at that consumption
	ExpectedKm    *Estimate `json:"expected_km"`
	Text          string    `json:"text"` // in metric units

	why phrase
}

// MainCause is what made most of the difference between a ride and the
// reference.
type MainCause struct {
	Cause        string    `json:"cause"`
	Km           *Estimate `json:"km"`
	DifferenceKm float64   `json:"difference_km"` // of the whole
	ReferenceKm  float64   `json:"reference_km"`

	why phrase
}

// Change is one estimate without the record and with it.
type Change struct {
	Quantity string    `json:"quantity"`
	Before   *Estimate `json:"before"`
	After    *Estimate `json:"after"`

	unit units.Unit
}

// DueWord is a reminder that starts or ends.
type DueWord struct {
	Action Action `json:"action"`
	Rule   string `json:"rule"`
	Text   string `json:"text"` // why, in metric units

	why phrase
}

// Advice is one thing worth recording or knowing.
type Advice struct {
	Code string `json:"code"` // snake_case
	Text string `json:"text"` // in metric units

	why phrase
}

func advice(code string, parts ...any) Advice {
	p := say(parts...)
	return Advice{Code: code, Text: p.in(units.Metric), why: p}
}

// learning is one record with the log as it is with it and without it.
type learning struct {
	r           logbook.Record
	with, sans  *logbook.History
	after       *model.Fit
	before      *model.Fit // without the record, as of now
	past        *model.Fit // what it was expected by: before, or the log as it was then
	knownBefore model.Known
	known       model.Known
	duty        *duty
	due         []Reminder
	explain     *Explain // of a ride; nil where it cannot be explained
	cut         bool     // only the latest records were fitted
	out         *Insight
}

// backdated is how long before the log's last record a record must have begun
// for the log as it was then to be asked, not the whole log without it.
const backdated = 30 * 24 * time.Hour

// InsightOf says what record r, one of h's, shows. fit fits models to
// histories and may be called from several goroutines at once. The record must
// be of h's pack, or of a board of it.
func InsightOf(h *logbook.History, r logbook.Record, fit Fitter) *Insight {
	whole := h
	h, cut := shorten(h, r)
	l := &learning{r: ownOf(h, r), with: h, sans: without(h, r, h.AsOf), cut: cut}
	l.out = &Insight{Record: logbook.HeadOf(r).ID, Pack: h.Pack.ID, Estimates: []Change{}, DueStarts: []DueWord{}, DueEnds: []DueWord{}, Next: []Advice{}, Warnings: []Warning{}}
	l.fit(fit)
	l.compareDue(whole)
	switch r := l.r.(type) {
	case *logbook.Ride:
		l.showRide(r)
	case *logbook.Charge:
		l.showCharge(r)
	case *logbook.Check:
		l.showCheck(r)
	}
	if l.measures() {
		l.changes()
		l.putAside()
		l.next()
	}
	return l.out
}

// measures reports whether the record can tell the model anything of itself.
func (l *learning) measures() bool {
	k := l.r.Kind()
	return k == logbook.KindRide || k == logbook.KindCharge || k == logbook.KindCheck
}

// fit fits the log with the record and without it, side by side.
func (l *learning) fit(fit Fitter) {
	var wg sync.WaitGroup
	wg.Add(1)
	go func() {
		defer wg.Done()
		l.before = fit(l.sans)
		l.past = l.before
		if at := logbook.AtOf(l.r); newDuty(l.sans, nil, l.sans.AsOf).lastRecord().Sub(at) > backdated {
			l.past = fit(without(l.with, l.r, at))
		}
	}()
	l.after = fit(l.with)
	wg.Wait()
	l.known, l.knownBefore = l.after.Known(), l.before.Known()
	l.duty = newDuty(l.with, l.after, l.with.AsOf)
}

// same reports whether two records are one.
func same(a, b logbook.Record) bool {
	return a.Kind() == b.Kind() && logbook.HeadOf(a).ID == logbook.HeadOf(b).ID
}

// ownOf returns the history's own copy of a record.
func ownOf(h *logbook.History, r logbook.Record) logbook.Record {
	for _, x := range h.Records() {
		if same(x, r) {
			return x
		}
	}
	return r
}

// without is the history as of a time less one record.
func without(h *logbook.History, r logbook.Record, asOf time.Time) *logbook.History {
	all := slices.DeleteFunc(everyRecord(h), func(x logbook.Record) bool { return same(x, r) })
	out, err := logbook.NewHistory(h.Pack.ID, all, asOf)
	if err != nil { // r is the pack itself
		return h
	}
	return out
}

// putAside says which figures of the record do not fit the rest.
func (l *learning) putAside() {
	for _, m := range l.after.Misreadings() {
		if !same(m.Record, l.r) {
			continue
		}
		l.out.Warnings = append(l.out.Warnings, Warning{Code: "figure_put_aside", Text: "its " + m.Field + " does not fit the rest of the log and was put aside: see `packwane audit " + l.out.Pack + "`"})
	}
}

// changes holds the estimates without the record against those with it.
func (l *learning) changes() {
	a, b := l.before.At(l.with.AsOf), l.after.At(l.with.AsOf)
	add := func(name string, u units.Unit, was, is bool, before, after model.Draws) {
		if is {
			l.out.Estimates = append(l.out.Estimates, Change{name, when(was, before), estimate(after), u})
		}
	}
	x, y := l.knownBefore, l.known
	if l.r.Kind() == logbook.KindCheck {
		add("resistance_mohm", units.Mohm, x.Resistance, y.Resistance, a.ResistanceMohm, b.ResistanceMohm)
	}
	if !l.after.Bench() {
		add("range_km", units.Km, x.Capacity && x.Road && !l.before.Bench(), y.Capacity && y.Road, a.RangeKm, b.RangeKm)
	}
	add("capacity_ah", units.Ah, x.Capacity, y.Capacity, a.CapacityAh, b.CapacityAh)
}

// compareDue finds what the record makes due and what it settles, today. Of a
// log that was cut it asks the whole log, but only what the records alone say.
func (l *learning) compareDue(whole *logbook.History) {
	sans, before, after := l.sans, l.before, l.after
	if l.cut {
		sans, before, after = without(whole, l.r, whole.AsOf), nil, nil
	}
	now := l.with.AsOf
	today := func(all []Reminder) []Reminder {
		return slices.DeleteFunc(all, func(r Reminder) bool { return r.Due.After(l.duty.today) })
	}
	was, is := today(DueOf(sans, before, now)), today(DueOf(whole, after, now))
	l.due = is
	if slices.ContainsFunc(is, Reminder.bars) { // what a bar puts off is not settled by it
		was = withoutContradiction(was, true)
	}
	l.out.DueStarts, l.out.DueEnds = notIn(is, was), notIn(was, is)
	if s, ok := l.r.(*logbook.Service); ok && s.What == "snooze" {
		l.out.asleep = l.duty.dateOf(snoozeEnd(s))
	}
}

// notIn lists the reminders of a whose rule asks for nothing in b.
func notIn(a, b []Reminder) []DueWord {
	out := []DueWord{}
	for _, r := range a {
		if !slices.ContainsFunc(b, func(o Reminder) bool { return o.Rule == r.Rule && o.Board == r.Board }) {
			out = append(out, DueWord{r.Action, r.Rule, r.Because, r.why})
		}
	}
	return out
}

// barred reports whether the pack must not be ridden or charged.
func (l *learning) barred() bool {
	return slices.ContainsFunc(l.due, Reminder.bars) || !l.duty.h.RetiredAt().IsZero()
}
