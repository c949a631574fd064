package cli

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// fleetStyles are the ways in which the boards of the invented fleet are
// ridden and their logs are kept, in turn.
var fleetStyles = []simulate.Style{simulate.Rich, simulate.WallOnly, simulate.Messy, simulate.Flat}

// fleetRecords is how many records a pack of the fleet has, the pack and its
// board among them.
const fleetRecords = 500

// writeFleet writes the log of an invented rental fleet of so many packs as JSON
// Lines, as the simulator makes it. Each pack has a board of its own; all packs
// of one chemistry have the same cells, so that each has hundreds of siblings.
func writeFleet(w io.Writer, packs int) error {
	out := logbook.NewJSONWriter(w)
	for n := range packs {
		list, err := fleetPack(n)
		if err != nil {
			return err
		}
		for _, r := range list {
			if err := out.Write(r); err != nil {
				return err
			}
		}
	}
	return out.Close()
}

// fleetPack gives the first records of one pack's log.
func fleetPack(n int) ([]logbook.Record, error) {
	cfg := simulate.Preset(fleetStyles[n%len(fleetStyles)], uint64(n))
	cfg.Pack.ID, cfg.Board.ID = fmt.Sprintf("fleet-%04d", n), fmt.Sprintf("deck-%04d", n)
	cfg.Pack.Name, cfg.Board.Name = fmt.Sprintf("Fleet pack %d (invented)", n), fmt.Sprintf("Deck %d (invented)", n)
	for ; ; cfg.Years *= 2 {
		log, err := simulate.Run(cfg)
		if err != nil || len(log.Records) >= fleetRecords {
			return log.Records[:min(fleetRecords, len(log.Records))], err
		}
	}
}

// BenchmarkFleet runs the built program on the fleet and prints what each command
// took: seconds from begin to end, seconds of the processors, MiB of memory of
// its own and MiB with what it maps of the store's file. PACKWANE_FLEET_PACKS
// says how many packs (20; 2000 make a million records), PACKWANE_FLEET_FILE
// where the log is kept, to be used again.
//
//	PACKWANE_FLEET_PACKS=2000 go test ./cmd/packwane/internal/cli -run - -bench Fleet -benchtime 1x -timeout 2h
func BenchmarkFleet(b *testing.B) {
	packs, err := strconv.Atoi(os.Getenv("PACKWANE_FLEET_PACKS"))
	if err != nil {
		packs = 20
	}
	dir := b.TempDir()
	program := filepath.Join(dir, "packwane")
	if out, err := exec.Command("go", "build", "-o", program, "packwane/cmd/packwane").CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	file := os.Getenv("PACKWANE_FLEET_FILE")
	if file == "" {
		file = filepath.Join(dir, "fleet.jsonl")
	}
	if _, err := os.Stat(file); err != nil {
		f, err := os.Create(file)
		if err == nil {
			err = writeFleet(f, packs)
		}
		if err == nil {
			err = f.Close()
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		os.Remove(filepath.Join(dir, "log.store"))
		for _, call := range []string{
			"import " + file, "import " + file, "pack list", "list --limit 50", "list --limit 50 --offset 5000", "list --kind ride --since 2025-01-01 --until 2025-01-31",
			"list --json", "list fleet-0007", "health fleet-0007", "health fleet-0007", "due --json", "due --json", "audit --json", "export " + dir + "/out.csv", "backup " + dir + "/copy.store",
		} {
			runFleet(b, dir, program, strings.Fields(call))
		}
	}
}

func runFleet(b *testing.B, dir, program string, args []string) {
	c := exec.Command(program, args...)
	c.Env = append(os.Environ(), "PACKWANE_STORE="+dir+"/log.store", "XDG_CACHE_HOME="+dir+"/cache")
	c.Stdout = io.Discard
	began := time.Now()
	if err := c.Start(); err != nil {
		b.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- c.Wait() }()
	own, all := 0, 0
	for tick := time.NewTicker(5 * time.Millisecond); ; {
		select {
		case <-tick.C:
			o, a := memoryOf(c.Process.Pid)
			own, all = max(own, o), max(all, a)
			continue
		case err := <-done:
			tick.Stop()
			took := time.Since(began)
			if err != nil {
				b.Fatalf("%v: %v", args, err)
			}
			used := c.ProcessState.UserTime() + c.ProcessState.SystemTime()
			fmt.Printf("%-60.60s %8.2f s %8.2f s cpu %6d MiB own %6d MiB all\n", strings.ReplaceAll(strings.Join(args, " "), dir, ""), took.Seconds(), used.Seconds(), own>>10, all>>10)
		}
		return
	}
}

// memoryOf returns what a process holds in memory, in KiB: of its own and with
// mapped files; 0 where the system does not say.
func memoryOf(pid int) (own, all int) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, 0
	}
	for line := range strings.Lines(string(text)) {
		fields := strings.Fields(line)
		switch {
		case len(fields) < 2:
		case fields[0] == "RssAnon:":
			own, _ = strconv.Atoi(fields[1])
		case fields[0] == "VmRSS:":
			all, _ = strconv.Atoi(fields[1])
		}
	}
	return own, all
}
