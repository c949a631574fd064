package store

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

var update = flag.Bool("update", false, "write the stores of testdata anew: the one of the present format and the one from the future")

// future is a format that no program writes; testdata holds a store that says
// it has it.
const future = 9999

func formatFile(version int) string {
	return filepath.Join("testdata", fmt.Sprintf("format-%d.store", version))
}

// formatSample fills a store for testdata: every kind of record, amended,
// removed and undone.
func formatSample(t *testing.T, path string) {
	s := open(t, path, ReadWrite)
	defer s.Close()
	mustImport(t, s, entries(append(fleet(2, 6),
		&logbook.Charge{Head: head("charge-0", 1), Pack: "pack-0", At: noon, ChargedAh: logbook.Some(4.5)},
		&logbook.Check{Head: head("check-0", 1), Pack: "pack-0", At: noon, ResistanceMohm: logbook.Some(90.5)},
		&logbook.Setup{Head: head("setup-0", 1), Board: "board-0", At: noon, RefTyreKpa: logbook.Some(230.0)})...))
	r := clone(t, must(s.Get(logbook.KindRide, "ride-1"))(t).(*logbook.Ride))
	r.DistanceKm, r.Board = logbook.Some(9.25), "board-0"
	must(s.Put(r, 1, "misread", noon))(t)
	if err := s.Remove(logbook.KindRide, "ride-2", 1, "", noon); err != nil {
		t.Fatal(err)
	}
	must(s.Undo(noon))(t)
	if err := s.PutSetting("units", "imperial"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.Compact(); err != nil {
		t.Fatal(err)
	}
}

// writeFormats renews testdata. A store of an earlier format is never written
// again: it is what the program of its time wrote.
func writeFormats(t *testing.T) {
	path := newPath(t)
	formatSample(t, path)
	s := open(t, path, ReadOnly)
	lines := export(t, s, true)
	s.Close()
	for version, format := range map[int][]byte{Format: nil, future: formatValue(future)} {
		if format != nil {
			db, err := bbolt.Open(path, 0o600, nil)
			if err != nil {
				t.Fatal(err)
			}
			if err := db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(tagMeta.name()).Put(keyFormat, format) }); err != nil {
				t.Fatal(err)
			}
			db.Close()
		}
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		os.Remove(formatFile(version))
		if err := copyFile(path, formatFile(version)); err != nil {
			t.Fatal(err)
		}
	}
	os.Remove(path)
	if err := os.WriteFile("testdata/formats.jsonl", []byte(lines), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Every format that was ever written is still read, and says what it said. A
// file of an earlier one is kept beside the new one as it was.
func TestFormats(t *testing.T) {
	if *update {
		writeFormats(t)
	}
	want, err := os.ReadFile("testdata/formats.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	for version := 1; version <= Format; version++ {
		path := newPath(t)
		if err := copyFile(formatFile(version), path); err != nil {
			t.Fatalf("no store of format %d: %v", version, err)
		}
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		s := open(t, path, ReadOnly)
		if got := export(t, s, true); got != string(want) {
			t.Errorf("format %d says\n%s\nwant\n%s", version, got, want)
		}
		if v, ok, err := s.Setting("units"); v != "imperial" || !ok || err != nil {
			t.Errorf("format %d: setting %q, %v, %v", version, v, ok, err)
		}
		s.Close()
		if version == Format {
			continue
		}
		if kept, _ := os.ReadFile(fmt.Sprintf("%s.format-%d", path, version)); string(kept) != string(before) {
			t.Errorf("format %d was not kept as it was", version)
		}
	}
}

// A store of a format that is not known yet is refused by all that open it, and
// no byte of it is changed.
func TestFutureFormatIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log")
	if err := copyFile(formatFile(future), path); err != nil {
		t.Fatal(err)
	}
	before, _ := os.ReadFile(path)
	own := filepath.Join(filepath.Dir(path), "own")
	formatSample(t, own)
	for name, try := range map[string]func() error{
		"open to read":  func() error { return second(Open(path, ReadOnly)) },
		"open to write": func() error { return second(Open(path, ReadWrite)) },
		"verify":        func() error { return second(VerifyFile(path, nil)) },
		"backup":        func() error { return second(backup(path, path+".backup", false)) },
		"restore": func() error {
			_, _, err := Restore(own, path, noon, nil)
			return err
		},
	} {
		err := try()
		wantErr(t, err, ErrNewer, "newer packwane", fmt.Sprintf("format %d, this one reads up to %d", future, Format), "use the newer program")
		if strings.Contains(err.Error(), "damaged") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after, _ := os.ReadFile(path); string(after) != string(before) {
		t.Error("it was changed")
	}
	check(t, own)
}
