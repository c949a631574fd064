//go:build unix

package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// A file that is being written when the program is interrupted or asked to end
// leaves nothing behind, and one line says so. The test runs once more as the
// program that is interrupted in the middle of its writing.
func TestInterruptedOutput(t *testing.T) {
	if name := os.Getenv("PACKWANE_TEST_OUTPUT"); name != "" {
		number, err := strconv.Atoi(os.Getenv("PACKWANE_TEST_SIGNAL"))
		if err != nil {
			t.Fatal(err)
		}
		a := &app{streams: Streams{Err: os.Stderr}}
		t.Fatal(a.writeOutput(name, func(w io.Writer) error {
			fmt.Fprintln(w, "half")
			if err := syscall.Kill(os.Getpid(), syscall.Signal(number)); err != nil {
				return err
			}
			select {} // until the signal ends it
		}))
	}
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		dir := t.TempDir()
		name := filepath.Join(dir, "log.csv")
		c := exec.Command(os.Args[0], "-test.run=^TestInterruptedOutput$")
		c.Env = append(os.Environ(), "PACKWANE_TEST_OUTPUT="+name, fmt.Sprintf("PACKWANE_TEST_SIGNAL=%d", signal))
		said := &strings.Builder{}
		c.Stderr = said
		err := c.Run()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != statusFailed {
			t.Errorf("%v: ended with %v, want status %d", signal, err, statusFailed)
		}
		if want := "packwane: interrupted: " + name + " was not written\n"; said.String() != want {
			t.Errorf("%v: it said %q, want %q", signal, said, want)
		}
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("%v: left behind %v, %v", signal, left, err)
		}
	}
}
