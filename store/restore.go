package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// Restore puts a copy of the backup at from in the place of the store at path.
// The copy is verified, and brought to the present format, before anything is
// changed; then one rename makes it the store. What stood there is kept beside
// it, under the name that is returned; "" where there was nothing. The report
// is of the new store.
func Restore(path, from string, now time.Time, wait Wait) (r Report, kept string, err error) {
	s := &Store{path: filepath.Clean(path), mode: ReadWrite, wait: wait}
	defer s.release()
	if err := restorable(s.path, from); err != nil {
		return Report{}, "", err
	}
	if err := s.makeFolder(); err != nil {
		return Report{}, "", err
	}
	if s.gate, err = enter(s.path, newPatience(wait)); err != nil {
		return Report{}, "", err
	}
	s.gate.sweep()
	defer s.gate.sweep()
	name, r, err := s.fetch(from)
	if err != nil {
		return Report{}, "", err
	}
	if kept, err = s.replace(name, now); err != nil {
		return Report{}, "", err
	}
	s.settle()
	r.Path = s.path
	return r, kept, nil
}

// restorable looks at the names before anything is done.
func restorable(path, from string) error {
	backup, err := os.Stat(from)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return tell(ErrNoStore, "restore: no backup at %s", from)
	case err != nil:
		return fmt.Errorf("restore: %w", err)
	}
	there, err := os.Stat(path)
	switch {
	case err != nil:
		return nil
	case os.SameFile(backup, there):
		return tell(ErrNotStore, "restore: %s is the store itself: want a backup", from)
	case !there.Mode().IsRegular():
		return tell(ErrNotStore, "%s is not a regular file: name another with --store", path)
	}
	return nil
}

// fetch copies the backup to a temporary name beside the store, brings it to
// the present format and verifies it.
func (s *Store) fetch(from string) (name string, r Report, err error) {
	b := &Store{path: from, mode: ReadOnly}
	defer b.release()
	if _, err := b.look(); err != nil {
		return "", r, unfit(from, err)
	}
	err = b.openFile(from, newPatience(s.wait))
	var version olderFormat
	old := errors.As(err, &version)
	if err != nil && !old {
		return "", r, unfit(from, err)
	}
	if name, err = b.copyBeside("restore", s.path); err != nil {
		return "", r, unfit(from, err)
	}
	if old {
		err = upgradeCopy(name)
	}
	if err == nil {
		r, err = verifyFile(name)
	}
	if err != nil {
		os.Remove(name)
		return "", r, unfit(from, err)
	}
	return name, r, nil
}

// unfit says why a backup cannot be restored.
func unfit(from string, err error) error {
	var d damage
	switch {
	case errors.As(err, &d):
		return &told{text: fmt.Sprintf("restore: the backup %s is damaged (%s): nothing was changed; take another backup, or see what is whole in it with `packwane --store %s salvage OUT.jsonl`", from, d.what, from), is: ErrCorrupt, cause: err}
	case errors.Is(err, ErrNotStore):
		return tell(ErrNotStore, "restore: %s is no backup: want a file that `packwane backup` wrote", from)
	}
	return err
}

// upgradeCopy brings a copy of an older format to the present one.
func upgradeCopy(name string) error {
	s, err := Open(name, ReadWrite)
	if err == nil {
		err = s.Close()
	}
	old, _ := filepath.Glob(escapeGlob(name) + ".format-*")
	for _, file := range append(old, lockPath(name)) {
		os.Remove(file)
	}
	return err
}

// replace makes the file name the store while nobody has it open, and keeps
// what stood there. There is a whole store at the path at every moment.
func (s *Store) replace(name string, now time.Time) (kept string, err error) {
	defer os.Remove(name) // gone already where it became the store
	old, err := lockWhole(s.path, newPatience(s.wait))
	switch {
	case errors.Is(err, os.ErrNotExist):
		if err := moveInto(name, s.path); err != nil {
			return "", cannotWrite("restore", s.path, err)
		}
		return "", nil
	case errors.Is(err, ErrLocked):
		return "", err
	case err != nil:
		return "", cannotWrite("restore", s.path, err)
	}
	defer old.Close()
	if kept, err = keepAs(s.path, s.path+".kept-"+now.Format("2006-01-02T150405")); err != nil {
		return "", cannotWrite("restore", kept, err)
	}
	if err := moveInto(name, s.path); err != nil {
		os.Remove(kept)
		return "", cannotWrite("restore", s.path, err)
	}
	return kept, nil
}
