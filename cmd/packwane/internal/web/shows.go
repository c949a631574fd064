package web

import (
	"fmt"
	"slices"

	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
)

// shows says what a record would tell, before it is kept: why a ride went no
// farther, what it does to the estimates, and what it makes due or settles. It
// is what the reports say of the log with the record and without it. Logging
// does not hang on it: where it fails, nothing is shown.
func (v *visit) shows(r logbook.Record) (out []string, err error) {
	defer func() {
		if p := recover(); p != nil {
			v.s.Fault(fmt.Errorf("what a record shows: %v", p))
			out, err = nil, nil
		}
	}()
	if made(r.Kind()) || logbook.PackOf(r) == "" || logbook.EndOf(r).After(v.now) {
		return nil, nil
	}
	l, before, err := v.one(logbook.PackOf(r))
	if err != nil {
		return nil, err
	}
	l.take(r)
	after, err := v.answers(l, logbook.PackOf(r))
	if err != nil {
		return nil, err
	}
	together(asked(before.health), asked(after.health), asked(before.due), asked(after.due))
	if text := v.why(after, r); text != "" {
		out = append(out, text)
	}
	for _, x := range []struct {
		label string
		unit  units.Unit
		of    func(*report.Health) *report.Estimate
	}{
		{"Range", units.Km, func(h *report.Health) *report.Estimate { return h.RangeKm }},
		{"Capacity", units.Wh, func(h *report.Health) *report.Estimate { return h.CapacityWh }},
		{"Resistance", units.Mohm, func(h *report.Health) *report.Estimate { return h.ResistanceMohm }},
	} {
		was, is := interval(x.of(before.health()), x.unit, v.who.System), interval(x.of(after.health()), x.unit, v.who.System)
		if was != is {
			out = append(out, x.label+": "+is+" with it, "+was+" before.")
		}
	}
	return append(out, v.dueChanges(before, after)...), nil
}

// take puts a record among those that were loaded, in the place of its earlier
// revision.
func (l *loaded) take(r logbook.Record) {
	pack := logbook.PackOf(r)
	list := slices.DeleteFunc(slices.Clone(l.records[pack]), func(o logbook.Record) bool {
		return o.Kind() == r.Kind() && logbook.HeadOf(o).ID == logbook.HeadOf(r).ID
	})
	l.records[pack] = append(list, r)
}

// why explains a ride; "" where it cannot be explained.
func (v *visit) why(a *answers, r logbook.Record) string {
	ride, ok := r.(*logbook.Ride)
	if !ok || !ride.DistanceKm.OK || report.LifeOf(a.history, ride.At) != a.history {
		return ""
	}
	x, err := report.ExplainOf(a.history, a.fit(), ride)
	if err != nil {
		return ""
	}
	return x.Words(v.who.System)
}

// dueChanges says what is due with the record and was not before, and the other
// way round.
func (v *visit) dueChanges(before, after *answers) []string {
	lacks := func(list []report.Reminder, r report.Reminder) bool {
		return !slices.ContainsFunc(list, func(o report.Reminder) bool { return o.UID == r.UID })
	}
	var out []string
	for _, r := range after.due() {
		if lacks(before.due(), r) {
			out = append(out, "It makes due: "+actionWords[r.Action]+", "+r.BecauseIn(v.who.System)+".")
		}
	}
	for _, r := range before.due() {
		if lacks(after.due(), r) {
			out = append(out, "It settles: "+actionWords[r.Action]+", "+r.BecauseIn(v.who.System)+".")
		}
	}
	return out
}
