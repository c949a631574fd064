package logbook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// randomHistory is an invented log of n rides and charges, crowded so that
// many meet, with some that take no time and some that begin together.
func randomHistory(t testing.TB, n int, seed uint64) *History {
	rng := rand.New(rand.NewPCG(seed, 1))
	day := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	all := []Record{&Pack{Head: Head{ID: "reed-a", Rev: 1}, Board: "reed", Series: Some(10)}, &Board{Head: Head{ID: "reed", Rev: 1}}}
	minutes := func(most int) time.Duration { return time.Duration(rng.IntN(most)) * time.Minute }
	for i := range n {
		head := Head{ID: fmt.Sprint("x", i), Rev: 1}
		at := day.Add(minutes(20 * n))
		if rng.IntN(3) == 0 {
			all = append(all, &Charge{Head: head, Pack: "reed-a", Start: at, At: at.Add(minutes(30))})
			continue
		}
		all = append(all, &Ride{Head: head, Pack: "reed-a", At: at, End: at.Add(minutes(9)), DistanceKm: Some(float64(1 + rng.IntN(9))),
			DischargedWh: Some(float64(rng.IntN(90))), RiderKg: Num{float64(60 + rng.IntN(30)), rng.IntN(4) > 0}, Rider: fmt.Sprint(rng.IntN(2)),
			OdometerKm: Num{float64(i), rng.IntN(3) > 0}, TyreKpa: Num{float64(200 + rng.IntN(50)), rng.IntN(2) > 0}})
	}
	h, err := NewHistory("reed-a", all, day.AddDate(1, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// meets says in plain words when two spans of time meet; what spans.meeting
// finds is held against it.
func meets(r Record, start, end time.Time, o span) bool {
	if o.same(r) {
		return false
	}
	shared := minTime(end, o.to).Sub(maxTime(start, o.from))
	inside := shared == 0 && start.Before(o.to) && o.from.Before(end) // a point of time within the other
	return shared > slipTouch || start.Equal(o.from) && o.r.Kind() == r.Kind() || inside
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func TestOverlapsAreThoseOfAllPairs(t *testing.T) {
	found := 0
	for seed := range uint64(40) {
		h := randomHistory(t, 60, seed)
		s := newPast(h).spans
		for _, x := range s.all {
			got, ok := s.meeting(x.r, x.from, x.to)
			i := slices.IndexFunc(s.all, func(o span) bool { return meets(x.r, x.from, x.to, o) })
			if ok != (i >= 0) || ok && got.r != s.all[i].r {
				t.Fatalf("seed %d: %v meets %v, want number %d", seed, x, got, i)
			}
			if ok {
				found++
			}
		}
	}
	if found < 100 {
		t.Errorf("only %d met: the test says little", found)
	}
}

func TestUsualFiguresLeaveTheRecordOut(t *testing.T) {
	h := randomHistory(t, 101, 7)
	p := newPast(h)
	for _, r := range h.Rides {
		var kg []float64
		var before, after *Ride
		for _, o := range h.Rides {
			if o == r {
				continue
			}
			if o.RiderKg.OK && o.Rider == r.Rider {
				kg = append(kg, o.RiderKg.V)
			}
			if o.OdometerKm.OK && !o.At.After(r.At) && (before == nil || o.At.After(before.At)) {
				before = o
			}
			if o.OdometerKm.OK && o.At.After(r.At) && after == nil {
				after = o
			}
		}
		slices.Sort(kg)
		n, median := p.riders[r.Rider].without(r.ID)
		if want := (kg[(len(kg)-1)/2] + kg[len(kg)/2]) / 2; n != len(kg) || median != want {
			t.Fatalf("%s: %d figures around %g, want %d around %g", r.ID, n, median, len(kg), want)
		}
		if b, a := p.neighbours("reed", r); b != before || a != after {
			t.Fatalf("%s: between %v and %v, want %v and %v", r.ID, b, a, before, after)
		}
	}
}

// TestJudgingIsNotQuadratic counts what is looked at, and what is allocated,
// while a whole log is judged: for each record no more than a few ways down a
// tree, however long the log.
func TestJudgingIsNotQuadratic(t *testing.T) {
	for _, n := range []int{500, 8000} {
		h := randomHistory(t, n, 3)
		j := NewJudge(h, h.AsOf)
		records := h.Records()
		allocs := testing.AllocsPerRun(1, func() {
			for _, r := range records {
				j.Slips(r)
			}
		}) / float64(len(records))
		probes := float64(j.past.probes) / 2 / float64(len(records)) // AllocsPerRun runs it twice
		if most := 8 * math.Log2(float64(n)); probes > most {
			t.Errorf("%d records: %.0f entries looked at for each, want at most %.0f", n, probes, most)
		}
		if allocs > 40 {
			t.Errorf("%d records: %.1f allocations for each", n, allocs)
		}
	}
}

// BenchmarkJudge judges every record of a log. The cost of one must stay the
// same.
func BenchmarkJudge(b *testing.B) {
	for _, n := range []int{600, 6000, 60_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			h := randomHistory(b, n, 3)
			records := h.Records()
			for b.Loop() {
				j := NewJudge(h, h.AsOf)
				for _, r := range records {
					j.Slips(r)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(records)), "ns/record")
		})
	}
}
