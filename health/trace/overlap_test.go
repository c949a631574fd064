package trace

import (
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

func noted[T logbook.Record](t *testing.T, r T) T {
	t.Helper()
	if err := logbook.Validate(r); err != nil {
		t.Fatal(err)
	}
	h := logbook.HeadOf(r)
	if h.ID == "" {
		h.ID = logbook.MakeID(r)
	}
	return r
}

func newRide(at time.Time) *logbook.Ride {
	r := logbook.New(logbook.KindRide).(*logbook.Ride)
	r.Pack, r.At = "kite-10s4p", at
	return r
}

// TestReconcile brings a trace together with what a rider wrote down.
func TestReconcile(t *testing.T) {
	text := plain.write(outing().rows)
	fresh := read(t, text).Records
	trace := func() []logbook.Record { return read(t, text).Records }

	out, warn := Reconcile(fresh, nil)
	if len(out) != len(fresh) || len(warn) != 0 {
		t.Fatalf("an empty log: %d of %d records, warnings %v", len(out), len(fresh), warn)
	}
	if again, warn := Reconcile(trace(), out); len(again) != 0 || len(warn) != 0 {
		t.Errorf("the same file again: %d records, warnings %v", len(again), warn)
	}

	// The rider noted the ride by its start, with what no trace knows.
	mine := newRide(testStart.Add(20 * time.Minute))
	mine.ID, mine.DistanceKm, mine.RiderKg, mine.Note = "ride-mine", logbook.Some(14.2), logbook.Some(81), "headwind home"
	noted(t, mine)
	out, warn = Reconcile(trace(), []logbook.Record{mine})
	if len(warn) != 1 || warn[0].Code != "merged" || !strings.Contains(warn[0].Text, "ride-mine") {
		t.Fatalf("warnings %v, want the merging", warn)
	}
	var merged *logbook.Ride
	for _, r := range out {
		if r, ok := r.(*logbook.Ride); ok {
			merged = r
		}
	}
	if merged == nil || merged.ID != "ride-mine" || merged.Rev != 2 || merged.Note != mine.Note || merged.DistanceKm != mine.DistanceKm || !merged.At.Equal(mine.At) || !merged.DischargedAh.OK || !merged.ErrorPct.OK {
		t.Fatalf("merged into %+v", merged)
	}
	if mine.DischargedAh.OK || mine.Rev != 1 {
		t.Error("the rider's record itself was changed")
	}
	if again, _ := Reconcile(trace(), append(out, mine)); len(again) != 0 {
		t.Errorf("after merging, the same file brings %d records", len(again))
	}

	// The rider's own meter stays.
	metered := newRide(testStart.Add(15 * time.Minute))
	metered.End, metered.DischargedAh, metered.Meter = testStart.Add(60*time.Minute), logbook.Some(5.3), "shunt"
	noted(t, metered)
	out, _ = Reconcile(trace(), []logbook.Record{metered})
	for _, r := range out {
		if r, ok := r.(*logbook.Ride); ok && (r.DischargedAh.V != 5.3 || r.DischargedWh.OK || r.ErrorPct.OK || r.Meter != "shunt") {
			t.Errorf("the meters are mixed: %+v", r)
		}
	}

	// Two rides in the log where the trace has one: it is not counted thrice.
	a, b := newRide(testStart.Add(15*time.Minute)), newRide(testStart.Add(44*time.Minute))
	a.End, b.End = testStart.Add(39*time.Minute), testStart.Add(58*time.Minute)
	out, warn = Reconcile(trace(), []logbook.Record{noted(t, a), noted(t, b)})
	for _, r := range out {
		if r.Kind() == logbook.KindRide {
			t.Errorf("a ride on top of two: %+v", r)
		}
	}
	if len(warn) != 1 || warn[0].Code != "overlap" {
		t.Errorf("warnings %v, want the overlap", warn)
	}

	// Another day, another pack, a removed record: nothing to do with it.
	day, other, gone := newRide(testStart.Add(30*time.Hour)), newRide(testStart.Add(20*time.Minute)), newRide(testStart.Add(20*time.Minute))
	other.Pack = "another"
	gone.Removed, gone.Rev = true, 2
	if out, warn = Reconcile(trace(), []logbook.Record{noted(t, day), noted(t, other), noted(t, gone)}); len(out) != len(fresh) || len(warn) != 0 {
		t.Errorf("%d of %d records, warnings %v", len(out), len(fresh), warn)
	}
}

// TestLongerTrace reads the first half of a ride, then all of it.
func TestLongerTrace(t *testing.T) {
	rows := outing().rows
	half := read(t, plain.write(rows[:2000])).Records
	log, _ := Reconcile(half, nil)
	whole := read(t, plain.write(rows))
	out, warn := Reconcile(whole.Records, log)
	rides := 0
	for _, r := range out {
		if r, ok := r.(*logbook.Ride); ok {
			rides++
			near(t, "discharged_ah", r.DischargedAh.V, recordsOf[*logbook.Ride](whole)[0].DischargedAh.V, 1e-9)
			if r.ID != logbook.HeadOf(log[0]).ID || r.Rev != 2 {
				t.Errorf("%s rev %d, want the next revision of %s", r.ID, r.Rev, logbook.HeadOf(log[0]).ID)
			}
		}
	}
	if rides != 1 || len(warn) != 1 {
		t.Errorf("%d rides, warnings %v", rides, warn)
	}
}
