package cli

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/store"
)

// killRounds is for long runs:
// go test ./cmd/packwane/internal/cli -run Killed -args -rounds 500
var killRounds = flag.Int("rounds", 0, "kill the program so often")

// killTest is a store that is worked on by a program that gets killed, and a
// second one that the same calls shape in peace.
type killTest struct {
	t           *testing.T
	dir         string
	store, calm string
	rng         *rand.Rand
	took        map[string]time.Duration // what a call takes undisturbed, by command
	calls       int
}

// TestKilled kills the program at random moments of all that it writes. What it
// acknowledged is there; what it did not is there whole or not at all; and the
// next call works without help.
func TestKilled(t *testing.T) {
	rounds := 12
	switch {
	case *killRounds > 0:
		rounds = *killRounds
	case testing.Short():
		rounds = 4
	}
	seed := uint64(time.Now().UnixNano())
	k := &killTest{t: t, dir: memoryDir(t), rng: rand.New(rand.NewPCG(seed, 0)), took: map[string]time.Duration{}}
	k.store, k.calm = filepath.Join(k.dir, "log.store"), filepath.Join(k.dir, "calm.store")
	t.Logf("seed %d", seed)
	k.write("base.jsonl", 80)
	for _, path := range []string{k.store, k.calm} {
		k.must(path, "import", filepath.Join(k.dir, "base.jsonl"))
		k.must(path, "backup", path+".backup")
	}
	killed, done := 0, 0
	// the first call of each kind only tells how long such a call takes
	for killed+done < rounds || killed < rounds/5 && killed+done < 10*rounds {
		if k.round() {
			killed++
		} else {
			done++
		}
	}
	t.Logf("%d calls killed, %d had ended before", killed, done)
	if killed < rounds/5 {
		t.Errorf("only %d of %d calls were killed", killed, killed+done)
	}
	k.must(k.store, "verify")
	k.must(k.store, "pack", "add", "spare", "series=10") // sweeps what was left; undo may have taken the other pack out
	k.must(k.store, "backup", k.store+".backup")
	k.must(k.store+".backup", "verify")
	left, err := filepath.Glob(filepath.Join(k.dir, "*.new-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// write makes a file of rides that no other file holds.
func (k *killTest) write(name string, n int) string {
	var b bytes.Buffer
	if name == "base.jsonl" {
		b.WriteString(`{"record":"pack","id":"reed-a","series":10}` + "\n")
	}
	at := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range n {
		k.calls++
		fmt.Fprintf(&b, `{"record":"ride","id":"ride-%d","pack":"reed-a","at":%q,"distance_km":%d}`+"\n", k.calls, at.Add(time.Duration(k.calls)*time.Minute).Format(time.RFC3339), 1+i%40)
	}
	path := filepath.Join(k.dir, name)
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		k.t.Fatal(err)
	}
	return path
}

// call is one of the calls that change something. Each can be made of either
// store.
func (k *killTest) call() []string {
	id := fmt.Sprintf("ride-%d", 1+k.rng.IntN(80))
	k.calls++
	switch k.rng.IntN(9) {
	case 0, 1:
		return []string{"import", k.write("more.jsonl", 1+k.rng.IntN(200))}
	case 2:
		return []string{"log", "ride", fmt.Sprintf("distance=%d.5km", 1+k.calls%30), "moving=50m", fmt.Sprintf("at=2026-04-%02d %02d:%02d", 1+k.calls%28, k.calls/28%24, k.calls/672%60)}
	case 3:
		return []string{"amend", id, fmt.Sprintf("distance=%d.%02dkm", 1+k.calls%30, k.calls%100)}
	case 4:
		return []string{"undo"}
	case 5:
		return []string{"remove", id}
	case 6:
		return []string{"compact"}
	case 7:
		return []string{"backup", "STORE.backup"}
	}
	return []string{"restore", "STORE.backup", "--yes"}
}

func argsFor(path string, call []string) []string {
	args := []string{"--store", path}
	for _, a := range call {
		args = append(args, strings.Replace(a, "STORE", path, 1))
	}
	return args
}

// must makes a call in peace, in this process.
func (k *killTest) must(path string, call ...string) {
	k.t.Helper()
	if status, errs := k.peace(path, call); status != statusDone {
		k.t.Fatalf("%v: status %d: %s", call, status, errs)
	}
}

func (k *killTest) peace(path string, call []string) (int, string) {
	var out, errs bytes.Buffer
	streams := Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Getenv: func(string) string { return "" }}
	status := Main(argsFor(path, call), streams, scriptTime)
	return status, errs.String()
}

func scriptTime() time.Time {
	t, err := time.Parse(time.RFC3339, scriptNow)
	if err != nil {
		panic(err)
	}
	return t
}

// round makes one call, kills it somewhere, and compares.
func (k *killTest) round() (killed bool) {
	k.t.Helper()
	call := k.call()
	before := k.holds(k.calm)
	copyTo := k.calm + ".ahead"
	k.copy(k.calm, copyTo)
	k.copy(k.calm+".backup", copyTo+".backup")
	status, _ := k.peace(copyTo, call) // it may be refused: nothing to undo, removed already
	after := k.holds(copyTo)

	acknowledged, killed := k.kill(call, status)
	switch got := k.holds(k.store); {
	case got == after && (acknowledged || before == after):
		k.advance(copyTo)
	case acknowledged:
		k.t.Fatalf("%v was acknowledged, and the store does not hold it", call)
	case got == after:
		k.advance(copyTo)
	case got != before:
		k.t.Fatalf("%v was killed, and the store holds neither what it did before nor what it should after", call)
	}
	if call[0] == "backup" { // there is a whole one, old or new
		if got := k.holds(k.store + ".backup"); got != k.holds(copyTo+".backup") && got != k.holds(k.calm+".backup") {
			k.t.Fatal("a killed backup left another than the old or the new one")
		}
		k.copy(k.store+".backup", k.calm+".backup")
	}
	if kept, _ := filepath.Glob(k.store + ".kept-*"); call[0] == "restore" {
		for _, name := range kept {
			os.Remove(name)
		}
	}
	return killed
}

// advance takes over what a call made of the calm store.
func (k *killTest) advance(ahead string) { k.copy(ahead, k.calm) }

func (k *killTest) copy(from, to string) {
	k.t.Helper()
	b, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, b, 0o600)
	}
	if err != nil {
		k.t.Fatal(err)
	}
}

// holds is all that a store holds: every revision, and what can be undone.
func (k *killTest) holds(path string) string {
	k.t.Helper()
	s, err := store.Open(path, store.ReadOnly)
	if err != nil {
		k.t.Fatal(err)
	}
	defer s.Close()
	var b []byte
	for r, err := range s.All(true) {
		if err != nil {
			k.t.Fatal(err)
		}
		b = append(logbook.AppendJSON(b, r), '\n')
	}
	actions, err := s.Actions(0)
	if err != nil {
		k.t.Fatal(err)
	}
	for _, a := range actions {
		why, _, _ := strings.Cut(a.Why, " /") // the folder differs
		b = fmt.Appendf(b, "%d %s %s %v\n", a.Seq, a.Op, why, a.Undone)
	}
	return string(b)
}

// kill runs the built program and kills it after a while: somewhere within the
// time that such calls take, mostly late, where they write.
func (k *killTest) kill(call []string, want int) (acknowledged, killed bool) {
	k.t.Helper()
	c := exec.Command(os.Args[0])
	c.Args = append([]string{"packwane"}, argsFor(k.store, call)...)
	c.Env = append(os.Environ(), "NOW="+scriptNow)
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	name := call[0]
	usual, known := k.took[name]
	began := time.Now()
	if err := c.Start(); err != nil {
		k.t.Fatal(err)
	}
	if known {
		share := 0.2 + 0.9*k.rng.Float64()
		timer := time.AfterFunc(time.Duration(share*float64(usual)), func() { c.Process.Kill() })
		defer timer.Stop()
	}
	err := c.Wait()
	took := time.Since(began)
	var exit *exec.ExitError
	switch {
	case err == nil && want == statusDone:
	case errors.As(err, &exit) && exit.ExitCode() < 0:
		killed = true
	case exit != nil && exit.ExitCode() == want:
		return false, false
	default:
		k.t.Fatalf("%v: %v: %s", call, err, errs.String())
	}
	if !killed && known {
		took = (took + usual) / 2
	}
	if !killed || took > usual {
		k.took[name] = took
	}
	return !killed || out.Len() > 0, killed
}

// memoryDir is a temporary folder in memory where there is one: what is killed
// is the program, not the disk, and a disk takes its time.
func memoryDir(t *testing.T) string {
	dir, err := os.MkdirTemp("/dev/shm", "packwane-test-*")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}
