package trace

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func TestOddRows(t *testing.T) {
	b := outing()
	want := read(t, plain.write(b.rows))
	lines := strings.SplitAfter(plain.write(b.rows), "\n")
	edit := func(change func(l []string)) string {
		l := append([]string(nil), lines...)
		change(l)
		return strings.Join(l, "")
	}
	cells := func(k int) []string { return strings.Split(strings.TrimSpace(lines[k]), ",") }
	tests := map[string]struct {
		text string
		code string
		row  string
	}{
		"repeated": {edit(func(l []string) { l[1500] += l[1500] + l[1500] }), "repeated_rows", "row 1502"},
		"a voltage of zero": {edit(func(l []string) {
			c := cells(1600)
			l[1600] = c[0] + ",0.000," + c[2] + ",20\n"
		}), "spikes", `row 1601, column "voltage_v"`},
		"a wild current": {edit(func(l []string) {
			c := cells(1600)
			l[1600] = c[0] + "," + c[1] + ",655.35,20\n"
		}), "spikes", `row 1601, column "current_a"`},
		"a row of zeros": {edit(func(l []string) {
			c := cells(1600)
			l[1600] = c[0] + ",0,0,0\n"
		}), "spikes", "row 1601"},
		"no value": {edit(func(l []string) {
			c := cells(1600)
			l[1600] = c[0] + ",," + c[2] + ",20\n"
			l[1700] = cells(1700)[0] + ",nan,nan,nan\n"
		}), "incomplete_rows", "first row 1601"},
		"headers again":    {edit(func(l []string) { l[1600] += lines[0] }), "headers_again", ""},
		"two rows swapped": {edit(func(l []string) { l[1600], l[1601] = l[1601], l[1600] }), "time_jumps_back", "row 1602"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			r := read(t, c.text)
			if codes(r) != c.code || !strings.Contains(fmt.Sprint(r.Warnings), c.row) {
				t.Errorf("warnings %v, want %s and %q", r.Warnings, c.code, c.row)
			}
			near(t, "discharged Ah", r.DischargedAh, want.DischargedAh, 3e-4)
			near(t, "charged Ah", r.ChargedAh, want.ChargedAh, 3e-4)
			if kinds(r) != kinds(want) {
				t.Errorf("segments %q, want %q", kinds(r), kinds(want))
			}
		})
	}
}

// TestStuck holds one sensor still while the other moves, and neither in a
// charge at constant current or voltage.
func TestStuck(t *testing.T) {
	b := outing()
	if got := codes(read(t, plain.write(b.rows))); got != "" {
		t.Errorf("warnings %q for a sound trace", got)
	}
	ride := func(change func(s *sample, first sample)) string {
		b := newBench()
		b.run(300, 1, hold(0))
		b.run(1500, 1, func(s float64) float64 { return -9 - 8*math.Sin(s/3) })
		b.run(300, 1, hold(0))
		for k := 1000; k < 1200; k++ {
			change(&b.rows[k], b.rows[1000])
		}
		return plain.write(b.rows)
	}
	for code, text := range map[string]string{
		"stuck_voltage": ride(func(s *sample, f sample) { s.v = f.v }),
		"stuck_current": ride(func(s *sample, f sample) { s.i = f.i }),
	} {
		if r := read(t, text); codes(r) != code {
			t.Errorf("warnings %v, want %s", r.Warnings, code)
		}
	}
}

// TestCoarseClock has five rows a second and a clock of whole seconds.
func TestCoarseClock(t *testing.T) {
	b := newBench()
	b.run(300, 0.2, hold(0))
	b.run(1000, 0.2, func(s float64) float64 { return -9 - 8*math.Sin(3*s) })
	b.run(300, 0.2, hold(0))
	form := csvForm{header: "seconds,voltage_v,current_a", row: func(s sample) string { return fmt.Sprintf("%d,%.4f,%.4f", int(s.t+1e-6), s.v, s.i) }}
	r := read(t, form.write(b.rows))
	near(t, "discharged Ah", r.DischargedAh, b.outAs/3600, 2e-3)
	if r.Rows != int64(len(b.rows)) || codes(r) != "" {
		t.Errorf("%d rows, warnings %v", r.Rows, r.Warnings)
	}
}

// TestCounters compares with counters that start again, and with one that is off.
func TestCounters(t *testing.T) {
	b := outing()
	write := func(scale float64) string {
		in, out, last := 0.0, 0.0, 0.0
		return csvForm{header: "time_s,voltage_v,current_a,ah_in,ah_out", row: func(s sample) string {
			in += max(s.i, 0) * (s.t - last) / 3600
			out += max(-s.i, 0) * (s.t - last) / 3600
			if last = s.t; s.t == 5000 {
				in = 0
			}
			return fmt.Sprintf("%.1f,%.4f,%.4f,%.5f,%.5f", s.t, s.v, s.i, in, out*scale)
		}}.write(b.rows)
	}
	if r := read(t, write(1)); codes(r) != "" {
		t.Errorf("warnings %v: the counters agree", r.Warnings)
	}
	if r := read(t, write(1.04)); codes(r) != "counter_disagrees" || !strings.Contains(fmt.Sprint(r.Warnings), "ah_out") {
		t.Errorf("warnings %v: ah_out is 4 %% off", r.Warnings)
	}
}
