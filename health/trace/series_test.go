package trace

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"math"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// sample is one row of an invented trace. Positive current charges.
type sample struct{ t, v, i, tempC, kmh float64 }

// bench is an invented pack whose voltage is known: a straight open-circuit
// line, a resistance, and a slow part that follows the current within 20 s.
type bench struct {
	series         float64
	ah, drawnAh    float64
	ohms, slowOhms float64
	slow           float64
	rows           []sample
	t              float64
	inAs, outAs    float64 // the truth, of the currents between rows
	inJ, outJ      float64
	lastI, lastV   float64
}

func newBench() *bench {
	return &bench{series: 10, ah: 12, ohms: 0.1, slowOhms: 0.05}
}

func (b *bench) volts(i float64) float64 {
	return b.series*(4.15-0.9*b.drawnAh/b.ah) + i*b.ohms + b.slow
}

// run follows the current i for some seconds in rows dt apart. The true charge
// and energy are those of straight lines of current between the rows.
func (b *bench) run(seconds, dt float64, i func(t float64) float64) {
	for s := dt; s <= seconds+1e-9; s += dt {
		a := i(s)
		b.t += dt
		b.slow += (a*b.slowOhms - b.slow) * (1 - math.Exp(-dt/20))
		const pieces = 50
		for k := range pieces {
			x := (float64(k) + 0.5) / pieces
			q := (b.lastI + x*(a-b.lastI)) * dt / pieces
			b.drawnAh -= q / 3600
			v := b.lastV + x*(b.volts(a)-b.lastV)
			if q > 0 {
				b.inAs += q
				b.inJ += q * v
			} else {
				b.outAs -= q
				b.outJ -= q * v
			}
		}
		b.lastI, b.lastV = a, b.volts(a)
		b.rows = append(b.rows, sample{t: b.t, v: b.lastV, i: a, tempC: 20 + b.t/7200})
	}
}

func hold(a float64) func(float64) float64 { return func(float64) float64 { return a } }

// outing is a rest, a ride with braking and a pause, a rest, a charge with a
// taper and a rest.
func outing() *bench {
	b := newBench()
	b.drawnAh = 0.5
	b.run(900, 1, hold(0))
	b.run(1500, 1, func(s float64) float64 {
		if math.Mod(s, 60) > 50 {
			return 3
		}
		return -9 - 4*math.Sin(s/7)
	})
	b.run(240, 1, hold(0))
	b.run(900, 1, func(s float64) float64 { return -8 - 3*math.Cos(s/5) })
	b.run(1800, 1, hold(0))
	b.run(3600, 1, hold(2.5))
	b.run(1800, 1, func(s float64) float64 { return 2.5 * math.Exp(-s/600) })
	b.run(1800, 1, hold(0))
	return b
}

// csv writes rows as people's loggers do.
type csvForm struct {
	header   string
	row      func(s sample) string
	lineEnd  string
	preamble string
}

func (f csvForm) write(rows []sample) string {
	end := f.lineEnd
	if end == "" {
		end = "\n"
	}
	var b strings.Builder
	b.WriteString(f.preamble)
	if f.header != "" {
		b.WriteString(f.header + end)
	}
	for _, s := range rows {
		b.WriteString(f.row(s) + end)
	}
	return b.String()
}

// plain is the simplest form: seconds, volts, amperes.
var plain = csvForm{header: "time_s,voltage_v,current_a,temp_c", row: func(s sample) string {
	return fmt.Sprintf("%.3f,%.4f,%.4f,%.2f", s.t, s.v, s.i, s.tempC)
}}

// testPack is an invented pack for the bench.
func testPack() *logbook.Pack {
	p := logbook.New(logbook.KindPack).(*logbook.Pack)
	p.ID = "kite-10s4p"
	p.Series, p.Parallel, p.CellCapacityAh = logbook.Some(10), logbook.Some(4), logbook.Some(3)
	p.CellFullV, p.LimitV, p.CutoffV = logbook.Some(4.2), logbook.Some(31), logbook.Some(28)
	return p
}

var testStart = time.Date(2026, 5, 3, 8, 0, 0, 0, time.UTC)

func read(t testing.TB, text string, change ...func(*Options)) *whole {
	t.Helper()
	r, err := tryRead(text, change...)
	if err != nil {
		t.Fatalf("read: %v", err)
	}
	return r
}

func tryRead(text string, change ...func(*Options)) (*whole, error) {
	o := Options{Pack: testPack(), Start: testStart}
	for _, f := range change {
		f(&o)
	}
	return readAll(strings.NewReader(text), o)
}

// whole is a result with its sequences gathered.
type whole struct {
	*Result
	Segments []Segment
	Records  []logbook.Record
	Learned  learnedLists
}

type learnedLists struct {
	Resistance []Resistance
	RestPairs  []RestPair
	OCV        []RestPoint
	Power      []PowerAt
}

// readAll reads a trace through a spill that is used from the first segment on.
func readAll(in io.Reader, o Options) (*whole, error) {
	r, err := Read(context.Background(), in, o, nil)
	if err != nil {
		return nil, err
	}
	l := r.Learned()
	w := &whole{Result: r}
	err = cmp.Or(gather(&w.Segments, r.Segments()), gather(&w.Records, r.Records()), gather(&w.Learned.Resistance, l.Resistance),
		gather(&w.Learned.RestPairs, l.RestPairs), gather(&w.Learned.OCV, l.OCV), r.Close())
	w.Learned.Power = l.Power
	return w, err
}

func gather[T any](to *[]T, seq iter.Seq2[T, error]) error {
	for x, err := range seq {
		if err != nil {
			return err
		}
		*to = append(*to, x)
	}
	return nil
}

// json is all that a result says, as a text to compare.
func (w *whole) json() string {
	d := w.Document()
	all := []any{d.Rows, d.ChargedAh, d.ChargedWh, d.DischargedAh, d.DischargedWh, w.Segments, w.Records, w.Learned, d.Map, d.Read, d.Warnings, w.Points}
	b, err := json.Marshal(all)
	if err != nil {
		return err.Error()
	}
	return string(b)
}

func withMap(t testing.TB, text string) func(*Options) {
	t.Helper()
	m, err := ParseMapping(text)
	if err != nil {
		t.Fatal(err)
	}
	return func(o *Options) { o.Map = m }
}

// near fails unless got is within rel of want.
func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %v, want %v within %.3g %%", what, got, want, 100*rel)
	}
}

func codes(r *whole) string {
	var out []string
	for _, w := range r.Warnings {
		out = append(out, w.Code)
	}
	return strings.Join(out, " ")
}

func kinds(r *whole) string {
	var out []string
	for _, s := range r.Segments {
		out = append(out, s.Kind.String())
	}
	return strings.Join(out, " ")
}
