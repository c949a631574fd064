package store

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"go.etcd.io/bbolt"
)

// Format is the version of the file format that this program writes.
const Format = 1

var (
	keyFormat = []byte("format")
	keyState  = []byte("state")
)

// buckets lists every bucket of a store by its tag.
var buckets = [...]tag{tagMeta, tagRecord, tagHistory, tagID, tagLink, tagSum, tagJournal, tagSettings}

func (t tag) name() []byte { return []byte(t.String()) }

// freshMark is part of the name of a file that is to become the store.
const freshMark = ".new-"

// makeFolder makes the folder of the store where it is missing.
func (s *Store) makeFolder() error {
	dir := filepath.Dir(s.path)
	for at := dir; ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); err == nil || at == filepath.Dir(at) {
			break
		}
		s.folders = append(s.folders, at)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return explainIO(s.path, err)
	}
	return nil
}

// sweep removes what a program that was killed while it wrote left beside the
// gate's store. Whoever is in the gate is alone at work on it.
func (g *gate) sweep() {
	if g.file == nil {
		return
	}
	names, _ := filepath.Glob(escapeGlob(g.path) + freshMark + "*")
	for _, name := range names {
		os.RemoveAll(name)
	}
}

func escapeGlob(path string) string {
	return strings.NewReplacer(`\`, `\\`, `[`, `\[`, `*`, `\*`, `?`, `\?`).Replace(path)
}

// tempName reserves a name beside the store.
func (s *Store) tempName() (string, error) {
	f, err := os.CreateTemp(filepath.Dir(s.path), filepath.Base(s.path)+freshMark+"*")
	if err != nil {
		return "", explainIO(s.path, err)
	}
	return f.Name(), f.Close()
}

// create builds an empty store under a temporary name; publish gives it its
// own once something was written.
func (s *Store) create() error {
	name, err := s.tempName()
	if err != nil {
		return err
	}
	s.fresh = name
	if err := s.openDB(name, false, newPatience(nil)); err != nil {
		return err
	}
	return s.guard(func() error { return s.db.Update(initialise) })
}

// initialise makes the buckets of an empty store.
func initialise(tx *bbolt.Tx) error {
	for _, t := range buckets {
		if _, err := tx.CreateBucket(t.name()); err != nil {
			return err
		}
	}
	meta := tx.Bucket(tagMeta.name())
	if err := meta.Put(keyFormat, formatValue(Format)); err != nil {
		return err
	}
	return meta.Put(keyState, appendFrame(nil, tagMeta, keyState, state{}.payload()))
}

// formatValue must never change its own form: every version reads it.
func formatValue(version int) []byte {
	return appendFrame(nil, tagMeta, keyFormat, []byte("packwane "+strconv.Itoa(version)))
}

// checkFormat refuses what this program cannot read.
func (s *Store) checkFormat(tx *bbolt.Tx) error {
	version, err := formatOf(tx, s.path)
	if err != nil {
		return err
	}
	if version > Format {
		return tell(ErrNewer, "%s was written by a newer packwane (format %d, this one reads up to %d): use the newer program", s.path, version, Format)
	}
	if version < Format {
		return olderFormat(version)
	}
	_, err = newView(tx)
	return err
}

func formatOf(tx *bbolt.Tx, path string) (int, error) {
	meta := tx.Bucket(tagMeta.name())
	if meta == nil {
		found := 0
		for _, t := range buckets {
			if tx.Bucket(t.name()) != nil {
				found++
			}
		}
		if found > 0 {
			return 0, damaged("no bucket meta")
		}
		return 0, tell(ErrNotStore, "%s is a database of another program: name another file with --store", path)
	}
	value := meta.Get(keyFormat)
	if value == nil {
		return 0, damaged("no format")
	}
	payload, _, err := openFrame(tagMeta, keyFormat, value)
	if err != nil {
		return 0, err
	}
	version, err := strconv.Atoi(strings.TrimPrefix(string(payload), "packwane "))
	if err != nil || version < 0 {
		return 0, damaged("the format %q is none", payload)
	}
	return version, nil
}

// publish gives a store that was created its name, now that it holds
// something. The file is closed meanwhile: not all systems rename an open one.
func (s *Store) publish() error {
	if s.fresh == "" {
		return nil
	}
	if err := s.closeDB(); err != nil {
		return err
	}
	if err := moveInto(s.fresh, s.path); err != nil {
		return explainIO(s.path, err)
	}
	s.settle()
	return s.openDB(s.path, false, newPatience(nil))
}

// settle notes that the store stands under its own name.
func (s *Store) settle() {
	for _, dir := range s.folders {
		syncFolder(filepath.Dir(dir))
	}
	s.fresh, s.folders = "", nil
}

// moveInto renames a synced file and makes the new name last.
func moveInto(from, to string) error {
	if err := os.Rename(from, to); err != nil {
		return err
	}
	syncFolder(filepath.Dir(to))
	return nil
}

// syncFolder makes the names in a folder last through a power cut. Where a
// folder cannot be opened or synced (not all systems can), nothing is lost by
// going on.
func syncFolder(dir string) {
	d, err := os.Open(dir)
	if err != nil {
		return
	}
	defer d.Close()
	d.Sync()
}

// state is what changes with every action.
type state struct {
	last uint64 // number of the last action
	undo uint64 // action that Undo would undo, 0 where there is none
	redo uint64 // undoing action that Redo would reverse, 0 where there is none
	root tally  // over the sums bucket
}

func (st state) payload() []byte {
	var b []byte
	for _, v := range []uint64{st.last, st.undo, st.redo, uint64(st.root.n), st.root.sum} {
		b = binary.BigEndian.AppendUint64(b, v)
	}
	return b
}

func parseState(b []byte) (state, error) {
	if len(b) != 5*8 {
		return state{}, damaged("the state is cut short")
	}
	at := func(i int) uint64 { return binary.BigEndian.Uint64(b[i*8:]) }
	return state{at(0), at(1), at(2), tally{int64(at(3)), at(4)}}, nil
}
