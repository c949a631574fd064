package trace

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"packwane/health/logbook"
)

// All traces here are invented; their truth is what the bench counted.

func recordsOf[T logbook.Record](r *whole) []T {
	var out []T
	for _, rec := range r.Records {
		if x, ok := rec.(T); ok {
			out = append(out, x)
		}
	}
	return out
}

func TestOuting(t *testing.T) {
	b := outing()
	r := read(t, plain.write(b.rows))
	if got := kinds(r); got != "rest ride rest charge rest" {
		t.Fatalf("segments %q: braking and a pause belong to the ride", got)
	}
	near(t, "charged Ah", r.ChargedAh, b.inAs/3600, 1e-4)
	near(t, "discharged Ah", r.DischargedAh, b.outAs/3600, 1e-4)
	near(t, "charged Wh", r.ChargedWh, b.inJ/3600, 1e-4)
	near(t, "discharged Wh", r.DischargedWh, b.outJ/3600, 1e-4)
	sum := 0.0
	for _, s := range r.Segments {
		sum += s.ChargedAh
	}
	near(t, "sum of the segments", sum, r.ChargedAh, 1e-12)

	ride := recordsOf[*logbook.Ride](r)[0]
	want := testStart.Add(899 * time.Second)
	if d := ride.At.Sub(want).Abs(); d > time.Second {
		t.Errorf("ride begins %v, want %v", ride.At, want)
	}
	if d := ride.End.Sub(want.Add(2640 * time.Second)).Abs(); d > time.Second {
		t.Errorf("ride ends %v", ride.End)
	}
	near(t, "start_rest_v", ride.StartRestV.V, 10*(4.15-0.9*0.5/12), 1e-4)
	near(t, "end_rest_min", ride.EndRestMin.V, 30, 0.01)
	near(t, "end_rest_v", ride.EndRestV.V, 10*(4.15-0.9*(0.5+ride.DischargedAh.V-ride.RegenAh.V)/12), 1e-3)
	near(t, "regen_ah", ride.RegenAh.V, 25*(8*3+2*0.4)/3600.0, 0.03) // 3 A for 8 s, and on the way there and back
	near(t, "peak_a", ride.PeakA.V, 13, 0.01)
	near(t, "pack_c", ride.PackC.V, 20+(900+1320)/7200.0, 0.01)
	if ride.Stop != "" || ride.DistanceKm.OK || ride.Meter != "" {
		t.Errorf("stop %q distance %v meter %q: none was given", ride.Stop, ride.DistanceKm, ride.Meter)
	}
	if !(ride.ErrorPct.V >= meterPct && ride.ErrorPct.V < 1) {
		t.Errorf("error_pct %v", ride.ErrorPct)
	}
	charge := recordsOf[*logbook.Charge](r)[0]
	if charge.Full != logbook.Absent && charge.Full != logbook.No {
		t.Errorf("full %v: it tapered far below the pack's full voltage and its voltage fell", charge.Full)
	}
	// Below an eightieth of the pack an hour the end of the taper is idle.
	near(t, "charged_ah", charge.ChargedAh.V, b.chargeAh(), 2e-3)
	if d := charge.At.Sub(charge.Start); d < 80*time.Minute || d > 91*time.Minute {
		t.Errorf("the charge took %v", d)
	}
	for _, rec := range r.Records {
		if err := logbook.Validate(rec); err != nil {
			t.Errorf("%s: %v", rec.Kind(), err)
		}
	}
}

// chargeAh is what the bench took in while nothing was drawn before or after.
func (b *bench) chargeAh() float64 {
	as := 0.0
	for k := 1; k < len(b.rows); k++ {
		if s := b.rows[k]; s.t > 3600 && s.i > 0 {
			as += s.i * (s.t - b.rows[k-1].t)
		}
	}
	return as / 3600
}

// TestSameAnswer reads one file with one to four workers, in pieces of any
// size, packed, and twice: every bit must agree.
func TestSameAnswer(t *testing.T) {
	b := newBench()
	for range 12 {
		b.drawnAh = 1
		for _, part := range []func(){
			func() { b.run(700, 1, hold(0)) },
			func() { b.run(2000, 0.5, func(s float64) float64 { return -6 - 6*math.Sin(s/3) - 3*math.Sin(s*17) }) },
			func() { b.run(3000, 1, func(s float64) float64 { return 2.4 + 0.01*math.Sin(s*99) }) },
		} {
			part()
		}
	}
	text := plain.write(b.rows)
	if len(text) < 4*blockBytes {
		t.Fatalf("only %d bytes: want several blocks", len(text))
	}
	want := read(t, text).json()
	for workers := 1; workers <= 4; workers++ {
		for name, src := range map[string]io.Reader{
			"whole": strings.NewReader(text), "halves": iotest.HalfReader(strings.NewReader(text)),
			"bytes": iotest.OneByteReader(strings.NewReader(text)), "gzip": strings.NewReader(packGzip(text)),
		} {
			r, err := readAll(src, Options{Pack: testPack(), Start: testStart, Workers: workers})
			if err != nil {
				t.Fatal(err)
			}
			if name == "gzip" {
				r.Proposal.Packed = ""
			}
			if r.json() != want {
				t.Errorf("%d workers, %s: another answer", workers, name)
			}
		}
	}
}

func TestNoDates(t *testing.T) {
	text := plain.write(outing().rows)
	r := read(t, text, func(o *Options) { o.Start = time.Time{} })
	if r.Dated || len(r.Records) != 0 || !strings.Contains(codes(r), "start_unknown") {
		t.Errorf("dated %v, %d records, warnings %v", r.Dated, len(r.Records), r.Warnings)
	}
	end := time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	r = read(t, text, func(o *Options) { o.Start = time.Time{}; o.End = end })
	if last := r.Segments[len(r.Segments)-1].End; !r.Dated || last.Sub(end).Abs() > time.Second || !strings.Contains(codes(r), "start_assumed") {
		t.Errorf("ends %v, want %v, and said", last, end)
	}
}

// TestTimesOfDay: times of day without dates keep their hour, past midnight too,
// on the last day on which the file can have ended before it was written.
func TestTimesOfDay(t *testing.T) {
	var b strings.Builder
	b.WriteString("clock,volts,amps\n")
	for s := 0; s <= 7200; s += 10 {
		volts, amps := 41.0, 0.0
		if s >= 1800 && s < 5400 {
			volts, amps = 39.5-float64(s-1800)/1200, -8
		}
		fmt.Fprintf(&b, "%s,%.3f,%.1f\n", time.Unix(81000+int64(s), 0).UTC().Format("15:04:05"), volts, amps) // from 22:30
	}
	day := func(d, h, m int) time.Time { return time.Date(2026, 5, d, h, m, 0, 0, time.UTC) }
	for _, tc := range []struct{ end, want time.Time }{
		{day(4, 12, 0), day(3, 22, 30)}, {day(4, 0, 30), day(3, 22, 30)}, {day(4, 0, 10), day(2, 22, 30)}, {day(4, 23, 0), day(3, 22, 30)}, {day(1, 12, 0), day(1, 22, 30).AddDate(0, 0, -1)},
	} {
		r := read(t, b.String(), func(o *Options) { o.Start, o.End = time.Time{}, tc.end })
		if got := r.Segments[0].Start; !got.Equal(tc.want) || !strings.Contains(codes(r), "start_assumed") {
			t.Errorf("written %v: begins %v, want %v, and said; %v", tc.end, got, tc.want, r.Warnings)
		}
	}
}

// TestGap takes ten minutes out of a ride: they must be said and not counted.
func TestGap(t *testing.T) {
	b := newBench()
	b.run(300, 1, hold(0))
	b.run(3000, 1, hold(-9))
	b.run(900, 1, hold(0))
	lines := strings.SplitAfter(plain.write(b.rows), "\n")
	cut := func(from, n int) string { return strings.Join(lines[:from], "") + strings.Join(lines[from+n:], "") }
	r := read(t, cut(1000, 500))
	near(t, "discharged Ah", r.DischargedAh, (3000-501)*9/3600.0, 1e-3)
	if !strings.Contains(codes(r), "gaps") || !strings.Contains(fmt.Sprint(r.Warnings), "row 1001") || !strings.Contains(fmt.Sprint(r.Warnings), "1.252 Ah") {
		t.Errorf("warnings %v, want the gap before row 1001 and what it may have taken", r.Warnings)
	}
	ride := recordsOf[*logbook.Ride](r)
	if len(ride) != 1 {
		t.Fatalf("%d rides, want 1", len(ride))
	}
	// 0 to 2.5 Ah beside 6.25 counted: 2*1.252/sqrt(12)/6.25 = 11.6 %.
	near(t, "error_pct", ride[0].ErrorPct.V, 11.6, 0.05)

	r = read(t, cut(1000, 7)) // 8 s: bridged, and said
	near(t, "discharged Ah", r.DischargedAh, 3000*9/3600.0, 1e-3)
	if codes(r) != "short_gaps" {
		t.Errorf("warnings %v, want the short gap", r.Warnings)
	}
	r = read(t, cut(1000, 1100)) // 18 min: two rides
	if got := kinds(r); got != "rest ride ride rest" {
		t.Errorf("segments %q", got)
	}
}

// TestUnseenCharge has a rest, no rows for hours, and a rest at a higher voltage.
func TestUnseenCharge(t *testing.T) {
	b := newBench()
	b.drawnAh = 4
	b.run(300, 1, hold(-5))
	b.run(900, 1, hold(0))
	b.t += 9000
	b.drawnAh = 0.2
	b.run(900, 1, hold(0))
	b.run(300, 1, hold(-5))
	r := read(t, plain.write(b.rows))
	if !strings.Contains(codes(r), "unseen_charge") {
		t.Errorf("warnings %v", r.Warnings)
	}
	if got := kinds(r); got != "ride rest rest ride" {
		t.Errorf("segments %q", got)
	}
	if v := recordsOf[*logbook.Ride](r)[0].EndRestV.V; math.Abs(v-10*(4.15-0.9*b.ahBefore(9000)/12)) > 0.3 {
		t.Errorf("end_rest_v %v is that of the other side of the gap", v)
	}
}

func (b *bench) ahBefore(float64) float64 { return 4 + 300*5/3600.0 }

// TestTimeStartsAgain has a logger that counts from zero again in the middle
// of a ride.
func TestTimeStartsAgain(t *testing.T) {
	b := newBench()
	b.run(300, 1, hold(0))
	b.run(3000, 1, hold(-9))
	b.run(900, 1, hold(0))
	for k := range b.rows {
		if k >= 1500 {
			b.rows[k].t -= b.rows[1500].t
			if k > 1500 {
				b.rows[k].t = float64(k - 1500)
			}
		}
	}
	b.rows[1500].t = 0
	r := read(t, plain.write(b.rows))
	near(t, "discharged Ah", r.DischargedAh, 2999*9/3600.0, 1e-3)
	if codes(r) != "time_jumps_back" || !strings.Contains(fmt.Sprint(r.Warnings), "row 1502") {
		t.Errorf("warnings %v, want the jump at row 1502", r.Warnings)
	}
	if got := kinds(r); got != "rest ride rest" {
		t.Errorf("segments %q", got)
	}
}

// TestEndings tells what ended a ride.
func TestEndings(t *testing.T) {
	ride := func(from, to, amps, after float64) *whole {
		b := newBench()
		b.drawnAh = from
		b.run(300, 1, hold(0))
		for b.drawnAh < to {
			b.run(1, 1, hold(-amps))
		}
		b.run(after, 1, hold(0))
		return read(t, plain.write(b.rows))
	}
	for _, c := range []struct {
		name                  string
		from, to, amps, after float64
		want                  string
	}{
		{"stopped with charge left", 0, 8, 9, 900, ""},
		{"at the limit", 9, 12.1, 9, 900, "limit"},                // 31 V under load
		{"protection opens", 9, 16.2, 9, 900, "cutoff"},           // 28 V under load, then nothing
		{"the logger dies with it", 9, 16.2, 9, 0, "cutoff"},      // the file ends there
		{"rolled home below the limit", 9, 13.5, 2, 900, "limit"}, // 31 V at 2 A
	} {
		r := ride(c.from, c.to, c.amps, c.after)
		rides := recordsOf[*logbook.Ride](r)
		if len(rides) != 1 || rides[0].Stop != c.want {
			t.Errorf("%s: %d rides, stop %q, want %q (least %v V)", c.name, len(rides), rides[0].Stop, c.want, rides[0].MinV)
		}
	}
	// The limit is that of the ride's day, where it was set anew on the next.
	for from, want := range map[time.Duration]string{-24 * time.Hour: "limit", 24 * time.Hour: ""} {
		b := newBench()
		b.drawnAh = 5
		b.run(300, 1, hold(0))
		for b.drawnAh < 8 {
			b.run(1, 1, hold(-9))
		}
		b.run(900, 1, hold(0))
		r := read(t, plain.write(b.rows), func(o *Options) {
			o.PackAt = func(at time.Time) logbook.Pack {
				p := *testPack()
				if !at.Before(testStart.Add(from)) {
					p.LimitV = logbook.Some(40)
				}
				return p
			}
		})
		if rides := recordsOf[*logbook.Ride](r); len(rides) != 1 || rides[0].Stop != want {
			t.Errorf("a limit of 40 V from %v on: %d rides, stop %q, want %q", from, len(rides), rides[0].Stop, want)
		}
	}
}

// TestCharges tells a full charge by its taper.
func TestCharges(t *testing.T) {
	charge := func(taper bool, volts float64) *logbook.Charge {
		b := newBench()
		b.drawnAh = 6
		b.run(300, 1, hold(0))
		for b.volts(3) < volts && b.drawnAh > -1 {
			b.run(10, 10, hold(3))
		}
		for k := 0; taper && k < 4000; k++ {
			i := min((volts-b.volts(0))/b.ohms, 3)
			if i < 0.15 {
				break
			}
			b.run(5, 5, hold(i))
		}
		b.run(1200, 10, hold(0))
		r := read(t, plain.write(b.rows), func(o *Options) { o.Pack.CellFullV = logbook.Some(4.15) })
		c := recordsOf[*logbook.Charge](r)
		if len(c) != 1 {
			t.Fatalf("%d charges: %s %v", len(c), kinds(r), r.Warnings)
		}
		return c[0]
	}
	if c := charge(true, 41.5); c.Full != logbook.Yes || c.EndRestMin.V != 20 {
		t.Errorf("a charge with a taper at full voltage: full %v, rested %v min", c.Full, c.EndRestMin)
	}
	if c := charge(false, 39.5); c.Full != logbook.No {
		t.Errorf("a charge that was broken off: full %v", c.Full)
	}
	if c := charge(false, 41.5); c.Full != logbook.Absent {
		t.Errorf("a charge that ended at full voltage without a taper: full %v, want it left open", c.Full)
	}
}
