package report

import (
	"math"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// Course is what the pictures of a pack show: what was measured, brought to
// reference conditions, and the fitted course through the log and ahead. A list
// is empty where the log does not tell that figure.
type Course struct {
	Pack         string        `json:"pack"`
	Name         string        `json:"name"` // the pack's, else its id
	AsOf         time.Time     `json:"as_of"`
	Bench        bool          `json:"bench"` // full cycles were bench discharges: no range
	RetireSohPct float64       `json:"retire_soh_pct"`
	RetireAh     *float64      `json:"retire_ah"` // the capacity at that state of health
	NeedRangeKm  *float64      `json:"need_range_km"`
	RefTempC     float64       `json:"ref_temp_c"`
	CapacityAh   []CoursePoint `json:"capacity_ah"`
	Resistance   []CoursePoint `json:"resistance_mohm"`
	RangeKm      []CoursePoint `json:"range_km"`        // from now on, at reference conditions
	SeasonKm     []CoursePoint `json:"season_range_km"` // from now on, at the usual temperature of the time
	Capacities   []Measured    `json:"capacity_tests"`
	Resistances  []Measured    `json:"resistance_checks"`
	Ranges       []Measured    `json:"range_tests"`
	Events       []Event       `json:"events"`
	Earlier      []*Course     `json:"earlier"` // the pack's lives before its cells were replaced, the latest first
}

// CoursePoint is a figure at one time. Ahead marks what lies after the last
// record: no measurement has seen it yet.
type CoursePoint struct {
	At    time.Time `json:"at"`
	Ahead bool      `json:"ahead"`
	Estimate
}

// Measured is one measurement brought to reference conditions. A doubted one
// was put aside because the rest of the log speaks against it.
type Measured struct {
	Record  string    `json:"record"`
	At      time.Time `json:"at"`
	Value   float64   `json:"value"`
	Doubted bool      `json:"doubted"`
}

// Event is something that happened to the pack, of a kind of service record.
// Until is zero unless it lasted.
type Event struct {
	Record string    `json:"record"`
	What   string    `json:"what"`
	At     time.Time `json:"at"`
	Until  time.Time `json:"until,omitzero"`
}

// How many points a course has in the log at most and ahead at least, and the
// shortest step between two of them.
const (
	pastPoints   = 72
	aheadPoints  = 24
	leastStep    = 24 * time.Hour
	longestAhead = 600 // months
)

// CourseOf reads the course of a pack off a fit of its history, months ahead.
// The fitter fits the lives before the pack's cells were replaced; without one
// they are left out.
func CourseOf(h *logbook.History, fit *model.Fit, months int, fitter Fitter) *Course {
	known, p := fit.Known(), h.Pack
	c := &Course{
		Pack: p.ID, Name: nameOf(p), AsOf: h.AsOf, Bench: fit.Bench() && len(h.Rides) > 0,
		RetireSohPct: p.RetireSohPct.Or(logbook.DefaultRetireSohPct), RefTempC: p.RefTempC.Or(logbook.DefaultRefTempC),
		CapacityAh: []CoursePoint{}, Resistance: []CoursePoint{}, RangeKm: []CoursePoint{}, SeasonKm: []CoursePoint{},
		Capacities: []Measured{}, Resistances: []Measured{}, Ranges: []Measured{}, Events: eventsOf(h), Earlier: []*Course{},
	}
	if p.NeedRangeKm.OK {
		c.NeedRangeKm = &p.NeedRangeKm.V
	}
	c.follow(h, fit, known, courseTimes(h, months))
	c.measured(fit, known)
	if fitter != nil {
		c.Earlier = append(c.Earlier, earlier(h, fitter)...)
	}
	return c
}

// follow reads capacity and resistance off the fit at each time, and the range
// from now on.
func (c *Course) follow(h *logbook.History, fit *model.Fit, known model.Known, times []time.Time) {
	if known.Capacity {
		now := fit.At(h.AsOf)
		asNew := make(model.Draws, len(now.CapacityAh))
		for i, ah := range now.CapacityAh {
			asNew[i] = ah / now.SohPct[i] * 100
		}
		c.RetireAh = bound(model.Quantile(asNew, .5) * c.RetireSohPct / 100)
	}
	last := lastOf(h)
	for _, t := range times {
		ahead := t.After(last)
		capacity, resistance := fit.Course(t)
		c.CapacityAh = appendPoint(c.CapacityAh, t, ahead, when(known.Capacity, capacity))
		c.Resistance = appendPoint(c.Resistance, t, ahead, when(known.Resistance, resistance))
		if known.Capacity && known.Road && !t.Before(h.AsOf) {
			c.RangeKm = appendPoint(c.RangeKm, t, ahead, estimate(fit.At(t).RangeKm))
			c.SeasonKm = appendPoint(c.SeasonKm, t, ahead, estimate(fit.SeasonRangeKm(t)))
		}
	}
}

func appendPoint(to []CoursePoint, t time.Time, ahead bool, e *Estimate) []CoursePoint {
	if e == nil {
		return to
	}
	return append(to, CoursePoint{t, ahead, *e})
}

// courseTimes are the times at which a course is read: from the first record
// of this life to now, now itself, and months ahead.
func courseTimes(h *logbook.History, months int) []time.Time {
	var out []time.Time
	if first := firstOf(h); first.Before(h.AsOf) {
		out = spaced(first, h.AsOf, pastPoints)
	}
	out = append(out, h.AsOf)
	months = min(max(months, 0), longestAhead)
	if months > 0 {
		end := monthsAhead(h.AsOf, months)
		out = append(out, spaced(h.AsOf, end, max(aheadPoints, 2*months))[1:]...)
		out = append(out, end)
	}
	return out
}

// spaced returns times from from to before to, evenly, n at most.
func spaced(from, to time.Time, n int) []time.Time {
	step := max(to.Sub(from)/time.Duration(n), leastStep)
	out := []time.Time{from}
	for t := from.Add(step); to.Sub(t) > step/2; t = t.Add(step) {
		out = append(out, t)
	}
	return out
}

// firstOf is the time of the first ride, charge or check of the pack's life,
// lastOf the end of the last; AsOf where there is none.
func firstOf(h *logbook.History) time.Time {
	first := h.AsOf
	eachOf(h, func(r logbook.Record) {
		if t := logbook.AtOf(r); t.Before(first) {
			first = t
		}
	})
	return first
}

func lastOf(h *logbook.History) time.Time {
	var last time.Time
	eachOf(h, func(r logbook.Record) {
		if t := logbook.EndOf(r); t.After(last) {
			last = t
		}
	})
	if last.IsZero() {
		return h.AsOf
	}
	return last
}

func eachOf(h *logbook.History, see func(logbook.Record)) {
	born := replacedAt(h)
	alive := func(r logbook.Record) {
		if !logbook.AtOf(r).Before(born) {
			see(r)
		}
	}
	for _, r := range h.Rides {
		alive(r)
	}
	for _, r := range h.Charges {
		alive(r)
	}
	for _, r := range h.Checks {
		alive(r)
	}
}

// replacedAt is when the pack's cells were replaced last; zero where never.
func replacedAt(h *logbook.History) time.Time {
	var at time.Time
	for _, s := range h.Services {
		if s.What == "cells_replaced" && s.Pack == h.Pack.ID && s.At.After(at) {
			at = s.At
		}
	}
	return at
}

// measured lists the tests of the log.
func (c *Course) measured(fit *model.Fit, known model.Known) {
	for _, t := range fit.Tests() {
		id := logbook.HeadOf(t.Record).ID
		if known.Capacity {
			c.Capacities = appendMeasured(c.Capacities, id, t, t.CapacityAh)
		}
		if known.Resistance {
			c.Resistances = appendMeasured(c.Resistances, id, t, t.ResistanceMohm)
		}
		if known.Capacity && known.Road {
			c.Ranges = appendMeasured(c.Ranges, id, t, t.RangeKm)
		}
	}
}

func appendMeasured(to []Measured, id string, t model.Test, v float64) []Measured {
	if math.IsNaN(v) || math.IsInf(v, 0) || v <= 0 {
		return to
	}
	return append(to, Measured{id, t.At, tidy(v), t.Doubted})
}

// eventsOf lists what happened to the pack that its course may show.
func eventsOf(h *logbook.History) []Event {
	out := []Event{}
	for _, s := range h.Services {
		if s.Pack == h.Pack.ID && s.What != "snooze" {
			out = append(out, Event{s.ID, s.What, s.At, s.Until})
		}
	}
	return out
}

// earlier follows the lives of the pack before its cells were replaced.
func earlier(h *logbook.History, fitter Fitter) []*Course {
	at := replacedAt(h)
	if at.IsZero() {
		return nil
	}
	past, err := logbook.NewHistory(h.Pack.ID, everyRecord(h), at.Add(-time.Second))
	if err != nil || firstOf(past).Equal(past.AsOf) {
		return nil
	}
	c := CourseOf(past, fitter(past), 0, fitter)
	lives := append([]*Course{c}, c.Earlier...)
	c.Earlier = []*Course{}
	return lives
}

// everyRecord lists all that a history was made of, so that it can be cut anew.
func everyRecord(h *logbook.History) []logbook.Record {
	all := h.Records()
	for _, r := range h.OtherRides {
		all = append(all, r)
	}
	return all
}
