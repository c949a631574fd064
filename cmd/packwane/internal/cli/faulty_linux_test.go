package cli

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"packwane/store/faultdisk"
)

// TestFaultyDisk lets the disk fail at each thing that a call does to it, one
// after the other. The call says so in one line with status 1 and leaves the
// log as it was, or it is done; the next call works.
func TestFaultyDisk(t *testing.T) {
	disk := faultdisk.Mount(t)
	k := &killTest{t: t, dir: memoryDir(t)}
	path := filepath.Join(disk.Path, "log.store")
	seen := filepath.Join(k.dir, "seen.store") // to look at: the disk's files are not mapped in this process
	base := filepath.Join(k.dir, "base.store")
	k.must(base, "import", k.write("base.jsonl", 60))
	k.must(base, "backup", base+".backup")
	k.must(base, "log", "ride", "distance=9km", "moving=30m", "at=2026-05-02 10:00")
	k.copy(base, path)
	before := k.holds(base)
	calls := [][]string{
		{"import", k.write("more.jsonl", 30)},
		{"log", "ride", "distance=7km", "moving=20m", "at=2026-05-02 12:00"},
		{"undo"},
		{"compact"},
		{"backup", "STORE.backup"},
		{"restore", base + ".backup", "--yes"},
	}
	step := 3 // all of them with -rounds
	if *killRounds > 0 {
		step = 1
	}
	if testing.Short() {
		step = 7
	}
	failures := 0
	for _, call := range calls {
		ahead := filepath.Join(k.dir, "ahead.store")
		k.copy(base, ahead)
		k.must(ahead, call...)
		after := k.holds(ahead)
		for n := 1; ; n += step {
			what := call[0] + " with failure " + itoa(n)
			k.copy(base, path)
			number := []syscall.Errno{syscall.EIO, syscall.ENOSPC}[n/2%2]
			hit := failAt(disk, n, number)
			status, out, errs := runFaulty(t, path, call)
			disk.Fail(nil)
			k.copy(path, seen)
			got := k.holds(seen)
			switch {
			case status == statusDone && got == after:
			case status == statusFailed && got == before && out == "" && strings.HasPrefix(errs, "packwane: ") && strings.Count(errs, "\n") == 1:
				failures++
			default:
				t.Errorf("%s (%v at %+v): status %d, as before %v, as after %v; it says %q %q", what, number, hit.Load(), status, got == before, got == after, out, errs)
			}
			if status, _, errs := runFaulty(t, path, []string{"verify"}); status != statusDone {
				t.Errorf("%s: the next call: %s", what, errs)
			}
			if hit.Load() == nil {
				break
			}
		}
	}
	t.Logf("%d calls failed", failures)
}

// failAt lets the disk fail at the n-th thing that is done to it and says what
// that was, once it has happened.
func failAt(disk *faultdisk.Disk, n int, number syscall.Errno) *atomic.Pointer[faultdisk.Op] {
	var hit atomic.Pointer[faultdisk.Op]
	count := 0
	disk.Fail(func(op faultdisk.Op) syscall.Errno {
		if op.Kind == faultdisk.Read {
			return 0
		}
		if count++; count != n {
			return 0
		}
		hit.Store(&faultdisk.Op{Kind: op.Kind, Name: op.Name, To: op.To, At: op.At})
		return number
	})
	return &hit
}

func runFaulty(t *testing.T, path string, call []string) (status int, out, errs string) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Args = append([]string{"packwane"}, argsFor(path, call)...)
	c.Env = append(os.Environ(), "NOW="+scriptNow)
	var o, e bytes.Buffer
	c.Stdout, c.Stderr = &o, &e
	if err := c.Run(); err != nil && c.ProcessState == nil {
		t.Fatal(err)
	}
	return c.ProcessState.ExitCode(), o.String(), e.String()
}
