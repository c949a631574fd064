package trace

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
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

// notes is a log of a few records.
type notes []logbook.Record

func (n notes) Each(fn func(logbook.Record) error) error {
	for _, r := range n {
		if err := fn(r); err != nil {
			return err
		}
	}
	return nil
}

func (n notes) Record(k logbook.Kind, id string) (logbook.Record, error) {
	for _, r := range n {
		if r.Kind() == k && logbook.HeadOf(r).ID == id {
			return r, nil
		}
	}
	return nil, errors.New("no such record")
}

// reconciled brings a trace together with a log.
func reconciled(t *testing.T, r *whole, log []logbook.Record) (out []logbook.Record, warn []Warning) {
	t.Helper()
	warn, err := r.Reconcile(notes(log), func(rec logbook.Record) error { out = append(out, rec); return nil })
	if err != nil {
		t.Fatal(err)
	}
	return out, warn
}

// TestReconcile brings a trace together with what a rider wrote down.
func TestReconcile(t *testing.T) {
	text := plain.write(outing().rows)
	fresh := read(t, text).Records
	trace := func() *whole { return read(t, text) }

	out, warn := reconciled(t, trace(), nil)
	if len(out) != len(fresh) || len(warn) != 0 {
		t.Fatalf("an empty log: %d of %d records, warnings %v", len(out), len(fresh), warn)
	}
	if again, warn := reconciled(t, trace(), out); len(again) != 0 || len(warn) != 0 {
		t.Errorf("the same file again: %d records, warnings %v", len(again), warn)
	}

	// The rider noted the ride by its start, with what no trace knows.
	mine := newRide(testStart.Add(20 * time.Minute))
	mine.ID, mine.DistanceKm, mine.RiderKg, mine.Note = "ride-mine", logbook.Some(14.2), logbook.Some(81), "headwind home"
	noted(t, mine)
	out, warn = reconciled(t, trace(), []logbook.Record{mine})
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
	if again, _ := reconciled(t, trace(), append(out, mine)); len(again) != 0 {
		t.Errorf("after merging, the same file brings %d records", len(again))
	}

	// The rider's own meter stays.
	metered := newRide(testStart.Add(15 * time.Minute))
	metered.End, metered.DischargedAh, metered.Meter = testStart.Add(60*time.Minute), logbook.Some(5.3), "shunt"
	noted(t, metered)
	out, _ = reconciled(t, trace(), []logbook.Record{metered})
	for _, r := range out {
		if r, ok := r.(*logbook.Ride); ok && (r.DischargedAh.V != 5.3 || r.DischargedWh.OK || r.ErrorPct.OK || r.Meter != "shunt") {
			t.Errorf("the meters are mixed: %+v", r)
		}
	}

	// Two rides in the log where the trace has one: it is not counted thrice.
	a, b := newRide(testStart.Add(15*time.Minute)), newRide(testStart.Add(44*time.Minute))
	a.End, b.End = testStart.Add(39*time.Minute), testStart.Add(58*time.Minute)
	out, warn = reconciled(t, trace(), []logbook.Record{noted(t, a), noted(t, b)})
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
	if out, warn = reconciled(t, trace(), []logbook.Record{noted(t, day), noted(t, other), noted(t, gone)}); len(out) != len(fresh) || len(warn) != 0 {
		t.Errorf("%d of %d records, warnings %v", len(out), len(fresh), warn)
	}
}

// TestLongerTrace reads the first half of a ride, then all of it.
func TestLongerTrace(t *testing.T) {
	rows := outing().rows
	log, _ := reconciled(t, read(t, plain.write(rows[:2000])), nil)
	whole := read(t, plain.write(rows))
	out, warn := reconciled(t, whole, log)
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

// TestEveryMatchIsFound: the index finds what a look at every record finds.
func TestEveryMatchIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	moment := func() time.Time { return testStart.Add(time.Duration(rng.IntN(2000)) * time.Minute) }
	some := func(n int) []logbook.Record {
		var out []logbook.Record
		for k := range n {
			from, long := moment(), time.Duration(rng.IntN(3))*time.Duration(rng.IntN(90))*time.Minute
			switch rng.IntN(3) {
			case 0:
				r := newRide(from)
				if long > 0 {
					r.End = from.Add(long)
				}
				out = append(out, r)
			case 1:
				c := logbook.New(logbook.KindCharge).(*logbook.Charge)
				if c.Pack, c.At = "kite-10s4p", from; long > 0 {
					c.Start = from.Add(-long)
				}
				out = append(out, c)
			default:
				c := logbook.New(logbook.KindCheck).(*logbook.Check)
				if c.Pack, c.At = "kite-10s4p", from.Truncate(time.Hour); long > 0 {
					c.ResistanceMohm = logbook.Some(50)
				}
				out = append(out, c)
			}
			logbook.HeadOf(out[k]).ID = fmt.Sprintf("r%d", k)
		}
		return out
	}
	found := 0
	for range 30 {
		log := some(200)
		x, err := indexLog(notes(log), "kite-10s4p", testStart, testStart.Add(2000*time.Minute))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range some(100) {
			m := markOf(f)
			var got, want []string
			for _, k := range x.matches(&m) {
				got = append(got, k.id)
			}
			for _, r := range log {
				if k := markOf(r); k.kind == m.kind && overlaps(&m, &k) {
					want = append(want, k.id)
				}
			}
			slices.Sort(got)
			slices.Sort(want)
			if found += len(want); !slices.Equal(got, want) {
				t.Fatalf("%+v: found %v, want %v", m, got, want)
			}
		}
	}
	if found < 1000 {
		t.Errorf("only %d matches: the test says little", found)
	}
}

// TestManyRemarks: where very many rides are merged, the first are named and
// the others counted.
func TestManyRemarks(t *testing.T) {
	const rides = 60
	r, err := readAll(&outings{left: rides}, Options{Pack: testPack(), Start: testStart})
	if err != nil {
		t.Fatal(err)
	}
	var log []logbook.Record
	for k := range rides {
		n := newRide(testStart.Add(time.Duration(k) * 40 * time.Minute))
		n.ID = fmt.Sprintf("noted-%d", k)
		log = append(log, n)
	}
	out, warn := reconciled(t, r, log)
	merged := 0
	for _, rec := range out {
		if logbook.HeadOf(rec).Rev == 2 {
			merged++
		}
	}
	last := warn[len(warn)-1]
	if merged != rides || len(warn) != mostRemarks+1 || last.Code != "merged" || !strings.Contains(last.Text, "20 further records merged") {
		t.Errorf("%d merged, %d warnings, the last %v", merged, len(warn), last)
	}
}
