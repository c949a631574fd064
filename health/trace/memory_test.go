package trace

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strconv"
	"testing"

	"packwane/health/logbook"
)

// outings writes invented rides and charges, a row each 20 s: 6 min of riding,
// 14 of rest, 6 of charging, 14 of rest.
type outings struct {
	left  int // rides to come
	t     int
	begun bool
	rest  []byte
}

func (o *outings) Read(p []byte) (int, error) {
	if !o.begun {
		o.begun = true
		o.rest = []byte("time_s,voltage_v,current_a\n")
	}
	for len(o.rest) == 0 {
		if o.left == 0 {
			return 0, io.EOF
		}
		amps, volts := 0, 400
		switch at := o.t % 2400; {
		case at < 360:
			amps, volts = -9, 391
		case at >= 1200 && at < 1560:
			amps, volts = 9, 409
		}
		o.rest = append(strconv.AppendInt(o.rest, int64(o.t), 10), ',')
		o.rest = append(strconv.AppendInt(o.rest, int64(volts/10), 10), '.', byte('0'+volts%10), ',')
		o.rest = append(strconv.AppendInt(o.rest, int64(amps), 10), '\n')
		if o.t += 20; o.t%2400 == 0 {
			o.left--
		}
	}
	n := copy(p, o.rest)
	o.rest = o.rest[n:]
	return n, nil
}

// held is what is alive on the heap after a trace of so many rides was read,
// and after all that it holds was looked at.
func held(t *testing.T, rides int) (bytes int) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "spill")
	o := Options{Pack: testPack(), Start: testStart, Spill: func() (Spill, error) {
		return os.OpenFile(file, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	}}
	r, err := Read(context.Background(), &outings{left: rides}, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if r.Counts[logbook.KindRide] != rides || r.Counts[logbook.KindCharge] != rides {
		t.Fatalf("%v, want %d rides and charges", r.Counts, rides)
	}
	kept := 0
	if _, err := r.Reconcile(notes(nil), func(logbook.Record) error { kept++; return nil }); err != nil || kept < 2*rides {
		t.Fatalf("%d records to keep: %v", kept, err)
	}
	for _, err := range r.Segments() {
		if err != nil {
			t.Fatal(err)
		}
	}
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	runtime.KeepAlive(r)
	return int(m.HeapAlloc)
}

// TestMemoryGoesNotWithSegments: what a reading holds is the same for many
// rides as for some. A segment that stayed would take 250 bytes.
func TestMemoryGoesNotWithSegments(t *testing.T) {
	const some, many = 500, 3000 // four segments each
	held(t, some)                // what is made once
	few := held(t, some)
	if more := held(t, many) - few; more > spoolBytes+64<<10 {
		t.Errorf("%d rides more hold %d bytes more", many-some, more)
	}
}

// TestPieceKeepsAll: what is kept of a segment is what was known of it, to the bit.
func TestPieceKeepsAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 100 {
		in := piece{kind: SegmentKind(rng.IntN(3)), apart: rng.IntN(2) == 0, empty: rng.IntN(2) == 0, moved: rng.IntN(2) == 0,
			row0: rng.Int64N(1 << 40), row1: rng.Int64N(1 << 40), groupV: []float64{}}
		for _, f := range in.numbers() {
			*f = []float64{0, math.Inf(1), -1e300, rng.NormFloat64()}[rng.IntN(4)]
		}
		for range rng.IntN(3) {
			in.groupV = append(in.groupV, rng.Float64())
		}
		out := piece{groupV: []float64{7, 7, 7, 7}, ohms: 7}
		if out.read(in.append(nil)); !reflect.DeepEqual(in, out) {
			t.Fatalf("%+v comes back as %+v", in, out)
		}
	}
	// Each figure of the struct is among those that are kept.
	v := reflect.ValueOf(&piece{}).Elem()
	floats := 0
	for i := range v.NumField() {
		if v.Field(i).Kind() == reflect.Float64 {
			floats++
		}
	}
	if n := len((&piece{}).numbers()); n != floats {
		t.Errorf("%d of %d figures are kept", n, floats)
	}
}

// failingSpill fails on its reads or writes.
type failingSpill struct {
	write, read error
	closed      int
}

func (f *failingSpill) Write(p []byte) (int, error)       { return len(p), f.write }
func (f *failingSpill) ReadAt([]byte, int64) (int, error) { return 0, f.read }
func (f *failingSpill) Close() error                      { f.closed++; return nil }

// TestSpillFails: the fault of a spill ends the reading, or what is asked of it
// later, and the spill is closed.
func TestSpillFails(t *testing.T) {
	full := errors.New("no space left")
	for name, c := range map[string]struct {
		open error
		spill
	}{
		"open": {open: full}, "write": {spill: spill{write: full}}, "read": {spill: spill{read: full}},
	} {
		f := &failingSpill{write: c.write, read: c.read}
		o := Options{Pack: testPack(), Start: testStart, Spill: func() (Spill, error) { return f, c.open }}
		r, err := Read(context.Background(), &outings{left: 800}, o, nil)
		if !errors.Is(err, full) || r != nil {
			t.Errorf("%s: %v", name, err)
		}
		if c.open == nil && f.closed != 1 {
			t.Errorf("%s: closed %d times", name, f.closed)
		}
	}
	late := &failingSpill{}
	s := spool{open: func() (Spill, error) { return late, nil }}
	for range 2 * spoolBytes / 100 {
		s.add(make([]byte, 100))
	}
	late.read = full
	for _, err := range s.all() {
		if !errors.Is(err, full) {
			t.Errorf("read: %v", err)
		}
	}
}

type spill struct{ write, read error }
