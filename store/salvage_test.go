package store

import (
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// salvaged returns the lines that Salvage takes out of a file.
func salvaged(t testing.TB, path string) ([]string, Salvaged, error) {
	t.Helper()
	var lines []string
	out, err := Salvage(path, nil, func(r logbook.Record) error {
		lines = append(lines, string(logbook.AppendJSON(nil, r)))
		return nil
	})
	return lines, out, err
}

// stored returns every revision of a whole store, as lines.
func stored(t testing.TB, path string) map[string]bool {
	t.Helper()
	s := open(t, path, ReadOnly)
	defer s.Close()
	all := map[string]bool{}
	for line := range strings.Lines(export(t, s, true)) {
		all[strings.TrimSuffix(line, "\n")] = true
	}
	return all
}

// Out of a whole store comes all of it, in the order of an export.
func TestSalvageWhole(t *testing.T) {
	path := newPath(t)
	sample(t, path)
	s := open(t, path, ReadOnly)
	want := export(t, s, true)
	s.Close()
	set(t, &memoryLimit, 4<<10) // by way of temporary files
	list, out, err := salvaged(t, path)
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(list, "\n") + "\n"; got != want {
		t.Error("what was salvaged differs from an export")
	}
	if out.Lost != 0 || !out.Sure || out.Unsettled || out.BadPages+out.BadEntry+out.Removals+len(out.Missing)+len(out.Losses) > 0 || out.Revisions != len(list) || out.Records[logbook.KindPack] != 3 {
		t.Errorf("%+v", out)
	}
	again := filepath.Join(filepath.Dir(path), "again")
	s = open(t, again, ReadWrite)
	mustImport(t, s, lines(want))
	if got := export(t, s, true); got != want {
		t.Error("imported, it differs")
	}
}

// What is lost with one page is said record by record, and what is left goes
// into a new store.
func TestSalvageSaysWhatIsLost(t *testing.T) {
	path := newPath(t)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(1, 400)...))
	r := clone(t, must(s.Get(logbook.KindRide, "ride-7"))(t).(*logbook.Ride))
	r.DistanceKm = logbook.Some(99.0)
	must(s.Put(r, 1, "", noon))(t)
	if _, _, err := s.Compact(); err != nil { // so that no earlier copies of pages stand in for them
		t.Fatal(err)
	}
	s.Close()
	want := stored(t, path)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	hurt := filepath.Join(t.TempDir(), "hurt")
	seen := map[string]bool{}
	for _, p := range livePages(t, path) {
		b := []byte(string(whole))
		clear(b[p*4096 : (p+1)*4096])
		if err := os.WriteFile(hurt, b, 0o600); err != nil {
			t.Fatal(err)
		}
		lines, out, err := salvaged(t, hurt)
		if err != nil {
			t.Fatalf("page %d: %v", p, err)
		}
		honestSalvage(t, "page zeroed", lines, out, want)
		if len(lines) < len(want)-40 {
			t.Errorf("without page %d only %d of %d are left", p, len(lines), len(want))
		}
		words := strings.Join(out.Losses, "; ")
		for _, part := range []string{"ride ride-8: lost", "ride ride-7: the latest revision (2) is lost, so revision 1 stands for it", "ride ride-7: 1 earlier of 2 revisions lost"} {
			seen[part] = seen[part] || strings.Contains(words, part)
		}
	}
	for part, ok := range seen {
		if !ok {
			t.Errorf("no loss said %q", part)
		}
	}
}

// A change that was never finished is not salvaged, though its pages are there.
func TestSalvageLeavesOutTheUnfinished(t *testing.T) {
	path := newPath(t)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(1, 300)...))
	s.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want := stored(t, path)
	s = open(t, path, ReadWrite)
	must(s.Put(ride("never", "pack-0", "", 1, noon, 5), 0, "", noon))(t)
	s.Close()
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	copy(after[:2*4096], before[:2*4096]) // the heads are written last
	cut := filepath.Join(t.TempDir(), "cut")
	if err := os.WriteFile(cut, after, 0o600); err != nil {
		t.Fatal(err)
	}
	lines, out, err := salvaged(t, cut)
	if err != nil || len(lines) != len(want) || out.Lost != 0 || !out.Sure {
		t.Errorf("%d of %d, %+v, %v", len(lines), len(want), out, err)
	}
	for _, line := range lines {
		if !want[line] {
			t.Errorf("%s was never stored", line)
		}
	}
}

func TestSalvageRefuses(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "text")
	if err := os.WriteFile(text, []byte(strings.Repeat("record,id\n", 5000)), 0o600); err != nil {
		t.Fatal(err)
	}
	for path, is := range map[string]error{text: ErrNotStore, dir: ErrNotStore, filepath.Join(dir, "none"): ErrNoStore} {
		_, _, err := salvaged(t, path)
		wantErr(t, err, is, path)
	}
}

// honestSalvage checks that each line was stored, and once, that what is said
// to be lost is so, and that what is left can be imported.
func honestSalvage(t *testing.T, what string, lines []string, out Salvaged, want map[string]bool) {
	t.Helper()
	left := maps.Clone(want)
	for _, line := range lines {
		if !left[line] {
			t.Errorf("%s: %s was never stored, or comes twice", what, line)
		}
		delete(left, line)
	}
	if n := len(left) - out.Removals; out.Revisions != len(lines) || out.Lost > n || out.Sure && out.Lost != n {
		t.Errorf("%s: %d lost, and it says %+v", what, n, out)
	}
}

// salvageDamaged salvages a damaged file and returns how many revisions were
// found; it may say that nothing is left.
func salvageDamaged(t *testing.T, what, path string, want map[string]bool) int {
	t.Helper()
	lines, out, err := salvaged(t, path)
	if err != nil {
		if !errors.Is(err, ErrNotStore) || strings.ContainsAny(err.Error(), "\n") {
			t.Errorf("%s: %v", what, err)
		}
		return 0
	}
	honestSalvage(t, what, lines, out, want)
	return len(lines) + out.Removals
}
