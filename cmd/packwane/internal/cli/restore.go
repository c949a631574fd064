package cli

import (
	"errors"
	"fmt"
	"os"

	"packwane/store"
)

// restoredJSON is the document of restore, where it brings a backup back.
type restoredJSON struct {
	verifyJSON
	Kept string `json:"kept"` // where the store that was replaced now stands; "" where there was none
}

// namesFile says whether the argument of restore means a backup rather than a
// record: it is a file, or is written as only a path is.
func (a *app) namesFile(arg string) (bool, error) {
	info, err := os.Stat(arg)
	file := err == nil && !info.IsDir()
	if isPath(arg) {
		if err == nil && info.IsDir() {
			return false, wrong("%s is a folder: want a backup, or the id of a record", arg)
		}
		return true, nil
	}
	if !file {
		return false, nil
	}
	var record bool
	err = a.read(func(s *store.Store) error {
		_, err := findRecord(s, arg, "")
		record = err == nil
		return nil
	})
	if err == nil && record {
		return false, wrong("%s is the id of a record and the name of a file: --kind KIND brings the record back, ./%s the backup", arg, arg)
	}
	return true, nil // a store that cannot be read is what backups are for
}

func isPath(arg string) bool {
	for i := range len(arg) {
		if os.IsPathSeparator(arg[i]) {
			return true
		}
	}
	return false
}

// restoreBackup puts a backup in the place of the store.
func (a *app) restoreBackup(from string, yes bool) error {
	path, _ := a.storePath()
	if err := a.agreeToReplace(path, from, yes); err != nil {
		return err
	}
	r, kept, err := store.Restore(path, from, a.now, a.wait)
	if err != nil {
		return err
	}
	a.waited("")
	words := fmt.Sprintf("restored %s and verified: %s", path, holds(r))
	if kept != "" {
		words += fmt.Sprintf(". What stood there is kept as %s: remove it once you are sure", kept)
	}
	return a.done(restoredJSON{verifyOf(r), kept}, "%s", words)
}

// agreeToReplace asks before a store is replaced.
func (a *app) agreeToReplace(path, from string, yes bool) error {
	if _, err := os.Stat(path); yes || errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if _, err := os.Stat(from); err != nil {
		return wrong("cannot read %s: %w", from, plainPath(err))
	}
	what := fmt.Sprintf("%s will take the place of the log at %s, which is kept beside it", from, path)
	return a.confirm(what, "restore", "restored")
}
