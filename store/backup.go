package store

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"
)

// Backup writes a copy of the store to path, by way of a temporary file that
// is verified, synced and renamed. A file at path is replaced only where it is
// a store. Others may read meanwhile.
func (s *Store) Backup(path string) error {
	path = filepath.Clean(path)
	if err := s.replaceable(path); err != nil {
		return err
	}
	g, err := enter(path, deadlineNow())
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer g.leave()
	defer g.remove()
	g.sweep()
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+freshMark+"*")
	if err != nil {
		return fmt.Errorf("backup: %w", explainIO(path, err))
	}
	w := &remembering{f: f}
	err = s.guard(func() error {
		return s.db.View(func(tx *bbolt.Tx) error {
			_, err := tx.WriteTo(w)
			return cmp.Or(w.err, err)
		})
	})
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = verifyFile(f.Name())
	}
	if err == nil {
		err = moveInto(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
		return fmt.Errorf("backup: %w", explainIO(path, err))
	}
	return nil
}

// remembering keeps the first error of its file: bbolt passes on its text only.
type remembering struct {
	f   *os.File
	err error
}

func (w *remembering) Write(b []byte) (int, error) {
	n, err := w.f.Write(b)
	w.err = cmp.Or(w.err, err)
	return n, err
}

// replaceable refuses to overwrite what is no store, and the store itself.
func (s *Store) replaceable(path string) error {
	info, err := os.Stat(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("backup: %w", explainIO(path, err))
	}
	if own, err := os.Stat(s.path); err == nil && os.SameFile(own, info) {
		return tell(ErrConflict, "backup: %s is the store itself: choose another name", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("backup: %w", explainIO(path, err))
	}
	defer f.Close()
	if _, err := readHeaders(f, path); err != nil {
		return tell(ErrNotStore, "backup: %s exists and is not a packwane store: choose another name", path)
	}
	return nil
}

// verifyFile verifies a store that nobody else knows of yet.
func verifyFile(name string) error {
	s := &Store{path: name, mode: ReadOnly}
	defer s.closeDB()
	if err := s.openFile(name, deadlineNow()); err != nil {
		return err
	}
	_, err := s.Verify()
	return err
}
