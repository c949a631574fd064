package store

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// A restored backup is the store, and what stood there is kept beside it.
func TestRestore(t *testing.T) {
	path := newPath(t)
	dir := filepath.Dir(path)
	to := filepath.Join(dir, "backup")
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(2, 10)...))
	want := export(t, s, true)
	s.Close()
	must(backup(path, to, false))(t)
	s = open(t, path, ReadWrite)
	must(s.Put(ride("later", "pack-0", "", 1, noon, 6), 0, "", noon))(t)
	later := export(t, s, true)
	s.Close()

	r, kept, err := Restore(path, to, noon, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Path != path || r.Records[logbook.KindRide] != 10 || kept != path+".kept-2025-04-12T120000" {
		t.Errorf("%+v, kept as %s", r, kept)
	}
	s = open(t, path, ReadOnly)
	if got := export(t, s, true); got != want {
		t.Error("the restored store is not what was backed up")
	}
	s.Close()
	if got := export(t, open(t, kept, ReadOnly), true); got != later {
		t.Error("the store that was kept is not what it was")
	}
	// a second one in the same second keeps both
	if _, again, err := Restore(path, to, noon, nil); err != nil || again == kept {
		t.Errorf("kept as %s, %v", again, err)
	}
	// where there is no store, not even a folder
	fresh := filepath.Join(dir, "deep", "down", "log")
	if _, kept, err := Restore(fresh, to, noon, nil); err != nil || kept != "" {
		t.Errorf("kept %q, %v", kept, err)
	}
	check(t, fresh)
}

// What is no whole backup is refused, and the store is as it was.
func TestRestoreRefuses(t *testing.T) {
	set(t, &lockWait, lockWait/10)
	path := newPath(t)
	dir := filepath.Dir(path)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(2, 10)...))
	s.Close()
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) string {
		name = filepath.Join(dir, name)
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	hurt := strings.ReplaceAll(string(whole), "along the canal", "along the canaL")
	for _, c := range []struct {
		from string
		is   error
		says string
	}{
		{filepath.Join(dir, "none"), ErrNoStore, "no backup at"},
		{path, ErrNotStore, "the store itself"},
		{write("text", "record,id\n"), ErrNotStore, "is no backup"},
		{write("empty", ""), ErrNotStore, "is no backup"},
		{write("cut", string(whole[:5*4096])), ErrCorrupt, "is damaged (cut short"},
		{write("hurt", hurt), ErrCorrupt, "does not match its checksum): nothing was changed"},
	} {
		_, _, err := Restore(path, c.from, noon, nil)
		wantErr(t, err, c.is, c.says)
		if _, _, err := Restore(filepath.Join(dir, "new", "log"), c.from, noon, nil); err == nil && c.from != path {
			t.Errorf("%s was restored", c.from)
		}
	}
	good := write("good", string(whole))
	for _, mode := range []Mode{ReadOnly, ReadWrite} { // in use
		s := open(t, path, mode)
		_, _, err := Restore(path, good, noon, nil)
		wantErr(t, err, ErrLocked)
		s.Close()
	}
	if after, _ := os.ReadFile(path); string(after) != string(whole) {
		t.Error("the store was changed")
	}
	for _, name := range beside(t, path) {
		if strings.Contains(name, ".kept-") {
			t.Errorf("%s was left behind", name)
		}
	}
}

// A store that was emptied of most of its records' room shrinks, and says the
// same as before; then there is nothing more to gain.
func TestCompact(t *testing.T) {
	path := newPath(t)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(2, 10)...))
	for i := range 200 {
		r := ride("", "pack-0", "", 1, noon.AddDate(0, 0, i), 7)
		r.Note = strings.Repeat("a long note ", i)
		must(s.Put(r, 0, "", noon))(t)
	}
	want := export(t, s, true)
	before, after, err := s.Compact()
	if err != nil || after >= before {
		t.Fatalf("%d to %d bytes, %v", before, after, err)
	}
	if size, _ := sizeOf(path); size != after {
		t.Errorf("the file has %d bytes, want %d", size, after)
	}
	if got := export(t, s, true); got != want {
		t.Error("the store says something else")
	}
	must(s.Undo(noon))(t) // the journal came along
	must(s.Redo(noon))(t)
	s.Close()

	s = open(t, path, ReadWrite)
	if _, _, err := s.Compact(); err != nil {
		t.Fatal(err)
	}
	if before, after, err = s.Compact(); err != nil || after != before {
		t.Errorf("again: %d to %d bytes, %v", before, after, err)
	}
	s.Close()
	r := open(t, path, ReadOnly)
	_, _, err = r.Compact()
	wantErr(t, err, ErrReadOnly)
}
