//go:build linux

package store

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"packwane/store/faultdisk"
)

// recorded is what a disk saw of a sequence of operations.
type recorded struct {
	disk *faultdisk.Disk
	acks []int // how much had been done to the disk when operation k was acknowledged
	at   []int // the same, when it began
}

// record runs operations on a store on a disk that takes notes, in another
// process.
func record(t *testing.T, operations int) *recorded {
	t.Helper()
	r := &recorded{disk: faultdisk.Mount(t)}
	r.disk.Begin(t)
	child := exec.Command(os.Args[0], "-test.run=^$")
	child.Env = append(os.Environ(), "PACKWANE_TEST_CHILD="+filepath.Join(r.disk.Path, "log"), "PACKWANE_TEST_FROM=0", "PACKWANE_TEST_STEPS=1")
	child.Stderr = os.Stderr
	in, err := child.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	for k := range operations {
		r.at = append(r.at, len(r.disk.Ops()))
		line, err := lines.ReadString('\n')
		if err != nil || line != fmt.Sprintln(k) {
			child.Process.Kill()
			t.Fatalf("operation %d: %q, %v", k, line, err)
		}
		r.acks = append(r.acks, len(r.disk.Ops()))
		if k < operations-1 {
			io.WriteString(in, "\n")
		}
	}
	in.Close()
	if err := child.Wait(); err != nil {
		t.Fatal(err)
	}
	return r
}

// acked is how many operations had been acknowledged after n ops of the disk.
func (r *recorded) acked(n int) int {
	for k, at := range r.acks {
		if at > n {
			return k
		}
	}
	return len(r.acks)
}

// After a power cut at any moment the store holds what was acknowledged before
// it, and what was under way whole or not at all; a backup is whole, the old or
// the new one; what a restore or an upgrade replaced stands beside it; and the
// next operations work. The disk may keep any part of what was not synced.
func TestPowerCut(t *testing.T) {
	set(t, &bulk, 150)
	readsOlder(t)
	r := record(t, 40)
	calm := &ideal{t: t, path: filepath.Join(memoryDir(t), "ideal")}
	seed := uint64(time.Now().UnixNano())
	rng := rand.New(rand.NewPCG(seed, 1))
	total := len(r.disk.Ops())
	mid := 0
	for range rounds(20, 60) {
		n := rng.IntN(total + 1)
		dir := memoryDir(t)
		if err := r.disk.Cut(dir, n, rng); err != nil {
			t.Fatal(err)
		}
		what := fmt.Sprintf("seed %d, cut after %d of %d", seed, n, total)
		path := filepath.Join(dir, "log")
		k := r.acked(n)
		got := holdsAfterCut(t, what, path)
		switch {
		case k > 0 && got == calm.after(k-1) || k == 0 && got == "":
		case k < len(r.acks) && got == calm.after(k):
			mid++
		default:
			t.Fatalf("%s: after %d acknowledged operations the store holds something else", what, k)
		}
		if _, err := os.Stat(path + ".backup"); err == nil {
			if _, err := verifyFile(path + ".backup"); err != nil {
				t.Fatalf("%s: the backup: %v", what, err)
			}
		}
		keptAfterCut(t, what, path, r.acked(n), calm)
		os.RemoveAll(dir)
	}
	calm.after(len(r.acks) - 1)
	restored, upgraded := len(calm.kept(".kept-*")), len(calm.kept(".format-0*"))
	t.Logf("%d things done to the disk by %d operations, among them %d restores and %d upgrades; %d cuts found the one under way done", total, len(r.acks), restored, upgraded, mid)
	if restored == 0 || upgraded == 0 {
		t.Error("the operations do not restore and upgrade")
	}
}

// holdsAfterCut opens the store as the next command would and returns what it
// holds.
func holdsAfterCut(t *testing.T, what, path string) string {
	t.Helper()
	s, err := Open(path, ReadWrite)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	defer s.Close()
	if _, err := s.Verify(); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	got := export(t, s, true)
	if strings.Contains(got, "pack-0") {
		must(s.Put(ride("next", "pack-0", "", 1, noon, 3), 0, "", noon))(t)
	}
	for _, name := range beside(t, path) {
		if strings.HasPrefix(name, "log"+freshMark) && path+strings.TrimPrefix(name, "log") != s.fresh {
			t.Errorf("%s: %s is still there", what, name)
		}
	}
	return got
}

// keptAfterCut looks at what restores and upgrades left beside the store: for
// each that was acknowledged a file that holds what the store held before it.
func keptAfterCut(t *testing.T, what, path string, acked int, calm *ideal) {
	t.Helper()
	kept := map[string]int{}
	for _, name := range beside(t, path) {
		if strings.Contains(name, ".kept-") || strings.Contains(name, ".format-0") {
			moved := filepath.Join(memoryDir(t), "moved")
			if _, _, err := Restore(moved, filepath.Join(filepath.Dir(path), name), noon, nil); err != nil {
				t.Fatalf("%s: what was kept as %s: %v", what, name, err)
			}
			kept[export(t, open(t, moved, ReadOnly), true)]++
		}
	}
	for k := range acked {
		if beforehand, replaced := calm.replaced[k]; replaced {
			if kept[beforehand]--; kept[beforehand] < 0 {
				t.Fatalf("%s: operation %d replaced the store, and nothing beside it holds what was there", what, k)
			}
		}
	}
}

// The test of power cuts must find a program that does not sync: without the
// syncs of files and folders, what was acknowledged is lost.
func TestPowerCutIsSeen(t *testing.T) {
	r := record(t, 6)
	rng := rand.New(rand.NewPCG(3, 3))
	lost := 0
	for range 40 {
		dir := memoryDir(t)
		forgetful := r.disk.Without(faultdisk.Sync, faultdisk.SyncDir)
		if err := forgetful.Cut(dir, len(forgetful.Ops()), rng); err != nil {
			t.Fatal(err)
		}
		if _, err := verifyFile(filepath.Join(dir, "log")); err != nil {
			lost++
		}
	}
	if lost < 20 {
		t.Errorf("without any sync only %d of 40 stores are lost", lost)
	}
}
