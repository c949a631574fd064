package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// Mode says what a store is opened for.
type Mode uint8

// The modes.
const (
	ReadOnly  Mode = iota // many at a time
	ReadWrite             // alone; creates the file, and its folder, where there is none
)

// Store is an open store.
type Store struct {
	path    string
	mode    Mode
	gate    *gate
	file    *os.File // beneath db
	size    int64    // of the file when it was opened
	db      *bbolt.DB
	fresh   string   // temporary name of a store that has not been written to yet
	folders []string // folders that were made for it, the innermost first
	broken  error    // set once damage was met: nothing more is read or written
	wait    Wait
}

// Open opens the store at path and locks it until Close. A store that is
// locked is waited for about a second. Opened for writing, a store that does
// not exist comes into being with the first change that succeeds.
func Open(path string, mode Mode) (*Store, error) { return OpenWaiting(path, mode, nil) }

// OpenWaiting is Open for those who may wait longer (see Wait).
func OpenWaiting(path string, mode Mode, wait Wait) (*Store, error) {
	s := &Store{path: filepath.Clean(path), mode: mode, wait: wait}
	if err := s.open(); err != nil {
		s.release()
		return nil, err
	}
	return s, nil
}

func (s *Store) open() error {
	p := newPatience(s.wait)
	exists, err := s.look()
	if err != nil {
		return err
	}
	if !exists {
		if s.mode == ReadOnly {
			return tell(ErrNoStore, "no store at %s yet: begin with `packwane pack add` or `packwane import FILE`, or name another file with --store", s.path)
		}
		if err := s.makeFolder(); err != nil {
			return err
		}
	}
	if s.gate, err = enter(s.path, p); err != nil {
		return err
	}
	if s.mode == ReadWrite {
		s.gate.sweep()
		if exists, err = s.look(); err != nil { // while we waited
			return err
		}
	}
	if !exists {
		return s.create()
	}
	err = s.openFile(s.path, p)
	var old olderFormat
	if errors.As(err, &old) {
		if err = s.upgrade(int(old)); err == nil {
			err = s.openFile(s.path, p)
		}
	}
	if err != nil {
		return err
	}
	if s.mode == ReadOnly {
		s.gate.leave()
	}
	return nil
}

// look says whether there is a file that may be a store.
func (s *Store) look() (bool, error) {
	info, err := os.Stat(s.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, nil
	case err != nil:
		return false, explainIO(s.path, err)
	case info.IsDir():
		return false, tell(ErrNotStore, "%s is a folder: name a file with --store", s.path)
	case !info.Mode().IsRegular():
		return false, tell(ErrNotStore, "%s is not a regular file: name another with --store", s.path)
	case info.Size() == 0:
		return false, tell(ErrNotStore, "%s is empty, not a packwane store: remove it to begin anew, or restore a backup over it", s.path)
	}
	return true, nil
}

// openFile opens the bbolt file at path: for reading first, to check its pages
// and format before bbolt follows them, then as the mode asks.
func (s *Store) openFile(path string, p *patience) error {
	for _, readOnly := range []bool{true, false} {
		if !readOnly && s.mode == ReadOnly {
			break
		}
		if s.db != nil {
			if err := s.closeDB(); err != nil {
				return err
			}
		}
		if err := s.openDB(path, readOnly, p); err != nil {
			return err
		}
		if err := s.guard(func() error { return checkPages(s.file, s.path) }); err != nil {
			return err
		}
		if err := s.guard(func() error { return s.db.View(s.checkFormat) }); err != nil {
			return err
		}
	}
	return nil
}

// openDB opens bbolt on the file at path.
func (s *Store) openDB(path string, readOnly bool, p *patience) error {
	options := &bbolt.Options{
		ReadOnly:     readOnly,
		Timeout:      max(time.Until(p.until), 100*time.Millisecond),
		FreelistType: bbolt.FreelistMapType,
		NoStatistics: true,
		OpenFile: func(name string, flag int, perm os.FileMode) (*os.File, error) {
			f, err := os.OpenFile(name, flag, perm)
			s.file = f
			return f, err
		},
	}
	err := catch(func() (err error) {
		s.db, err = bbolt.Open(path, 0o600, options)
		return err
	})
	var d damage
	var f fault
	switch {
	case err == nil:
		s.size, err = sizeOf(path)
		return explainIO(s.path, err)
	case errors.As(err, &d), errors.As(err, &f):
		return s.explain(err)
	case errors.Is(err, berrors.ErrTimeout):
		if p.extend(s.path) {
			return s.openDB(path, readOnly, p)
		}
		return lockedError(s.path)
	case !fromSystem(err): // bbolt's own word
		return s.tellInvalid(path)
	}
	err = explainIO(s.path, err)
	var known *told
	if errors.As(err, &known) {
		return err // it names the file
	}
	return fmt.Errorf("open %s: %w", s.path, err)
}

// fromSystem says whether the operating system refused something.
func fromSystem(err error) bool {
	var path *fs.PathError
	var number syscall.Errno
	return errors.As(err, &path) || errors.As(err, &number)
}

// tellInvalid tells a damaged store from a file that never was one.
func (s *Store) tellInvalid(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return explainIO(s.path, err)
	}
	defer f.Close()
	if _, err = readHeaders(f, s.path); err == nil {
		err = damaged("its head is damaged")
	}
	return s.explain(err)
}

// Close releases the store. A store that was created and never written to
// leaves nothing behind.
func (s *Store) Close() error {
	err := s.closeDB()
	s.release()
	return err
}

func (s *Store) closeDB() error {
	db, file := s.db, s.file
	s.db, s.file = nil, nil
	if s.broken != nil { // bbolt may have panicked with its locks held: let go by hand
		if file != nil {
			unlockFile(file)
			file.Close()
		}
		return nil
	}
	if db == nil {
		return nil
	}
	return db.Close()
}

// release gives back what is held beside the database, and removes what was
// made for a store that came to nothing.
func (s *Store) release() {
	s.closeDB()
	if s.fresh != "" {
		os.Remove(s.fresh)
	}
	if s.gate != nil {
		if s.fresh != "" || len(s.folders) > 0 {
			s.gate.remove()
		}
		s.gate.leave()
	}
	for _, dir := range s.folders {
		os.Remove(dir) // succeeds only where it is still empty
	}
	s.fresh, s.folders = "", nil
}

// Path returns the file of the store.
func (s *Store) Path() string { return s.path }
