package store

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
)

// crashOp does the k-th of an endless sequence of operations, which is the
// same in every process. Each opens the store as a command does.
func crashOp(path string, k int) error {
	rng := rand.New(rand.NewPCG(412, uint64(k)))
	if k == 0 {
		return withStore(path, func(s *Store) error { return importInto(s, fleet(2, 40)) })
	}
	switch rng.IntN(9) {
	case 0, 1: // imports of a few to many: in one transaction or into a new file
		list := make([]logbook.Record, 1+rng.IntN(300))
		for i := range list {
			list[i] = ride(fmt.Sprintf("op-%d-%d", k, i), "pack-0", "board-1", 1, noon.Add(time.Duration(rng.IntN(9000))*time.Minute), 7)
		}
		return withStore(path, func(s *Store) error { return importInto(s, list) })
	case 2: // amend
		return withStore(path, func(s *Store) error {
			id := fmt.Sprintf("ride-%d", rng.IntN(40))
			r, err := s.Get(logbook.KindRide, id)
			if err != nil {
				return err
			}
			rev := logbook.HeadOf(r).Rev
			amended := ride(id, "pack-1", "", 1, noon, float64(k))
			_, err = s.Put(amended, rev, "crash test", noon)
			return err
		})
	case 3: // undo, which may be of an import
		return withStore(path, func(s *Store) error { return ignore(ErrNothing, second(s.Undo(noon))) })
	case 4:
		return second(backup(path, path+".backup", false))
	case 5:
		return withStore(path, func(s *Store) error {
			_, _, err := s.Compact()
			return err
		})
	case 6:
		return crashRestore(path)
	case 7:
		return crashUpgrade(path)
	}
	return withStore(path, func(s *Store) error {
		// pack-1 may be gone, where much was undone
		return ignore(ErrReference, second(s.Put(ride(fmt.Sprintf("put-%d", k), "pack-1", "", 1, noon, 5), 0, "", noon)))
	})
}

// crashRestore puts the last backup in the place of the store, where there is
// one.
func crashRestore(path string) error {
	_, _, err := Restore(path, path+".backup", noon, nil)
	return ignore(ErrNoStore, err)
}

// crashUpgrade has an older program leave the log in its own format, at one
// stroke, and opens that as the next command does.
func crashUpgrade(path string) error {
	s, err := Open(path, ReadOnly)
	if err != nil {
		return err
	}
	records, err := everything(s)
	if err = errors.Join(err, s.Close()); err != nil {
		return err
	}
	name := path + freshMark + "older"
	if err := writeOlder(name, records); err != nil {
		return err
	}
	if err := moveInto(name, path); err != nil {
		return err
	}
	return withStore(path, func(*Store) error { return nil })
}

func everything(s *Store) ([]logbook.Record, error) {
	var list []logbook.Record
	for r, err := range s.All(true) {
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

func ignore(what, err error) error {
	if errors.Is(err, what) {
		return nil
	}
	return err
}

func withStore(path string, fn func(*Store) error) error {
	s, err := Open(path, ReadWrite)
	if err != nil {
		return err
	}
	err = fn(s)
	return errors.Join(err, s.Close())
}

// crashChild does operations from the given one on until it is killed, and
// tells of each that is done.
func crashChild(path, from string) int {
	bulk = 150
	readers[0] = readOlder
	steps := os.Getenv("PACKWANE_TEST_STEPS") != ""
	if !steps { // on a slow disk without many small temporary files
		memoryLimit = 4 << 10
	}
	next := bufio.NewReader(os.Stdin)
	k, _ := strconv.Atoi(from)
	for ; ; k++ {
		if err := crashOp(path, k); err != nil {
			fmt.Fprintln(os.Stderr, k, err)
			return 1
		}
		fmt.Println(k)
		if steps {
			if _, err := next.ReadString('\n'); err != nil {
				return 0
			}
		}
	}
}

// ideal is what the store holds after each operation, where nothing happens.
type ideal struct {
	t        *testing.T
	path     string
	want     []string
	replaced map[int]string // what the store held before an operation that replaced it and kept the old file
}

// kept lists the files that operations left beside the store.
func (i *ideal) kept(pattern string) []string {
	i.t.Helper()
	return must(filepath.Glob(i.path + pattern))(i.t)
}

func (i *ideal) after(k int) string {
	i.t.Helper()
	for len(i.want) <= k {
		beside := len(i.kept(".*-*"))
		if err := crashOp(i.path, len(i.want)); err != nil {
			i.t.Fatal(err)
		}
		if n := len(i.want); len(i.kept(".*-*")) > beside {
			if i.replaced == nil {
				i.replaced = map[int]string{}
			}
			i.replaced[n] = i.want[n-1]
		}
		s := open(i.t, i.path, ReadOnly)
		i.want = append(i.want, export(i.t, s, true))
		s.Close()
	}
	return i.want[k]
}

// Killed at any point, the store holds every operation that was acknowledged
// and the one after whole or not at all, and the next command just works.
func TestKilled(t *testing.T) {
	set(t, &bulk, 150)
	readsOlder(t)
	set(t, &lockWait, 20*time.Second) // of a loaded machine
	dir := memoryDir(t)               // what is killed is the program, not the disk
	path := filepath.Join(dir, "killed")
	calm := &ideal{t: t, path: filepath.Join(dir, "ideal")}
	after := calm.after
	rng := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 0))
	next := 0
	within := 120 * time.Millisecond
	for round, enough := 0, rounds(3, 20); round < enough || next == 0; round++ {
		acked := killOne(t, path, next, time.Duration(rng.Int64N(int64(within))))
		if acked >= 0 {
			next = acked + 1
		}
		if next == 0 { // killed before it began: a slow machine takes longer to
			within *= 2
		}
		s, err := Open(path, ReadWrite)
		if err != nil {
			t.Fatalf("after the crash: %v", err)
		}
		if _, err := s.Verify(); err != nil && !errors.Is(err, ErrNoStore) {
			t.Fatal(err)
		}
		got := export(t, s, true)
		s.Close()
		switch {
		case next > 0 && got == after(next-1) || next == 0 && got == "":
		case got == after(next):
			next++
		default:
			t.Fatalf("after operation %d the store holds neither what it should nor what the next one makes of it", next-1)
		}
	}
	t.Logf("%d operations", next)
	if _, err := backup(path, path+".backup", false); err != nil {
		t.Error(err) // it also sweeps away what a killed backup left
	}
	for _, p := range []string{path, path + ".backup", calm.path} {
		check(t, p)
	}
}

// killOne runs a child from operation next on, kills it after a while and
// returns the last operation that it acknowledged, or -1.
func killOne(t *testing.T, path string, next int, while time.Duration) int {
	t.Helper()
	child := exec.Command(os.Args[0], "-test.run=^$")
	child.Env = append(os.Environ(), "PACKWANE_TEST_CHILD="+path, "PACKWANE_TEST_FROM="+strconv.Itoa(next))
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(while, func() { child.Process.Kill() })
	defer timer.Stop()
	acked := -1
	lines := bufio.NewReader(out)
	for {
		line, err := lines.ReadString('\n')
		if err != nil {
			if line != "" || err != io.EOF {
				t.Logf("child said %q, %v", line, err)
			}
			break
		}
		if acked, err = strconv.Atoi(line[:len(line)-1]); err != nil {
			t.Fatal(err)
		}
	}
	if err := child.Wait(); err == nil || child.ProcessState.ExitCode() == 1 {
		t.Fatalf("the child ended by itself: %v", err)
	}
	return acked
}
