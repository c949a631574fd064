package trace

import (
	"fmt"
	"time"

	"packwane/health/logbook"
	"packwane/health/prose"
)

// How near in time two records must be to tell of the same charge or ride.
const (
	sameShare   = 0.5              // of the shorter one
	nearRide    = 15 * time.Minute // a ride that was noted by its start alone
	nearCharge  = 30 * time.Minute // a charge that was noted by its end alone
	sameCheck   = 2 * time.Second
	longerShare = 1.1 // a trace that saw so much more of it tells it better
)

// Reconcile brings the records of the trace together with those that the log
// has of the same pack already, so that nothing is counted twice:
//
//   - a record that the log has under its own id is left out;
//   - one that overlaps a single charge or ride of the log is merged into it:
//     what the log left blank is filled in, what it says stays, unless the
//     trace saw more of it. The merged record has the next revision;
//   - one that overlaps several records of the log, or shares one with another
//     of the trace, is left out, with a warning.
//
// keep is given what is to be imported; its error ends it and is returned.
func (r *Result) Reconcile(log Log, keep func(logbook.Record) error) ([]Warning, error) {
	if len(r.Counts) == 0 {
		return nil, nil
	}
	x, err := indexLog(log, r.rd.opts.Pack.ID, r.from, r.to)
	if err != nil {
		return nil, err
	}
	if err := r.claim(x); err != nil {
		return nil, err
	}
	said := &remarks{}
	for f, err := range r.Records() {
		if err == nil {
			f, err = x.settle(f, log, said)
		}
		if err == nil && f != nil {
			err = keep(f)
		}
		if err != nil {
			return nil, err
		}
	}
	return said.all(), nil
}

// claim counts how many records of the trace tell of the same as each of the log.
func (r *Result) claim(x *known) error {
	if len(x.marks) == 0 {
		return nil
	}
	for f, err := range r.Records() {
		if err != nil {
			return err
		}
		m := markOf(f)
		if x.has(&m) {
			continue
		}
		for _, k := range x.matches(&m) {
			k.claims++
		}
	}
	return nil
}

// settle returns what is to be imported of a record of the trace: itself, the
// one of the log that it was merged into, or nil.
func (x *known) settle(f logbook.Record, log Log, said *remarks) (logbook.Record, error) {
	m := markOf(f)
	if x.has(&m) {
		return nil, nil
	}
	at := logbook.FormatTime(logbook.AtOf(f))
	switch same := x.matches(&m); {
	case len(same) == 0:
		return f, nil
	case m.kind == logbook.KindCheck:
		return nil, nil
	case len(same) > 1 || same[0].claims > 1:
		said.add(&said.overlaps, "overlap", "the %s from %s overlaps %s in the log that cannot be told apart from it (%s): left out", f.Kind(), at, prose.Plural(len(same), "record"), same[0].id)
		return nil, nil
	default:
		k, err := log.Record(m.kind, same[0].id)
		if err != nil {
			return nil, err
		}
		merged := merge(k, f)
		if string(logbook.Content(merged)) == string(logbook.Content(k)) {
			return nil, nil
		}
		said.add(&said.merged, "merged", "the %s from %s is %s in the log already: merged, not counted twice", f.Kind(), at, same[0].id)
		return merged, nil
	}
}

// remarks are the warnings of Reconcile: there may be one a record, so only the
// first are kept and the others counted.
type remarks struct {
	said             []Warning
	overlaps, merged int
}

// mostRemarks is how many charges and rides of one kind of remark are named.
const mostRemarks = 40

func (r *remarks) add(n *int, code, format string, args ...any) {
	if *n++; *n <= mostRemarks {
		r.said = append(r.said, Warning{code, fmt.Sprintf(format, args...)})
	}
}

func (r *remarks) all() []Warning {
	if n := r.overlaps - mostRemarks; n > 0 {
		r.said = append(r.said, Warning{"overlap", prose.Plural(n, "further record") + " overlap in the same way: left out"})
	}
	if n := r.merged - mostRemarks; n > 0 {
		r.said = append(r.said, Warning{"merged", prose.Plural(n, "further record") + " merged with the log in the same way, not counted twice"})
	}
	return r.said
}

// extent returns when a record began and ended; equal where only one of the
// two is known.
func extent(r logbook.Record) (from, to time.Time) {
	switch r := r.(type) {
	case *logbook.Charge:
		if r.Start.IsZero() {
			return r.At, r.At
		}
		return r.Start, r.At
	case *logbook.Ride:
		return r.At, logbook.EndOf(r)
	}
	at := logbook.AtOf(r)
	return at, at
}

// overlaps reports whether a record of the trace and one of the log tell of the
// same.
func overlaps(f, k *mark) bool {
	switch f.kind {
	case logbook.KindCheck:
		return f.from.Sub(k.from).Abs() <= sameCheck && f.ohms == k.ohms && f.groups == k.groups
	case logbook.KindRide:
		if k.from.Equal(k.to) {
			return !k.from.Before(f.from.Add(-nearRide)) && !k.from.After(f.to)
		}
	case logbook.KindCharge:
		if k.from.Equal(k.to) {
			return !k.to.Before(f.from) && !k.to.After(f.to.Add(nearCharge))
		}
	}
	common := earlier(f.to, k.to).Sub(later(f.from, k.from))
	return common > 0 && common.Seconds() >= sameShare*min(f.to.Sub(f.from).Seconds(), k.to.Sub(k.from).Seconds())
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// counted are the fields that one meter counts together: they are taken from
// one record or the other, never mixed.
var counted = map[string]bool{
	"charged_ah": true, "charged_wh": true, "discharged_ah": true, "discharged_wh": true, "regen_ah": true, "regen_wh": true,
	"meter": true, "meter_side": true, "error_pct": true,
}

// merge returns the next revision of k with what f knows beyond it.
func merge(k, f logbook.Record) logbook.Record {
	out := logbook.New(k.Kind())
	head := logbook.HeadOf(k)
	blank := true // k counted neither charge nor energy
	f0, f1 := extent(f)
	k0, k1 := extent(k)
	more := !k0.Equal(k1) && f1.Sub(f0).Seconds() > longerShare*k1.Sub(k0).Seconds()
	for _, field := range logbook.Fields(k.Kind()) {
		if counted[field.Name] && field.Unit.String() != "" && field.Name != "error_pct" && field.Present(k) {
			blank = false
		}
	}
	for _, field := range logbook.Fields(k.Kind()) {
		from := k
		switch {
		case field.Name == "id" || field.Name == "rev" || field.Name == "removed" || field.Name == "note":
		case counted[field.Name]:
			if blank || more {
				from = f
			}
		case !field.Present(k), more && field.Present(f):
			from = f
		}
		if field.Present(from) {
			field.SetText(out, field.Text(from)) // what a record holds, it takes
		}
	}
	h := logbook.HeadOf(out)
	h.ID, h.Note, h.Rev, h.Removed = head.ID, head.Note, max(head.Rev, 1)+1, false
	if logbook.Validate(out) != nil {
		return k
	}
	return out
}
