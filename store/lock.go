package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// lockWait is how long Open waits for others.
var lockWait = time.Second

// Command is what a waiting program is told about this one: set it to the
// name of the command that runs. No data belongs in it.
var Command = filepath.Base(os.Args[0])

// The gate is a file beside the store, locked around every Open: a reader
// holds it until it has the store open, a writer until it closes. Waiting at
// the gate is first come, first served, so a writer is not starved by readers
// that come and go, as it would be on the store's own lock alone.
type gate struct {
	path string
	file *os.File // nil where there can be no gate: a folder that is read-only
}

// lockPath is the file beside the store at path.
func lockPath(path string) string { return path + ".lock" }

// Wait is asked where a lock was not to be had for about a second: it is told
// why, and returns for how much longer to wait. It is asked once for an Open.
type Wait func(why string) time.Duration

// patience is how long one Open waits, for all of its locks together.
type patience struct {
	until time.Time
	wait  Wait
}

func newPatience(wait Wait) *patience { return &patience{time.Now().Add(lockWait), wait} }

// extend asks for more time and says whether there is any.
func (p *patience) extend(path string) bool {
	if p.wait == nil {
		return false
	}
	more := p.wait(holder(path))
	p.wait, p.until = nil, time.Now().Add(more)
	return more > 0
}

// enter waits for the gate as long as the patience lasts.
func enter(path string, p *patience) (*gate, error) {
	for {
		f, err := os.OpenFile(lockPath(path), os.O_RDWR|os.O_CREATE, 0o600)
		if err != nil {
			f, err = os.Open(lockPath(path))
		}
		if err != nil {
			return &gate{path: path}, nil // the store's own lock must do
		}
		if err := lockFile(f, p.until); err != nil {
			if errors.Is(err, errDeadline) {
				if p.extend(path) {
					continue
				}
				return nil, lockedError(path)
			}
			f.Close()
			return nil, fmt.Errorf("lock %s: %w", lockPath(path), err)
		}
		if stands(f, lockPath(path)) {
			g := &gate{path, f}
			g.sign()
			return g, nil
		}
		f.Close() // removed while we waited
	}
}

// stands says whether f is still the file at path.
func stands(f *os.File, path string) bool {
	mine, err := f.Stat()
	if err != nil {
		return false
	}
	theirs, err := os.Stat(path)
	return err == nil && os.SameFile(mine, theirs)
}

// remove takes the gate's file away; those who wait at it begin anew.
func (g *gate) remove() {
	if g.file != nil {
		os.Remove(lockPath(g.path))
	}
}

// sign leaves word of who went through last; it is only ever shown to people.
func (g *gate) sign() {
	text := fmt.Sprintf("%d %s\n", os.Getpid(), Command)
	if g.file.Truncate(0) == nil {
		g.file.WriteAt([]byte(text), 0)
	}
}

// leave opens the gate for the next.
func (g *gate) leave() {
	if g.file != nil {
		unlockFile(g.file)
		g.file.Close()
		g.file = nil
	}
}

// lockWhole opens the file at path and locks it as enter does; the file's
// Close lets go.
func lockWhole(path string, p *patience) (*os.File, error) {
	for {
		f, err := os.Open(path)
		if err != nil {
			return nil, err
		}
		if err = lockFile(f, p.until); err == nil {
			return f, nil
		}
		if !errors.Is(err, errDeadline) {
			f.Close()
			return nil, err
		}
		if !p.extend(path) {
			return nil, lockedError(path)
		}
	}
}

// holder says who may hold the store.
func holder(path string) string {
	who := "another program"
	if b, err := os.ReadFile(lockPath(path)); err == nil && len(b) > 0 {
		who = "process " + trimRight(oneLine(string(b), 120))
	}
	return fmt.Sprintf("%s is locked: %s may hold it", path, who)
}

func lockedError(path string) error {
	return tell(ErrLocked, "%s; wait until it is done and try again", holder(path))
}

func trimRight(s string) string {
	for len(s) > 0 && s[len(s)-1] == ' ' {
		s = s[:len(s)-1]
	}
	return s
}

// errDeadline is returned by lockFile where the lock was not to be had in time.
var errDeadline = errors.New("the lock was not free in time")
