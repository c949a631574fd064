package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
)

// writeOutput lets write fill the file name, which appears only once it is
// whole.
func (a *app) writeOutput(name string, write func(io.Writer) error) error {
	mode := fs.FileMode(0o666)
	if info, err := os.Stat(name); err == nil {
		if info.IsDir() {
			return wrong("cannot write %s: is a folder: want a file name", name)
		}
		if !info.Mode().IsRegular() {
			return writeDevice(name, write)
		}
		mode = info.Mode().Perm()
	}
	temp := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d", filepath.Base(name), os.Getpid()))
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return failed("cannot write %s: %w", name, plainPath(err))
	}
	defer a.removeOnInterrupt(temp, name)()
	err = fill(f, write)
	if err == nil {
		err = os.Rename(temp, name)
	}
	if err != nil {
		os.Remove(temp)
		return cannotWrite(name, err)
	}
	return nil
}

// fill writes, syncs and closes f.
func fill(f *os.File, write func(io.Writer) error) error {
	err := write(f)
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

// cannotWrite says which file could not be written, where the fault lies with
// the file; what was to be written may have failed on its own.
func cannotWrite(name string, err error) error {
	var path *fs.PathError
	var link *os.LinkError
	if errors.As(err, &path) || errors.As(err, &link) {
		return failed("cannot write %s: %w", name, plainPath(err))
	}
	return err
}

// removeOnInterrupt removes a temporary file when the program is interrupted
// or asked to end, and says that name was not written. The function returned
// ends the watch.
func (a *app) removeOnInterrupt(temp, name string) (stop func()) {
	signals := make(chan os.Signal, 1)
	done := make(chan struct{})
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	go func() {
		select {
		case <-signals:
			os.Remove(temp)
			fmt.Fprintf(a.streams.Err, "packwane: interrupted: %s was not written\n", name)
			os.Exit(statusFailed)
		case <-done:
		}
	}()
	return func() {
		signal.Stop(signals)
		close(done)
	}
}

// writeDevice writes to what is there already and cannot be replaced, such as
// a named pipe.
func writeDevice(name string, write func(io.Writer) error) error {
	f, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return failed("cannot write %s: %w", name, plainPath(err))
	}
	err = write(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return cannotWrite(name, err)
	}
	return nil
}
