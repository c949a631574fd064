package store

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"packwane/health/logbook"
)

// listed runs a query and returns the ids in the order in which they came.
func listed(t *testing.T, s *Store, q Query) (ids []string, total int) {
	t.Helper()
	total, err := s.List(q, func(r logbook.Record) error {
		ids = append(ids, logbook.HeadOf(r).ID)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return ids, total
}

// TestListIsAPartOfAll holds queries against the plain way: all records, sorted,
// filtered and cut.
func TestListIsAPartOfAll(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	defer s.Close()
	list := []logbook.Record{&logbook.Board{Head: head("plank", 1)}, &logbook.Pack{Head: head("moss", 1), Board: "plank"}, &logbook.Pack{Head: head("fern", 1)}}
	for i := range 60 {
		list = append(list, benchRide(i*7%60, []string{"moss", "fern"}[i%2]))
	}
	mustImport(t, s, entries(list...))
	for _, i := range []int{3, 30, 31} {
		gone := benchRide(i, []string{"moss", "fern"}[i*43%60%2]) // 43 undoes 7 modulo 60
		gone.Rev, gone.Removed = 2, true
		mustImport(t, s, entries(gone))
	}
	all := func(q Query) (ids []string, total int) {
		var kept []logbook.Record
		for r, err := range s.All(true) {
			if err != nil {
				t.Fatal(err)
			}
			current, err := s.Get(r.Kind(), logbook.HeadOf(r).ID)
			if err != nil {
				t.Fatal(err)
			}
			if logbook.HeadOf(current).Rev != logbook.HeadOf(r).Rev || logbook.HeadOf(r).Removed != q.Removed {
				continue
			}
			at := logbook.AtOf(r)
			if q.Pack != "" && logbook.PackOf(r) != q.Pack || len(q.Kinds) > 0 && !slices.Contains(q.Kinds, r.Kind()) ||
				at.Before(q.From) || !q.Until.IsZero() && (at.IsZero() || at.After(q.Until)) || q.Want != nil && !q.Want(r) {
				continue
			}
			kept = append(kept, r)
		}
		slices.SortFunc(kept, logbook.Compare)
		total = len(kept)
		if q.Limit > 0 {
			kept = kept[:max(0, len(kept)-q.Offset)]
			kept = kept[max(0, len(kept)-q.Limit):]
		}
		for _, r := range kept {
			ids = append(ids, logbook.HeadOf(r).ID)
		}
		return ids, total
	}
	long := func(r logbook.Record) bool {
		ride, ok := r.(*logbook.Ride)
		return ok && ride.DistanceKm.V > 2
	}
	for i, q := range []Query{
		{}, {Pack: "moss"}, {Pack: "no such pack"}, {Kinds: []logbook.Kind{logbook.KindPack}}, {Kinds: []logbook.Kind{logbook.KindRide, logbook.KindBoard}},
		{From: noon.Add(20 * time.Minute)}, {Until: noon.Add(20 * time.Minute)}, {From: noon.Add(9 * time.Minute), Until: noon.Add(11 * time.Minute), Pack: "fern"},
		{Limit: 7}, {Limit: 7, Offset: 7}, {Limit: 7, Offset: 1000}, {Limit: 1000, Offset: 3}, {Limit: 1, Offset: 1 << 62}, {Limit: 1 << 62},
		{Removed: true}, {Removed: true, Pack: "moss"}, {Removed: true, Limit: 1}, {Want: long}, {Want: long, Limit: 5, Pack: "moss"},
	} {
		got, n := listed(t, s, q)
		want, total := all(q)
		if !slices.Equal(got, want) || n != total {
			t.Errorf("query %d: %v, %d in all; want %v, %d", i, got, n, want, total)
		}
	}
}

func TestListEndsWithTheErrorOfItsReader(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	defer s.Close()
	mustImport(t, s, entries(&logbook.Pack{Head: head("moss", 1)}))
	full := errors.New("full")
	if _, err := s.List(Query{}, func(logbook.Record) error { return full }); !errors.Is(err, full) {
		t.Errorf("got %v, want the reader's own error", err)
	}
}

// TestAPageKeepsOnlyItself: what a page of a list holds in memory does not grow
// with the store.
func TestAPageKeepsOnlyItself(t *testing.T) {
	l := &latest{limit: 10, offset: 5}
	most := 0
	for i := range 10_000 {
		if err := l.add([]byte(fmt.Sprintf("%06d", i*7919%10_000)), nil); err != nil {
			t.Fatal(err)
		}
		most = max(most, len(l.list))
	}
	if most > 30 {
		t.Errorf("%d pairs were held, want at most twice the page and what is left out", most)
	}
}

// BenchmarkListPage gives the latest 50 records of 100,000.
func BenchmarkListPage(b *testing.B) {
	const n = 100_000
	path := b.TempDir() + "/log.packwane"
	benchImport(b, path, benchFile(b, n))
	s := open(b, path, ReadOnly)
	defer s.Close()
	for b.Loop() {
		if _, err := s.List(Query{Limit: 50}, func(logbook.Record) error { return nil }); err != nil {
			b.Fatal(err)
		}
	}
	perRecord(b, n)
}
