//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package store

import (
	"os"
	"time"
)

// Where there is no flock, bbolt's own lock on the store must do; it waits too.
func lockFile(*os.File, time.Time) error { return nil }

func unlockFile(*os.File) {}
