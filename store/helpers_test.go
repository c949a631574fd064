package store

import (
	"bytes"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

// All records in these tests are invented.

var noon = time.Date(2025, 4, 12, 12, 0, 0, 0, time.UTC)

// set changes a variable of the package for one test.
func set[T any](t testing.TB, p *T, v T) {
	old := *p
	*p = v
	t.Cleanup(func() { *p = old })
}

// newPath names a store in a folder of its own. When the test ends the store
// is checked, by Verify and by bbolt, and nothing may be left beside it.
func newPath(t testing.TB) string {
	path := filepath.Join(t.TempDir(), "log.packwane")
	t.Cleanup(func() { check(t, path) })
	return path
}

func check(t testing.TB, path string) {
	t.Helper()
	if _, err := os.Stat(path); err == nil {
		s := open(t, path, ReadOnly)
		if _, err := s.Verify(); err != nil {
			t.Errorf("verify: %v", err)
		}
		s.db.View(func(tx *bbolt.Tx) error {
			for err := range tx.Check() {
				t.Errorf("bbolt: %v", err)
			}
			return nil
		})
		s.Close()
	}
	for _, name := range beside(t, path) {
		if strings.Contains(name, freshMark) || strings.HasSuffix(name, ".tmp") {
			t.Errorf("%s was left behind", name)
		}
	}
}

// beside lists the folder of a store.
func beside(t testing.TB, path string) []string {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func open(t testing.TB, path string, mode Mode) *Store {
	t.Helper()
	s, err := Open(path, mode)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// entries gives records the lines 1, 2, 3 of a file.
func entries(records ...logbook.Record) iter.Seq2[logbook.Entry, error] {
	return func(yield func(logbook.Entry, error) bool) {
		for i, r := range records {
			if !yield(logbook.Entry{Record: r, At: logbook.Position{File: "in.jsonl", Line: i + 1}}, nil) {
				return
			}
		}
	}
}

// lines reads JSON Lines.
func lines(text string) iter.Seq2[logbook.Entry, error] {
	return logbook.Read(strings.NewReader(text), "in.jsonl")
}

func mustImport(t testing.TB, s *Store, in iter.Seq2[logbook.Entry, error]) Summary {
	t.Helper()
	sum, err := s.Import(in, "test", noon)
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// counts adds a summary up over the kinds.
func counts(sum Summary) [3]int {
	var n [3]int
	for i, m := range []map[logbook.Kind]int{sum.Added, sum.Changed, sum.Unchanged} {
		for _, c := range m {
			n[i] += c
		}
	}
	return n
}

// export lists all records as JSON Lines.
func export(t testing.TB, s *Store, history bool) string {
	t.Helper()
	var b bytes.Buffer
	w := logbook.NewJSONWriter(&b)
	for r, err := range s.All(history) {
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(r); err != nil {
			t.Fatal(err)
		}
	}
	w.Close()
	return b.String()
}

func wantErr(t testing.TB, err, is error, parts ...string) {
	t.Helper()
	if err == nil || is != nil && !errors.Is(err, is) {
		t.Fatalf("error %v, want one that is %v", err, is)
	}
	for _, part := range parts {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("error %q does not say %q", err, part)
		}
	}
	if strings.ContainsAny(err.Error(), "\n\r") {
		t.Errorf("error %q is longer than a line", err)
	}
}

func head(id string, rev int) logbook.Head { return logbook.Head{ID: id, Rev: rev} }

func ride(id, pack, board string, rev int, at time.Time, km float64) *logbook.Ride {
	return &logbook.Ride{Head: head(id, rev), Pack: pack, Board: board, At: at, DistanceKm: logbook.Some(km)}
}

// fleet invents packs and boards with rides and charges.
func fleet(packs, rides int) []logbook.Record {
	var all []logbook.Record
	for p := range packs {
		all = append(all,
			&logbook.Board{Head: head(fmt.Sprintf("board-%d", p), 1), Name: "Plank", MassKg: logbook.Some(9.5)},
			&logbook.Pack{Head: head(fmt.Sprintf("pack-%d", p), 1), Board: fmt.Sprintf("board-%d", p), Series: logbook.Some(10), Parallel: logbook.Some(3)},
			&logbook.Service{Head: head(fmt.Sprintf("service-%d", p), 1), Board: fmt.Sprintf("board-%d", p), At: noon, What: "inspection"})
	}
	for i := range rides {
		p := i % packs
		at := noon.Add(time.Duration(i) * 7 * time.Hour)
		all = append(all, &logbook.Ride{
			Head: logbook.Head{ID: fmt.Sprintf("ride-%d", i), Rev: 1, Note: "along the canal and home again"}, Pack: fmt.Sprintf("pack-%d", p), At: at,
			DistanceKm: logbook.Some(float64(40+i%170) / 10), MovingSpeedKmh: logbook.Some(19.5 + float64(i%9)/4),
			StartRestV: logbook.Some(41.8), EndRestV: logbook.Some(36.2), DischargedAh: logbook.Some(3 + float64(i%70)/16), DischargedWh: logbook.Some(118 + float64(i%200)),
			AmbientC: logbook.Some(float64(i % 30)), RiderKg: logbook.Some(77),
		})
	}
	return all
}

// clone copies records, so that a test can change them.
func clone[R logbook.Record](t testing.TB, r R) R {
	t.Helper()
	c, err := logbook.ParseJSON(logbook.AppendJSON(nil, r))
	if err != nil {
		t.Fatal(err)
	}
	return c.(R)
}

func ids(records []logbook.Record) []string {
	var out []string
	for _, r := range records {
		out = append(out, logbook.HeadOf(r).ID)
	}
	return out
}

func sameIDs(t testing.TB, got []logbook.Record, want ...string) {
	t.Helper()
	if g := ids(got); !slices.Equal(g, want) {
		t.Errorf("got %v, want %v", g, want)
	}
}

// backup backs the store at path up, as a command does.
func backup(path, to string, force bool) (Report, error) {
	s, err := Open(path, ReadOnly)
	if err != nil {
		return Report{}, err
	}
	defer s.Close()
	return s.Backup(to, force)
}

func second[T any](_ T, err error) error { return err }

// memoryDir is a temporary folder in memory where there is one: thousands of
// files that are synced wear a disk and take their time.
func memoryDir(t testing.TB) string {
	dir, err := os.MkdirTemp("/dev/shm", "packwane-test-*")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}
