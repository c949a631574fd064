package store

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestWriteBenchFile writes the file that the benchmarks import for others to
// read, where PACKWANE_BENCH_FILE says; PACKWANE_BENCH_RECORDS is how many records
// it holds.
func TestWriteBenchFile(t *testing.T) {
	name := os.Getenv("PACKWANE_BENCH_FILE")
	if name == "" {
		t.Skip("PACKWANE_BENCH_FILE is not set")
	}
	n, err := strconv.Atoi(os.Getenv("PACKWANE_BENCH_RECORDS"))
	if err != nil {
		t.Fatal(err)
	}
	writeBenchFile(t, name, n)
}

func benchFile(b *testing.B, n int) string {
	b.Helper()
	name := filepath.Join(b.TempDir(), "in.jsonl")
	writeBenchFile(b, name, n)
	return name
}

// writeBenchFile writes an invented fleet's log of n records as JSON Lines, about
// 300 bytes each.
func writeBenchFile(b testing.TB, name string, n int) {
	b.Helper()
	f, err := os.Create(name)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	w := logbook.NewJSONWriter(f)
	packs := max(1, n/500)
	for p := range packs {
		w.Write(&logbook.Board{Head: head(fmt.Sprintf("board-%d", p), 1), Name: "Plank"})
		w.Write(&logbook.Pack{Head: head(fmt.Sprintf("pack-%d", p), 1), Board: fmt.Sprintf("board-%d", p)})
	}
	for i := range n - 2*packs {
		w.Write(benchRide(i, fmt.Sprintf("pack-%d", i%packs)))
	}
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
}

func benchRide(i int, pack string) *logbook.Ride {
	return &logbook.Ride{
		Head: logbook.Head{ID: fmt.Sprintf("ride-%07d", i), Rev: 1, Note: "along the canal and home again"},
		Pack: pack, At: noon.Add(time.Duration(i) * time.Minute), DistanceKm: logbook.Some(float64(i%300) / 10),
		MovingSpeedKmh: logbook.Some(21.5), StartRestV: logbook.Some(41.9), EndRestV: logbook.Some(36.4),
		DischargedAh: logbook.Some(6.123), DischargedWh: logbook.Some(231.5), AmbientC: logbook.Some(17),
		RiderKg: logbook.Some(82), Route: "canal", Stop: "chosen",
	}
}

// BenchmarkImport imports into a fresh store, reading and checking included.
// One million: go test ./store -run - -bench Import/1000000 -benchtime 1x
func BenchmarkImport(b *testing.B) {
	for _, n := range []int{1000, 10_000, 100_000, 1_000_000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			in := benchFile(b, n)
			path := ""
			for b.Loop() {
				path = filepath.Join(b.TempDir(), "log.packwane")
				benchImport(b, path, in)
			}
			perRecord(b, n)
			info, err := os.Stat(path)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(info.Size())/float64(n), "file-bytes/record")
		})
	}
}

// BenchmarkImportAgain imports what the store has already.
func BenchmarkImportAgain(b *testing.B) {
	const n = 100_000
	in := benchFile(b, n)
	path := filepath.Join(b.TempDir(), "log.packwane")
	benchImport(b, path, in)
	for b.Loop() {
		benchImport(b, path, in)
	}
	perRecord(b, n)
}

// BenchmarkUndoImport takes an import of 100,000 records back, and does it
// again, in turn.
func BenchmarkUndoImport(b *testing.B) {
	const n = 100_000
	path := filepath.Join(b.TempDir(), "log.packwane")
	benchImport(b, path, benchFile(b, n))
	s := open(b, path, ReadWrite)
	undo := true
	for b.Loop() {
		turn := s.Redo
		if undo {
			turn = s.Undo
		}
		undo = !undo
		if _, err := turn(noon); err != nil {
			b.Fatal(err)
		}
	}
	perRecord(b, n)
}

func benchImport(b *testing.B, path, in string) {
	b.Helper()
	f, err := os.Open(in)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	if _, err := Import(path, logbook.Read(f, in), "", noon); err != nil {
		b.Fatal(err)
	}
}

func perRecord(b *testing.B, n int) {
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/float64(n), "µs/record")
}

// BenchmarkPackRecords opens the store, loads one pack of 6,000 records and
// closes it: what every command on a pack does.
func BenchmarkPackRecords(b *testing.B) {
	const n = 6000
	path := filepath.Join(b.TempDir(), "log.packwane")
	list := []logbook.Record{&logbook.Board{Head: head("plank", 1)}, &logbook.Pack{Head: head("moss", 1), Board: "plank"}}
	for i := range n - 2 {
		list = append(list, benchRide(i, "moss"))
	}
	s := open(b, path, ReadWrite)
	mustImport(b, s, entries(list...))
	s.Close()
	for b.Loop() {
		s, err := Open(path, ReadOnly)
		if err != nil {
			b.Fatal(err)
		}
		got, err := s.PackRecords("moss")
		if err != nil || len(got) != n {
			b.Fatal(len(got), err)
		}
		s.Close()
	}
	perRecord(b, n)
	runtime.KeepAlive(list)
}

// BenchmarkPut logs one record in a store of 100,000.
func BenchmarkPut(b *testing.B) {
	path := filepath.Join(b.TempDir(), "log.packwane")
	benchImport(b, path, benchFile(b, 100_000))
	i := 0
	for b.Loop() {
		s := open(b, path, ReadWrite)
		r := benchRide(i, "pack-3")
		r.ID = fmt.Sprint("put-", i)
		if _, err := s.Put(r, 0, "", noon); err != nil {
			b.Fatal(err)
		}
		s.Close()
		i++
	}
}

// BenchmarkVerify checks a store of 100,000 records.
func BenchmarkVerify(b *testing.B) {
	const n = 100_000
	path := filepath.Join(b.TempDir(), "log.packwane")
	benchImport(b, path, benchFile(b, n))
	s := open(b, path, ReadOnly)
	for b.Loop() {
		if _, err := s.Verify(); err != nil {
			b.Fatal(err)
		}
	}
	perRecord(b, n)
}
