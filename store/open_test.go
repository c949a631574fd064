package store

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

func TestOpenRefusesWhatIsNoStore(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	other := filepath.Join(dir, "other.db")
	db, err := bbolt.Open(other, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	db.Close()
	for _, c := range []struct {
		name, path string
		is         error
		says       string
	}{
		{"folder", dir, ErrNotStore, "is a folder: name a file"},
		{"device", os.DevNull, ErrNotStore, "not a regular file"},
		{"empty", write("empty", ""), ErrNotStore, "is empty"},
		{"text", write("text.csv", "record,id\nride,a\n"), ErrNotStore, "not a packwane store"},
		{"long text", write("long.csv", strings.Repeat("ride,a,b,c\n", 5000)), ErrNotStore, "not a packwane store"},
		{"other database", other, ErrNotStore, "another program"},
		{"below a file", filepath.Join(write("file", "x"), "store"), nil, "not a directory"},
	} {
		for _, mode := range []Mode{ReadOnly, ReadWrite} {
			t.Run(c.name, func(t *testing.T) {
				before, _ := os.ReadFile(c.path)
				_, err := Open(c.path, mode)
				wantErr(t, err, c.is, c.says)
				if after, _ := os.ReadFile(c.path); string(after) != string(before) {
					t.Error("the file was changed")
				}
			})
		}
	}
}

func TestOpenMissing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "down", "log.packwane")
	_, err := Open(path, ReadOnly)
	wantErr(t, err, ErrNoStore, path, "packwane import", "packwane pack add")
	if _, err := os.Stat(filepath.Dir(path)); err == nil {
		t.Error("reading made a folder")
	}
}

// A store that was never written to, or only in vain, leaves nothing.
func TestCreateLeavesNothing(t *testing.T) {
	root := t.TempDir()
	path := filepath.Join(root, "deep", "down", "log.packwane")
	s := open(t, path, ReadWrite)
	if _, err := s.Import(lines(`{"record":"ride","pack":"nowhere","at":"2025-04-12T12:00:00Z"}`), "", noon); err == nil {
		t.Fatal("imported a ride of no pack")
	}
	if packs, err := s.Packs(); err != nil || packs != nil {
		t.Errorf("packs of an empty store: %v, %v", packs, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if left, _ := os.ReadDir(root); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestCreate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "log.packwane")
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(2, 3)...))
	mustImport(t, s, entries(fleet(2, 4)...)) // the store goes on under its new name
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	check(t, path)
	s = open(t, path, ReadOnly)
	if packs, err := s.Packs(); err != nil || len(packs) != 2 {
		t.Errorf("%d packs, %v", len(packs), err)
	}
	err := s.PutSetting("colour", "dark")
	wantErr(t, err, ErrReadOnly)
	if info, _ := os.Stat(path); info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v", info.Mode())
	}
}

// A damaged version number must not pass for a newer one.
func TestFormatIsChecked(t *testing.T) {
	v := formatValue(1)
	v[len(v)-1] ^= 2
	if _, _, err := openFrame(tagMeta, keyFormat, v); err == nil {
		t.Error("a changed version passed")
	}
}

func TestLocked(t *testing.T) {
	set(t, &lockWait, 150*time.Millisecond)
	set(t, &Command, "packwane\x1b[31m import")
	path := newPath(t)
	w := open(t, path, ReadWrite)
	mustImport(t, w, entries(fleet(1, 1)...))
	for _, mode := range []Mode{ReadOnly, ReadWrite} {
		_, err := Open(path, mode)
		wantErr(t, err, ErrLocked, path, "process", "import may hold it", "try again")
		if strings.Contains(err.Error(), "\x1b") {
			t.Error("a control character reached the terminal")
		}
	}
	w.Close()
	r := open(t, path, ReadOnly)
	r2 := open(t, path, ReadOnly) // readers share
	r2.Close()
	_, err := Open(path, ReadWrite)
	wantErr(t, err, ErrLocked)
	r.Close()
	open(t, path, ReadWrite).Close()
}

// Writers that wait get their turn while readers come and go.
func TestWritersAreNotStarved(t *testing.T) {
	set(t, &lockWait, time.Minute) // of a loaded machine; one that is starved waits for ever
	path := newPath(t)
	w := open(t, path, ReadWrite)
	mustImport(t, w, entries(fleet(1, 1)...))
	w.Close()
	stop := make(chan struct{})
	done := make(chan error, 3)
	for range 3 {
		go func() {
			for {
				select {
				case <-stop:
					done <- nil
					return
				default:
				}
				s, err := Open(path, ReadOnly)
				if err != nil {
					done <- err
					return
				}
				if _, err := s.PackRecords("pack-0"); err != nil {
					done <- err
					return
				}
				s.Close()
			}
		}()
	}
	for i := range 20 {
		s, err := Open(path, ReadWrite)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Put(ride("", "pack-0", "", 1, noon.Add(time.Duration(i)*time.Second), 5), 0, "", noon); err != nil {
			t.Fatal(err)
		}
		s.Close()
	}
	close(stop)
	for range 3 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	if n := len(must(open(t, path, ReadOnly).PackRecords("pack-0"))(t)); n != 3+1+20 {
		t.Errorf("%d records, want 24", n)
	}
}

func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// What a killed program left is swept away by the next that writes.
func TestSweep(t *testing.T) {
	path := newPath(t)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(1, 1)...))
	s.Close()
	if err := os.WriteFile(path+freshMark+"123", []byte("half a store"), 0o600); err != nil {
		t.Fatal(err)
	}
	open(t, path, ReadOnly).Close()
	open(t, path, ReadWrite).Close()
	for _, name := range beside(t, path) {
		if strings.Contains(name, freshMark) {
			t.Errorf("%s is still there", name)
		}
	}
}

func TestBackup(t *testing.T) {
	path := newPath(t)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(2, 10)...))
	want := export(t, s, true)
	s.Close()
	to := filepath.Join(filepath.Dir(path), "backup")
	for range 2 { // an older backup is replaced
		r := must(backup(path, to, false))(t)
		if size, _ := sizeOf(to); r.Path != to || r.Bytes != size || r.Records[logbook.KindRide] != 10 || r.Records[logbook.KindPack] != 2 {
			t.Errorf("report %+v of %d bytes", r, size)
		}
	}
	check(t, to)
	if got := export(t, open(t, to, ReadOnly), true); got != want {
		t.Error("the backup differs")
	}
	text := filepath.Join(filepath.Dir(path), "rides.csv")
	os.WriteFile(text, []byte("record\n"), 0o600)
	for _, c := range []struct {
		to   string
		is   error
		says string
	}{
		{path, ErrNotStore, "the store itself"},
		{text, ErrNotStore, "rides.csv exists and is no backup: choose another name, or --force replaces it"},
		{filepath.Dir(path), ErrNotStore, "is a folder"},
		{filepath.Join(filepath.Dir(path), "no", "folder"), os.ErrNotExist, "no such file or directory"},
	} {
		wantErr(t, second(backup(path, c.to, false)), c.is, c.says)
	}
	must(backup(path, text, true))(t)
	check(t, text)
}

// An older format is read by its own reader into a new file; the old one
// stays.
func TestUpgrade(t *testing.T) {
	path := newPath(t)
	if err := writeOlder(path, fleet(1, 5)); err != nil {
		t.Fatal(err)
	}
	before, _ := os.ReadFile(path)

	_, err := Open(path, ReadOnly)
	wantErr(t, err, ErrNotStore, "format 0", "no longer reads")

	readsOlder(t)
	s := open(t, path, ReadOnly)
	if n := len(must(s.PackRecords("pack-0"))(t)); n != 8 {
		t.Errorf("%d records after the upgrade, want 8", n)
	}
	if v, ok, err := s.Setting("colour"); v != "dark" || !ok || err != nil {
		t.Errorf("setting %q, %v, %v", v, ok, err)
	}
	s.Close()
	w := open(t, path, ReadWrite)
	if _, err := w.Undo(noon); !errors.Is(err, ErrNothing) {
		t.Errorf("undoing the upgrade, which takes the log away: %v", err)
	}
	w.Close()
	if kept, _ := os.ReadFile(path + ".format-0"); string(kept) != string(before) {
		t.Error("the old file was not kept as it was")
	}

	// as a backup it is restored in the present format, and stays as it is
	moved := filepath.Join(t.TempDir(), "moved")
	if _, _, err := Restore(moved, path+".format-0", noon, nil); err != nil {
		t.Fatal(err)
	}
	check(t, moved)
	if n := len(must(open(t, moved, ReadOnly).PackRecords("pack-0"))(t)); n != 8 {
		t.Errorf("%d records in the restored backup, want 8", n)
	}
	if kept, _ := os.ReadFile(path + ".format-0"); string(kept) != string(before) || len(beside(t, moved)) > 2 {
		t.Errorf("the backup was changed, or left something: %v", beside(t, moved))
	}
}
