package store

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"syscall"

	"go.etcd.io/bbolt"
)

// Backup writes a copy of the open store to the file at to, by way of a
// temporary file that is synced, verified and renamed. The copy is of one
// moment, and s is closed once it is taken: others may write while it is
// verified. A file at to is replaced where it is a store or force is set, but
// never s itself. The report is of the copy.
func (s *Store) Backup(to string, force bool) (Report, error) {
	to = filepath.Clean(to)
	if err := s.replaceable(to, force); err != nil {
		return Report{}, err
	}
	g, err := enter(to, newPatience(s.wait))
	if err != nil {
		return Report{}, fmt.Errorf("backup: %w", err)
	}
	defer g.leave()
	defer g.remove()
	g.sweep()
	name, err := s.copyBeside("backup", to)
	if err != nil {
		return Report{}, err
	}
	if err := s.Close(); err != nil {
		os.Remove(name)
		return Report{}, err
	}
	r, err := verifyFile(name)
	if err != nil {
		err = fmt.Errorf("backup: %s does not read back as it was written (%v): look after the disk", to, err)
	} else if err = moveInto(name, to); err != nil {
		err = cannotWrite("backup", to, err)
	}
	if err != nil {
		os.Remove(name)
		return Report{}, err
	}
	r.Path = to
	return r, nil
}

// copyBeside writes the store, as it is at this moment, to a temporary file
// beside the file at to, and syncs it.
func (s *Store) copyBeside(what, to string) (name string, err error) {
	f, err := os.CreateTemp(filepath.Dir(to), filepath.Base(to)+freshMark+"*")
	if err != nil {
		return "", cannotWrite(what, to, err)
	}
	w := &remembering{f: f}
	read := s.guard(func() error {
		return s.db.View(func(tx *bbolt.Tx) error {
			_, err := tx.WriteTo(w)
			if errors.Is(err, io.EOF) {
				err = damaged("cut short while it was copied")
			}
			return err
		})
	})
	if w.err == nil && read == nil {
		w.err = f.Sync()
	}
	err = cmp.Or(w.err, f.Close())
	switch {
	case err != nil:
		err = cannotWrite(what, to, err)
	case read != nil:
		err = fmt.Errorf("%s: %w", what, read)
	default:
		return f.Name(), nil
	}
	os.Remove(f.Name())
	return "", err
}

// cannotWrite says that a file beside the store's own could not be written.
func cannotWrite(what, path string, err error) error {
	number := err
	var e syscall.Errno
	if errors.As(err, &e) {
		number = e
	}
	if errors.Is(err, syscall.ENOSPC) {
		return &told{text: fmt.Sprintf("%s: %s: the disk is full: nothing was changed; make room and try again", what, path), is: syscall.ENOSPC, cause: err}
	}
	return &told{text: fmt.Sprintf("%s: cannot write %s: %v: nothing was changed", what, path, number), is: number, cause: err}
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

// replaceable refuses to overwrite the store itself and, unless forced, what
// is no store.
func (s *Store) replaceable(path string, force bool) error {
	info, err := os.Stat(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return cannotWrite("backup", path, err)
	}
	if own, err := os.Stat(s.path); err == nil && os.SameFile(own, info) {
		return tell(ErrNotStore, "backup: %s is the store itself: choose another name", path)
	}
	if info.IsDir() {
		return tell(ErrNotStore, "backup: %s is a folder: want a file name", path)
	}
	if force && info.Mode().IsRegular() {
		return nil
	}
	f, err := os.Open(path)
	if err != nil {
		return cannotWrite("backup", path, err)
	}
	defer f.Close()
	if _, err := readHeaders(f, path); errors.As(err, new(syscall.Errno)) {
		return explainIO(path, err) // it may be one, and cannot be read
	} else if err != nil {
		return tell(ErrNotStore, "backup: %s exists and is no backup: choose another name, or --force replaces it", path)
	}
	return nil
}

// verifyFile verifies a store that is not to be upgraded, or that nobody else
// knows of yet.
func verifyFile(name string) (Report, error) {
	s := &Store{path: name, mode: ReadOnly}
	defer s.closeDB()
	if err := s.openFile(name, newPatience(nil)); err != nil {
		return Report{}, err
	}
	return s.Verify()
}
