//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package store

import (
	"errors"
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// lockFile takes an exclusive lock on f and waits for it until the deadline.
// A wait that is given up ends by itself once the lock comes free; it closes f
// then, so that the lock goes on to the next.
func lockFile(f *os.File, deadline time.Time) error {
	fd := int(f.Fd())
	err := flock(fd, unix.LOCK_EX|unix.LOCK_NB)
	if !errors.Is(err, unix.EWOULDBLOCK) {
		return err
	}
	done := make(chan error)
	quit := make(chan struct{})
	go func() {
		err := flock(fd, unix.LOCK_EX)
		select {
		case done <- err:
		case <-quit:
			f.Close()
		}
	}()
	timer := time.NewTimer(time.Until(deadline))
	defer timer.Stop()
	select {
	case err := <-done:
		return err
	case <-timer.C:
		close(quit)
		return errDeadline
	}
}

func unlockFile(f *os.File) { flock(int(f.Fd()), unix.LOCK_UN) }

func flock(fd, how int) error {
	for {
		if err := unix.Flock(fd, how); err != unix.EINTR {
			return err
		}
	}
}
