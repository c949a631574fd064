package cli

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"packwane/store"
)

var update = flag.Bool("update", false, "write the golden parts of the scripts anew")

// scriptNow is the moment at which the scripts run, unless their variable NOW
// says another.
const scriptNow = "2026-05-03T12:00:00+02:00"

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"packwane": func() { os.Exit(Main(os.Args[1:], System(), scriptClock)) },
	})
}

func scriptClock() time.Time {
	t, err := time.Parse(time.RFC3339, os.Getenv("NOW"))
	if err != nil {
		panic(err)
	}
	return t
}

// TestScripts runs the program as a person or a script would. Beside the usual
// commands there are:
//
//	status N packwane ...   run and ask for that very exit status
//	refused N packwane ...  the same, and exactly one line on standard error
//	                        that begins "packwane: ", none on standard output
//	longline FILE BYTES     make a file of one line
//	manyrides FILE N        make a file of N rides
//	bytes FILE HEX          make a file of bytes
//	holdstore FILE          hold the store for ever, as another program would
//	waits FILE packwane ... hold the store until the command says that it waits
//	hurt FILE TEXT          change a letter of the text wherever it stands
//	cut FILE PERCENT        keep so much of a file
//	newer FILE              make a store of a format that is not known yet
//	nobody N packwane ...   refused, run as another user (condition root)
//	smalldisk DIR BYTES     mount a small disk (condition mount)
//	full N packwane ...     refused, with no room for the output (condition full)
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Setup: func(env *testscript.Env) error {
			env.Setenv("NOW", scriptNow)
			env.Setenv("XDG_DATA_HOME", env.WorkDir+"/data")
			env.Setenv("XDG_CACHE_HOME", env.WorkDir+"/cache")
			return nil
		},
		Cmds: commands,
		Condition: func(name string) (bool, error) {
			holds := conditions[name]
			return holds != nil && holds(), nil
		},
	})
}

// commands and conditions are those of the scripts; what only some systems have
// is added by their files.
var commands = map[string]func(*testscript.TestScript, bool, []string){
	"status":    cmdStatus,
	"refused":   cmdRefused,
	"longline":  cmdLongLine,
	"holdstore": cmdHoldStore,
	"waits":     cmdWaits,
	"manyrides": cmdManyRides,
	"bytes":     cmdBytes,
	"hurt":      cmdHurt,
	"cut":       cmdCut,
	"newer":     cmdNewer,
}

var conditions = map[string]func() bool{}

func wantStatus(ts *testscript.TestScript, neg bool, args []string) int {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command [args...]")
	}
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	return n
}

func checkStatus(ts *testscript.TestScript, want int, err error, stderr string) {
	got := 0
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d; standard error: %s", got, want, stderr)
	}
}

func cmdStatus(ts *testscript.TestScript, neg bool, args []string) {
	want := wantStatus(ts, neg, args)
	err := ts.Exec(args[1], args[2:]...)
	checkStatus(ts, want, err, ts.ReadFile("stderr"))
}

func cmdRefused(ts *testscript.TestScript, neg bool, args []string) {
	cmdStatus(ts, neg, args)
	checkOneLine(ts, ts.ReadFile("stdout"), ts.ReadFile("stderr"))
}

func checkOneLine(ts *testscript.TestScript, stdout, stderr string) {
	if stdout != "" {
		ts.Fatalf("standard output is not empty: %q", stdout)
	}
	if !strings.HasPrefix(stderr, "packwane: ") || strings.Count(stderr, "\n") != 1 || !strings.HasSuffix(stderr, "\n") {
		ts.Fatalf("standard error is not one line: %q", stderr)
	}
	if len(stderr) > 600 {
		ts.Fatalf("standard error is %d bytes long", len(stderr))
	}
}

func cmdLongLine(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	line := append([]byte(`{"record":"board","id":"`), bytes.Repeat([]byte{'a'}, n)...)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), append(line, "\"}\n"...), 0o644))
}

func cmdHoldStore(ts *testscript.TestScript, _ bool, args []string) {
	s, err := store.Open(ts.MkAbs(args[0]), store.ReadWrite)
	ts.Check(err)
	ts.Defer(func() { s.Close() })
}

// cmdWaits lets go of the store when the command has said that it waits,
// however long it took to begin; the command must then be done.
func cmdWaits(ts *testscript.TestScript, _ bool, args []string) {
	s, err := store.Open(ts.MkAbs(args[0]), store.ReadWrite)
	ts.Check(err)
	let := sync.OnceFunc(func() { s.Close() })
	defer let()
	program, err := exec.LookPath(args[1])
	ts.Check(err)
	c := exec.Command(program, args[2:]...)
	c.Dir = ts.MkAbs(".")
	c.Env = append(os.Environ(), "NOW="+ts.Getenv("NOW"), "HOME="+ts.Getenv("WORK"))
	pipe, err := c.StderrPipe()
	ts.Check(err)
	ts.Check(c.Start())
	var said bytes.Buffer
	for r := bufio.NewReader(pipe); ; {
		b, err := r.ReadByte()
		if err != nil {
			break
		}
		if said.WriteByte(b); strings.HasSuffix(said.String(), "waiting up to 10 s ...") {
			let()
		}
	}
	checkStatus(ts, 0, c.Wait(), said.String())
	if want := "packwane: " + args[0] + " is locked: process "; !strings.HasPrefix(said.String(), want) || !strings.HasSuffix(said.String(), " may hold it; waiting up to 10 s ... done\n") {
		ts.Fatalf("standard error is %q", said.String())
	}
}

// cmdManyRides writes so many rides of the pack reed-a, one a minute.
func cmdManyRides(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	var b bytes.Buffer
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range n {
		fmt.Fprintf(&b, `{"record":"ride","id":"many-%d","pack":"reed-a","at":%q,"distance_km":%d}`+"\n", i, at.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), i%40)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o644))
}

// cmdBytes writes a file of the bytes that are given in hexadecimal.
func cmdBytes(ts *testscript.TestScript, _ bool, args []string) {
	b, err := hex.DecodeString(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o644))
}

// cmdHurt changes one bit of a text in a file, wherever it stands.
func cmdHurt(ts *testscript.TestScript, _ bool, args []string) {
	b, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	other := []byte(args[1])
	other[0] ^= 1
	hurt := bytes.ReplaceAll(b, []byte(args[1]), other)
	if bytes.Equal(hurt, b) {
		ts.Fatalf("%s does not hold %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), hurt, 0o600))
}

// cmdCut keeps so many percent of a file.
func cmdCut(ts *testscript.TestScript, _ bool, args []string) {
	percent, err := strconv.Atoi(args[1])
	ts.Check(err)
	info, err := os.Stat(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(args[0]), info.Size()*int64(percent)/100))
}

// cmdNewer copies a store that says it was written by a program of the future.
func cmdNewer(ts *testscript.TestScript, _ bool, args []string) {
	b, err := os.ReadFile(filepath.Join(storeTestdata, "format-9999.store"))
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o600))
}

// storeTestdata is the testdata of the package store, from anywhere.
var storeTestdata = func() string {
	dir, err := filepath.Abs("../../../../store/testdata")
	if err != nil {
		panic(err)
	}
	return dir
}()
