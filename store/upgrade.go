package store

import (
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

// olderFormat is the version of a file that an older program wrote.
type olderFormat int

func (v olderFormat) Error() string { return fmt.Sprintf("format %d", int(v)) }

// contents is all that a reader of an older format takes out of a file.
type contents struct {
	records  iter.Seq2[logbook.Record, error] // every revision
	settings map[string]string
}

// readers holds one reader for each older format that is still read. A change
// of the format raises Format and moves the reader of the one before here.
var readers = map[int]func(*bbolt.Tx) (contents, error){}

// upgrade reads the open file with the reader of its format into a new store
// and puts that in its place. The old file stays, as NAME.format-N. The gate is
// held.
func (s *Store) upgrade(version int) error {
	read := readers[version]
	if read == nil {
		return tell(ErrNotStore, "%s has format %d, which this packwane no longer reads", s.path, version)
	}
	dir, err := os.MkdirTemp(filepath.Dir(s.path), filepath.Base(s.path)+freshMark+"*")
	if err != nil {
		return fmt.Errorf("upgrade: %w", explainIO(s.path, err))
	}
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, "store")
	if err := s.translate(name, read); err != nil {
		return fmt.Errorf("upgrade: %w", err)
	}
	if err := s.closeDB(); err != nil {
		return err
	}
	if err := keep(s.path, version); err != nil {
		return fmt.Errorf("upgrade: keep the old file: %w", explainIO(s.path, err))
	}
	return explainIO(s.path, moveInto(name, s.path))
}

// translate writes what read finds into a new store.
func (s *Store) translate(name string, read func(*bbolt.Tx) (contents, error)) error {
	var st *Staged
	var settings map[string]string
	err := s.guard(func() error {
		return s.db.View(func(tx *bbolt.Tx) error {
			c, err := read(tx)
			if err != nil {
				return err
			}
			settings = c.settings
			st, err = Stage(name, func(yield func(logbook.Entry, error) bool) {
				line := 0
				for r, err := range c.records {
					line++
					if !yield(logbook.Entry{Record: r, At: logbook.Position{File: s.path, Line: line}}, err) {
						return
					}
				}
			})
			return err
		})
	})
	if err != nil {
		return err
	}
	defer st.Close()
	fresh, err := Open(name, ReadWrite)
	if err != nil {
		return err
	}
	defer fresh.Close()
	if _, err := fresh.join(Action{Op: OpUpgrade, Why: "upgrade of the file format", At: time.Now()}, st); err != nil {
		return err
	}
	for _, key := range sortedKeys(settings) {
		if err := fresh.PutSetting(key, settings[key]); err != nil {
			return err
		}
	}
	return fresh.publish()
}

// keep gives the old file a second name (see keepAs).
func keep(path string, version int) error {
	_, err := keepAs(path, path+".format-"+strconv.Itoa(version))
	return err
}

// keepAs gives a file a second name, or copies it where the disk knows no
// second names. Where the name is taken, a number is added; the name is
// returned.
func keepAs(path, name string) (string, error) {
	for i, base := 2, name; ; i++ {
		err := os.Link(path, name)
		if !os.IsExist(err) {
			if err != nil {
				err = copyFile(path, name)
			}
			if !os.IsExist(err) {
				syncFolder(filepath.Dir(path))
				return name, err
			}
		}
		name = fmt.Sprintf("%s-%d", base, i)
	}
}

// copyFile copies a file to a name that is free, and syncs it.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err == nil {
		err = out.Sync()
	}
	if cerr := out.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		os.Remove(to)
	}
	return err
}
