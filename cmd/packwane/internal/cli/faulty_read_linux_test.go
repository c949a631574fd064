package cli

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"packwane/store/faultdisk"
)

// TestUnreadableDisk lets the disk refuse to be read from some moment of a call
// on, where the file is read and where it is mapped. The call says so in one
// line with status 1, and leaves the log as it was; the next call works.
func TestUnreadableDisk(t *testing.T) {
	disk := faultdisk.Mount(t)
	k := &killTest{t: t, dir: memoryDir(t)}
	path := filepath.Join(disk.Path, "log.store")
	seen := filepath.Join(k.dir, "seen.store")
	base := filepath.Join(k.dir, "base.store")
	growth := int64(3) // from failure to failure
	if *killRounds > 0 {
		growth = 1
	}
	k.must(base, "import", k.write("base.jsonl", 3000)) // the system reads ahead: a small file is read at once
	k.must(base, "backup", base+".backup")
	before := k.holds(base)
	failures := 0
	for _, call := range [][]string{
		{"list"}, {"list", "--json"}, {"verify"}, {"health", "reed-a"}, {"export", filepath.Join(k.dir, "out.csv")},
		{"import", k.write("more.jsonl", 30)},
		{"log", "ride", "distance=7km", "moving=20m", "at=2026-05-02 12:00"},
		{"undo"}, {"compact"}, {"backup", "STORE.backup"}, {"salvage", filepath.Join(k.dir, "whole.jsonl"), "--force"},
	} {
		ahead := filepath.Join(k.dir, "ahead.store")
		k.copy(base, ahead)
		k.peace(ahead, call)
		after := k.holds(ahead)
		k.copy(base, path)
		_, calm, _ := runFaulty(t, path, call)
		for n := int64(1); ; n = n*growth + 1 {
			k.copy(base, path)
			var reads atomic.Int64
			disk.Fail(func(op faultdisk.Op) syscall.Errno {
				if op.Kind == faultdisk.Read && reads.Add(1) >= n {
					return syscall.EIO
				}
				return 0
			})
			status, out, errs := runFaulty(t, path, call)
			disk.Fail(nil)
			if reads.Load() < n {
				break
			}
			k.copy(path, seen)
			got := k.holds(seen)
			switch {
			case status == statusDone && got == after && (out == calm || call[0] == "salvage"): // it had what it needed; a salvage takes what there is, and says so
			case status == statusFailed && got == before && strings.HasPrefix(errs, "packwane: ") && strings.Contains(errs, "the disk failed (input/output error)") && strings.Count(errs, "\n") == 1:
				failures++
			default:
				t.Errorf("%v, unreadable from read %d on: status %d, as before %v; it says %q %s", call, n, status, got == before, out, errs)
			}
			if status, _, errs := runFaulty(t, path, []string{"verify"}); status != statusDone {
				t.Errorf("%v: the next call: %s", call, errs)
			}
		}
	}
	t.Logf("%d calls could not read", failures)
}

// TestServeUnreadableDisk: the page says that something is wrong, the terminal
// what, and the server goes on when the disk does.
func TestServeUnreadableDisk(t *testing.T) {
	disk := faultdisk.Mount(t)
	k := &killTest{t: t, dir: memoryDir(t)}
	path := filepath.Join(disk.Path, "log.store")
	base := filepath.Join(k.dir, "base.store")
	k.must(base, "import", k.write("base.jsonl", 3000))
	k.copy(base, path)
	serve := program(path, "serve", "--json", "--listen", "127.0.0.1:0")
	var errs bytes.Buffer
	serve.Stderr = &errs
	pipe, err := serve.StdoutPipe()
	if err == nil {
		err = serve.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	defer serve.Process.Kill()
	var page struct{ URL string }
	if err := json.NewDecoder(pipe).Decode(&page); err != nil {
		t.Fatal(err)
	}
	get := func() int {
		r, err := http.Get(page.URL + "records?pack=reed-a")
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		return r.StatusCode
	}
	for n := int64(1); n < 60; n = n*3 + 1 {
		var reads atomic.Int64
		disk.Fail(func(op faultdisk.Op) syscall.Errno {
			if op.Kind == faultdisk.Read && reads.Add(1) >= n {
				return syscall.EIO
			}
			return 0
		})
		if status := get(); status != http.StatusInternalServerError {
			t.Errorf("unreadable from read %d on: status %d, want 500", n, status)
		}
		disk.Fail(nil)
		if status := get(); status != http.StatusOK {
			t.Errorf("readable again: status %d, want 200", status)
		}
	}
	if err := serve.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := serve.Wait(); err != nil {
		t.Errorf("%v: %s", err, errs.String())
	}
	for line := range strings.Lines(errs.String()) {
		if !strings.HasPrefix(line, "packwane: ") || !strings.Contains(line, "the disk failed (input/output error)") {
			t.Errorf("the terminal is told %q", line)
		}
	}
	if errs.Len() == 0 {
		t.Error("the terminal is told nothing")
	}
}
