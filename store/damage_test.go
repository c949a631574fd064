package store

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// sample builds a small store that has been through everything.
func sample(t testing.TB, path string) {
	t.Helper()
	s := open(t, path, ReadWrite)
	defer s.Close()
	mustImport(t, s, entries(fleet(3, 150)...))
	for i := range 12 {
		id := fmt.Sprintf("ride-%d", i*9)
		r := clone(t, must(s.Get(logbook.KindRide, id))(t).(*logbook.Ride))
		r.DistanceKm, r.Board = logbook.Some(float64(i)), fmt.Sprintf("board-%d", i%3)
		must(s.Put(r, 1, "misread", noon))(t)
	}
	for i := range 5 {
		if err := s.Remove(logbook.KindRide, fmt.Sprintf("ride-%d", i*7), 0, "", noon); err != nil {
			t.Fatal(err)
		}
	}
	must(s.Put(&logbook.Charge{Head: logbook.Head{Note: strings.Repeat("A long note. ", 300)}, Pack: "pack-2", At: noon}, 0, "", noon))(t)
	must(s.Undo(noon))(t)
	must(s.Redo(noon))(t)
	if err := s.PutSetting("columns", strings.Repeat("time,volts;", 40)); err != nil {
		t.Fatal(err)
	}
}

// answers is all that can be asked of a store, each with its answer; an error
// stands for the answer where there was one.
func answers(s *Store) map[string]any {
	out := map[string]any{}
	keep := func(name string, v any, err error) {
		if err != nil {
			v = err
			s.broken = nil // what one question met must not silence the next
		}
		out[name] = v
	}
	for p := range 4 {
		name := fmt.Sprintf("pack-%d", p)
		list, err := s.PackRecords(name)
		keep("history of "+name, texts(list), err)
	}
	for _, i := range []int{0, 7, 9, 33, 149, 150} {
		id := fmt.Sprintf("ride-%d", i)
		list, err := s.Revisions(logbook.KindRide, id)
		keep("revisions of "+id, texts(list), err)
		list, err = s.Find(id)
		keep("find "+id, texts(list), err)
	}
	packs, err := s.Packs()
	keep("packs", len(packs), err)
	boards, err := s.Boards()
	keep("boards", len(boards), err)
	actions, err := s.Actions(0)
	keep("actions", fmt.Sprint(actions), err)
	settings, err := s.Settings()
	keep("settings", fmt.Sprint(settings), err)
	value, ok, err := s.Setting("columns")
	keep("columns", fmt.Sprint(value, ok), err)
	_, ok, err = s.Setting("colour")
	keep("colour", ok, err)
	for _, history := range []bool{false, true} {
		var b bytes.Buffer
		var failed error
		for r, err := range s.All(history) {
			if failed = err; err == nil {
				b.Write(logbook.AppendJSON(nil, r))
			}
		}
		keep(fmt.Sprint("all ", history), b.String(), failed)
	}
	report, err := s.Verify()
	keep("verify", fmt.Sprint(report.Records, report.Removed, report.Revisions, report.Actions, report.Settings), err)
	return out
}

func texts(list []logbook.Record) string {
	var b []byte
	for _, r := range list {
		b = append(logbook.AppendJSON(b, r), '\n')
	}
	return string(b)
}

// honest checks that each answer is the true one or tells of the damage. It
// returns whether any does.
func honest(t *testing.T, what string, got, truth map[string]any) (told bool) {
	t.Helper()
	for name, want := range truth {
		err, failed := got[name].(error)
		wantErr, shouldFail := want.(error)
		switch {
		case failed && isDamage(err):
			told = true
		case failed && shouldFail && strings.ReplaceAll(err.Error(), "\n", "") == wantErr.Error():
		case failed || shouldFail || !reflect.DeepEqual(got[name], want):
			t.Errorf("%s: %s gives %.200v, want %.200v", what, name, got[name], want)
		}
	}
	return told
}

// isDamage says whether the error tells of damage in one clear line.
func isDamage(err error) bool {
	return (errors.Is(err, ErrCorrupt) && strings.Contains(err.Error(), "packwane salvage") || errors.Is(err, ErrNotStore)) &&
		!strings.Contains(err.Error(), "\n") && !strings.Contains(err.Error(), "goroutine") && len(err.Error()) < 600
}

// probe asks a damaged file everything, then writes to it and asks again.
func probe(t *testing.T, what, path string, truth, later map[string]any) (told bool) {
	t.Helper()
	s, err := Open(path, ReadOnly)
	if err != nil {
		if !isDamage(err) {
			t.Errorf("%s: open: %v", what, err)
		}
		return true
	}
	told = honest(t, what, answers(s), truth)
	s.Close()
	w, err := Open(path, ReadWrite)
	if err == nil {
		_, err = w.Put(ride("later", "pack-1", "", 1, noon, 6), 0, "", noon)
		w.Close()
	}
	if err != nil {
		if !isDamage(err) {
			t.Errorf("%s: write: %v", what, err)
		}
		return true
	}
	if s, err = Open(path, ReadOnly); err != nil {
		if !isDamage(err) {
			t.Errorf("%s: open again: %v", what, err)
		}
		return true
	}
	defer s.Close()
	return honest(t, what+", after a write", answers(s), later) || told
}

// truths asks the whole file, as it is and after the write that probe makes.
func truths(t *testing.T, path string) (truth, later map[string]any) {
	t.Helper()
	s := open(t, path, ReadOnly)
	truth = answers(s)
	s.Close()
	for name, v := range truth {
		if err, ok := v.(error); ok && !errors.Is(err, ErrNotFound) {
			t.Fatalf("%s of the whole store: %v", name, err)
		}
	}
	other := path + "-later"
	if err := copyFile(path, other); err != nil {
		t.Fatal(err)
	}
	s = open(t, other, ReadWrite)
	must(s.Put(ride("later", "pack-1", "", 1, noon, 6), 0, "", noon))(t)
	s.Close()
	s = open(t, other, ReadOnly)
	later = answers(s)
	s.Close()
	if maps.Equal(truth, later) {
		t.Fatal("a write changes no answer")
	}
	return truth, later
}

// wholeSample is a small store in a file of its own, its bytes, and its truths.
func wholeSample(t *testing.T) (path string, whole []byte, truth, later map[string]any) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "whole")
	sample(t, path)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	truth, later = truths(t, path)
	return path, whole, truth, later
}

// livePages lists the pages that hold something.
func livePages(t testing.TB, path string) []int {
	t.Helper()
	s := open(t, path, ReadOnly)
	defer s.Close()
	h, err := readHeaders(s.file, path)
	if err != nil {
		t.Fatal(err)
	}
	w := newWalker(s.file, h)
	if err := w.root(h.root); err != nil {
		t.Fatal(err)
	}
	if h.pageSize != 4096 {
		t.Skip("written for pages of 4096 bytes")
	}
	list := []int{0, 1, int(h.freelist)}
	for p := range h.high {
		if w.has(w.seen, p) {
			list = append(list, int(p))
		}
		if w.has(w.leaf, p) {
			head, err := w.head(p)
			if err != nil {
				t.Fatal(err)
			}
			for i := range int(head.overflow) {
				list = append(list, int(p)+1+i)
			}
		}
	}
	return list
}

// A file with one bit changed gives true answers or tells of the damage.
func TestBitFlips(t *testing.T) {
	t.Parallel()
	path, whole, truth, later := wholeSample(t)
	revisions, most := stored(t, path), 0
	flipped := filepath.Join(memoryDir(t), "flipped")
	live := livePages(t, path)
	forks := branchBytes(whole, live)
	rng := rand.New(rand.NewPCG(7, 7))
	n, told := rounds(40, 200), 0
	for i := range n {
		at := rng.IntN(len(whole) * 8)
		if i%8 > 0 { // most where it matters
			at = (live[rng.IntN(len(live))]*4096 + rng.IntN(4096)) * 8
		}
		switch i % 8 {
		case 1: // some in the heads of pages
			at = live[rng.IntN(len(live))]*4096*8 + rng.IntN(48*8)
		case 2, 3: // some in what leads to other pages
			at = forks[rng.IntN(len(forks))]*8 + rng.IntN(8)
		}
		b := bytes.Clone(whole)
		b[at/8] ^= 1 << (at % 8)
		if err := os.WriteFile(flipped, b, 0o600); err != nil {
			t.Fatal(err)
		}
		what := fmt.Sprintf("bit %d of byte %d", at%8, at/8)
		lost := len(revisions) - salvageDamaged(t, what, flipped, revisions)
		if most = max(most, lost); lost > 1 && at/8 >= 2*4096 {
			t.Errorf("%s: %d of %d revisions lost", what, lost, len(revisions))
		}
		if probe(t, what, flipped, truth, later) {
			told++
		}
	}
	t.Logf("%d bytes; %d of %d flips told of, the others in bytes that say nothing; salvaging lost %d of %d revisions at most", len(whole), told, n, most, len(revisions))
}

// A file cut short, or with a part overwritten, gives true answers or tells of
// the damage.
func TestTruncations(t *testing.T) {
	t.Parallel()
	path, whole, truth, later := wholeSample(t)
	revisions, kept := stored(t, path), 0
	cut := filepath.Join(memoryDir(t), "cut")
	rng := rand.New(rand.NewPCG(8, 8))
	n, told := rounds(40, 200), 0
	for i := range n {
		b := bytes.Clone(whole)
		at := rng.IntN(len(b))
		what := fmt.Sprintf("cut at %d", at)
		switch i % 4 {
		case 0, 1:
			b = b[:at]
		case 2:
			what = fmt.Sprintf("zeroed from %d", at)
			clear(b[at:min(len(b), at+1+rng.IntN(5000))])
		case 3: // one page in the place of another, as a disk may do
			from, to := rng.IntN(len(b)/4096), at/4096
			what = fmt.Sprintf("page %d in place of %d", from, to)
			copy(b[to*4096:(to+1)*4096], whole[from*4096:])
		}
		if err := os.WriteFile(cut, b, 0o600); err != nil {
			t.Fatal(err)
		}
		kept += salvageDamaged(t, what, cut, revisions)
		if probe(t, what, cut, truth, later) {
			told++
		}
	}
	t.Logf("told of %d of %d; salvaging kept %d %% of the revisions", told, n, 100*kept/(n*len(revisions)))
}

// A file that another program cuts short while it is open is told of as such,
// by whatever reads it next.
func TestCutShortWhileOpen(t *testing.T) {
	whole := filepath.Join(t.TempDir(), "whole")
	s := open(t, whole, ReadWrite)
	mustImport(t, s, entries(fleet(1, 3000)...))
	s.Close()
	for name, read := range map[string]func(*Store) error{
		"a pack":   func(s *Store) error { return second(s.PackRecords("pack-0")) },
		"a record": func(s *Store) error { return second(s.Get(logbook.KindRide, "ride-2999")) },
		"all": func(s *Store) error {
			for _, err := range s.All(true) {
				if err != nil {
					return err
				}
			}
			return nil
		},
		"verify": func(s *Store) error { return second(s.Verify()) },
		"put":    func(s *Store) error { return second(s.Put(ride("", "pack-0", "", 1, noon, 5), 0, "", noon)) },
		"import": func(s *Store) error { return importInto(s, fleet(1, 3001)) },
		"backup": func(s *Store) error { return second(s.Backup(s.path+".backup", false)) },
	} {
		path := filepath.Join(t.TempDir(), "cut")
		if err := copyFile(whole, path); err != nil {
			t.Fatal(err)
		}
		s := open(t, path, ReadWrite)
		if err := os.Truncate(path, 3*4096); err != nil {
			t.Fatal(err)
		}
		err := read(s)
		wantErr(t, err, ErrCorrupt, "cut short", "salvage")
		if err := s.Close(); err != nil {
			t.Errorf("%s: closing: %v", name, err)
		}
	}
}
