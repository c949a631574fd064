package trace

import (
	"fmt"
	"time"

	"packwane/health/logbook"
)

// How near in time two records must be to tell of the same charge or ride.
const (
	sameShare   = 0.5              // of the shorter one
	nearRide    = 15 * time.Minute // a ride that was noted by its start alone
	nearCharge  = 30 * time.Minute // a charge that was noted by its end alone
	sameCheck   = 2 * time.Second
	longerShare = 1.1 // a trace that saw so much more of it tells it better
)

// Reconcile brings the records of a trace together with those that the log has
// of the same pack already, so that nothing is counted twice:
//
//   - a record that the log has under its own id, whatever became of it there,
//     is left out;
//   - one that overlaps a single charge or ride of the log is merged into it:
//     what the log left blank is filled in, what it says stays, unless the
//     trace saw more of it. The merged record has the next revision;
//   - one that overlaps several records of the log, or shares one with another
//     of the trace, is left out, with a warning.
//
// What is returned can be imported as it is. known may hold records of other packs
// and kinds; removed ones count only by their id.
func Reconcile(fresh, known []logbook.Record) ([]logbook.Record, []Warning) {
	ids := map[string]bool{}
	for _, k := range known {
		ids[k.Kind().String()+" "+logbook.HeadOf(k).ID] = true
	}
	matches := make([][]int, len(fresh))
	claims := map[int]int{}
	for n, f := range fresh {
		if ids[f.Kind().String()+" "+logbook.HeadOf(f).ID] {
			continue
		}
		for i, k := range known {
			if overlaps(f, k) {
				matches[n] = append(matches[n], i)
				claims[i]++
			}
		}
	}
	var out []logbook.Record
	var warn []Warning
	for n, f := range fresh {
		switch m := matches[n]; {
		case len(m) == 0:
			if !ids[f.Kind().String()+" "+logbook.HeadOf(f).ID] {
				out = append(out, f)
			}
		case f.Kind() == logbook.KindCheck:
		case len(m) > 1 || claims[m[0]] > 1:
			id := logbook.HeadOf(known[m[0]]).ID
			warn = append(warn, Warning{"overlap", fmt.Sprintf("the %s from %s overlaps %s in the log that cannot be told apart from it (%s): left out", f.Kind(), logbook.FormatTime(logbook.AtOf(f)), countOf(int64(len(m)), "record"), id)})
		default:
			k := known[m[0]]
			merged := merge(k, f)
			if string(logbook.Content(merged)) == string(logbook.Content(k)) {
				continue
			}
			out = append(out, merged)
			warn = append(warn, Warning{"merged", fmt.Sprintf("the %s from %s is %s in the log already: merged, not counted twice", f.Kind(), logbook.FormatTime(logbook.AtOf(f)), logbook.HeadOf(k).ID)})
		}
	}
	return out, warn
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

func overlaps(f, k logbook.Record) bool {
	if f.Kind() != k.Kind() || logbook.HeadOf(k).Removed || logbook.PackOf(f) != logbook.PackOf(k) {
		return false
	}
	f0, f1 := extent(f)
	k0, k1 := extent(k)
	switch f.Kind() {
	case logbook.KindCheck:
		return sameChecks(f.(*logbook.Check), k.(*logbook.Check))
	case logbook.KindRide:
		if k0.Equal(k1) {
			return !k0.Before(f0.Add(-nearRide)) && !k0.After(f1)
		}
	case logbook.KindCharge:
		if k0.Equal(k1) {
			return !k1.Before(f0) && !k1.After(f1.Add(nearCharge))
		}
	default:
		return false
	}
	common := earlier(f1, k1).Sub(later(f0, k0))
	return common > 0 && common.Seconds() >= sameShare*min(f1.Sub(f0).Seconds(), k1.Sub(k0).Seconds())
}

// sameChecks reports whether two checks are one measurement.
func sameChecks(a, b *logbook.Check) bool {
	return a.At.Sub(b.At).Abs() <= sameCheck && (a.ResistanceMohm.OK == b.ResistanceMohm.OK) && (len(a.GroupV) > 0) == (len(b.GroupV) > 0)
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
