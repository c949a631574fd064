package store

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime/debug"
	"syscall"

	berrors "go.etcd.io/bbolt/errors"

	"packwane/health/logbook"
)

// What went wrong, for errors.Is. The texts around them say what to do next.
var (
	// ErrNoStore is returned by Open for reading where there is no such file.
	ErrNoStore = errors.New("no store")
	// ErrNotStore is returned by Open where the file is something else.
	ErrNotStore = errors.New("not a store")
	// ErrNotFound is returned where no record has the id.
	ErrNotFound = errors.New("not found")
	// ErrLocked is returned by Open where another program holds the file.
	ErrLocked = errors.New("locked")
	// ErrCorrupt is returned by any call that meets damage in the file.
	ErrCorrupt = errors.New("damaged")
	// ErrNewer is returned by Open where a newer program wrote the file.
	ErrNewer = errors.New("newer format")
	// ErrConflict is returned where the record has changed since it was looked
	// at, or the id is taken.
	ErrConflict = errors.New("conflict")
	// ErrReadOnly is returned by calls that write through a store that was
	// opened for reading.
	ErrReadOnly = errors.New("opened for reading")
	// ErrNothing is returned by Undo and Redo where there is nothing to do.
	ErrNothing = errors.New("nothing to do")
	// ErrReference is wrapped by errors about a pack or board that is unknown.
	ErrReference = errors.New("unknown reference")
)

// told is an error with a text of its own that is also one of the above.
type told struct {
	text  string
	is    error
	cause error
}

func (e *told) Error() string { return e.text }

func (e *told) Unwrap() []error {
	if e.cause == nil {
		return []error{e.is}
	}
	return []error{e.is, e.cause}
}

func tell(is error, format string, args ...any) error {
	return &told{text: fmt.Sprintf(format, args...), is: is}
}

// damage is a fault found inside the file; corrupt gives it its full text.
type damage struct{ what string }

func (d damage) Error() string { return d.what }

func damaged(format string, args ...any) error { return damage{fmt.Sprintf(format, args...)} }

// corrupt tells of damage in the file at path and of the way out.
func corrupt(path, what string) error {
	return &told{
		text: fmt.Sprintf("%s is damaged (%s): `packwane verify` tells more; the way out is `packwane restore BACKUP`, or `packwane salvage OUT.jsonl` for what is whole", path, oneLine(what, 240)),
		is:   ErrCorrupt, cause: damage{what},
	}
}

// fault is a place in memory that could not be read. Within the mapped file it
// means that the disk below it did not read, or that the file was cut short
// meanwhile.
type fault uintptr

func (f fault) Error() string { return "a page could not be read" }

// guard runs fn, which touches the mapped file. Reading a damaged file can
// panic or fault inside bbolt, and a disk that does not read makes a fault of
// its own; all become errors, and the store is not touched again.
func (s *Store) guard(fn func() error) (err error) {
	if s.broken != nil {
		return s.broken
	}
	err = catch(fn)
	return s.explain(err)
}

// catch runs fn and turns a panic into damage and a memory fault into a fault.
func catch(fn func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = damage{oneLine(fmt.Sprint(p), 120)}
			if at, ok := p.(interface{ Addr() uintptr }); ok { // see debug.SetPanicOnFault
				err = fault(at.Addr())
			}
		}
	}()
	return fn()
}

// explain turns errors from below into what the user is told.
func (s *Store) explain(err error) error {
	var d damage
	var f fault
	if errors.As(err, &f) {
		err = s.whyFault(f)
		s.broken = explainIO(s.path, err)
	}
	switch {
	case err == nil:
		return nil
	case errors.As(err, &d):
		s.broken = corrupt(s.path, d.what)
		return s.broken
	case errors.Is(err, berrors.ErrIncompatibleValue), errors.Is(err, berrors.ErrBucketNotFound):
		s.broken = corrupt(s.path, err.Error())
		return s.broken
	}
	return explainIO(s.path, err)
}

// whyFault tells a disk that does not read from a file that somebody cut short
// and from a damaged page that leads nowhere.
func (s *Store) whyFault(f fault) error {
	if s.db == nil || s.file == nil { // while it was opened: no page was followed yet
		return syscall.EIO
	}
	info, err := s.file.Stat()
	if err != nil {
		return err
	}
	at, now := uint64(f)-uint64(s.db.Info().Data), info.Size()
	switch {
	case at < uint64(now):
		return syscall.EIO
	case now < s.size:
		return damaged("cut short: %d bytes of %d", now, s.size)
	}
	return damaged("a page leads beyond the file")
}

// explainIO says what to do about the common failures of a disk.
func explainIO(path string, err error) error {
	var input *logbook.InputError
	if errors.As(err, &input) {
		return err
	}
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return &told{text: fmt.Sprintf("%s: the disk is full: nothing was changed; make room and try again", path), is: syscall.ENOSPC, cause: err}
	case errors.Is(err, syscall.EIO):
		return &told{text: fmt.Sprintf("%s: the disk failed (%v): nothing was changed; look after the disk, and take a backup to another one", path, syscall.EIO), is: syscall.EIO, cause: err}
	case errors.Is(err, syscall.EROFS):
		return &told{text: fmt.Sprintf("%s: the disk is read-only: nothing was changed; name a store elsewhere with --store", path), is: fs.ErrPermission, cause: err}
	case errors.Is(err, fs.ErrPermission):
		return &told{text: fmt.Sprintf("%s: permission denied: nothing was changed; name a store elsewhere with --store", path), is: fs.ErrPermission, cause: err}
	}
	return err
}

// oneLine makes s fit for a terminal: no control characters, at most n bytes.
func oneLine(s string, n int) string {
	out := make([]rune, 0, len(s))
	size := 0
	for _, c := range s {
		if c < 0x20 || c >= 0x7f && c <= 0x9f || c == 0xfffd {
			c = ' '
		}
		if size += len(string(c)); size > n {
			break
		}
		out = append(out, c)
	}
	return string(out)
}
