package trace

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// All traces here are invented.

// TestWakingLogger logs a row each 25 s at rest and ten a second under load; it
// wakes up with the load.
func TestWakingLogger(t *testing.T) {
	var rows []sample
	last, before := math.Inf(-1), 0.0
	for _, s := range pulseTrain(0.05, 0.1, 25) {
		if s.i != 0 || before != 0 || s.t-last >= 25 {
			rows = append(rows, s)
			last = s.t
		}
		before = s.i
	}
	form := csvForm{header: "time_s,voltage_v,current_a", row: func(s sample) string { return fmt.Sprintf("%.2f,%.4f,%.4f", s.t, s.v, s.i) }}
	r := read(t, form.write(rows), cell(3, 4.2, 2.5))
	near(t, "discharged Ah", r.DischargedAh, (3+6)*3*10/3600.0, 0.02) // 10 ms of 10 s at each end are not seen
	near(t, "charged Ah", r.ChargedAh, (3+6)*3*10/3600.0, 0.02)
	steps := 0
	for _, c := range recordsOf[*logbook.Check](r) {
		if c.RestV.OK { // the others are regressions
			steps++
			near(t, "mohm", c.ResistanceMohm.V, 50, 0.05)
		}
	}
	if steps != 12 {
		t.Errorf("%d checks of a step, want 12", steps)
	}
}

// TestSparseTaper logs a charge in rows half a minute apart that thin out in
// the taper as the current falls by a tenth, as testers do. The truth is exact:
// a constant current, then an exponential.
func TestSparseTaper(t *testing.T) {
	for _, drift := range []float64{0, 0.01, 0.05} { // V/h: a cheap charger lets the voltage creep up
		sparseTaper(t, drift)
	}
}

func sparseTaper(t *testing.T, drift float64) {
	var b strings.Builder
	b.WriteString("Test Time / s,Voltage / V,Current / A\n")
	row := func(t, v, i float64) { fmt.Fprintf(&b, "%.3f,%.5f,%.5f\n", t, v, i) }
	now := 0.0
	for range 20 {
		now += 30
		row(now, 3.6, 0)
	}
	for k := range 200 {
		now += 30
		row(now, 3.7+0.5*float64(k)/200, 1)
	}
	const tau = 1500.0
	begin, i := now, 1.0
	for i > 0.05 {
		i *= 0.9
		now = begin + tau*math.Log(1/i)
		row(now, 4.2+drift*(now-begin)/3600, i)
	}
	for range 20 {
		now += 30
		row(now, 4.19, 0)
	}
	r := read(t, b.String(), cell(2, 4.2, 2.5))
	want := (200*30 + tau*(1-i)) / 3600
	near(t, "charged Ah", r.ChargedAh, want, 1e-4)
	charge := recordsOf[*logbook.Charge](r)
	if len(charge) != 1 || charge[0].Full != logbook.Yes {
		t.Errorf("charges %+v", charge)
	}
	if codes(r) != "" {
		t.Errorf("warnings %v: rows that thin out are no gaps", r.Warnings)
	}
}

// TestNoisyRest has a sensor whose noise at rest is as high as what begins a
// ride: it makes no rides, and the real ride ends.
func TestNoisyRest(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	b := newBench()
	noise := func(sd float64) func(float64) float64 {
		return func(float64) float64 { return sd * random.NormFloat64() }
	}
	b.run(1200, 1, noise(0.3))
	b.run(1800, 1, func(s float64) float64 { return -9 + 4*random.NormFloat64() })
	b.run(3600, 1, noise(0.3))
	r := read(t, plain.write(b.rows))
	if got := kinds(r); got != "rest ride rest" {
		t.Errorf("segments %q", got)
	}
	if rides := recordsOf[*logbook.Ride](r); len(rides) != 1 || math.Abs(rides[0].End.Sub(rides[0].At).Minutes()-30) > 0.5 {
		t.Errorf("rides %+v", rides)
	}
}

// TestMinuteRows reads a ride and a charge of a logger that writes once a
// minute, and one that writes each ten seconds and averages.
func TestMinuteRows(t *testing.T) {
	b := newBench()
	b.run(1200, 60, hold(0))
	b.run(2400, 60, func(s float64) float64 { return -8 - 2*math.Sin(s/200) })
	b.run(1200, 60, hold(0))
	b.run(7200, 60, hold(2.2))
	b.run(1200, 60, hold(0))
	form := csvForm{header: "time;voltage;current", row: func(s sample) string { return fmt.Sprintf("%.0f;%.2f;%.2f", s.t, s.v, s.i) }}
	r := read(t, form.write(b.rows))
	if got := kinds(r); got != "rest ride rest charge rest" {
		t.Errorf("segments %q", got)
	}
	if !strings.Contains(codes(r), "seconds_assumed") {
		t.Errorf("warnings %v: the unit of the time was assumed", r.Warnings)
	}
	near(t, "charged Ah", r.ChargedAh, 2.2*2, 0.01)
	ride := recordsOf[*logbook.Ride](r)[0]
	near(t, "discharged_ah", ride.DischargedAh.V, b.outAs/3600, 2*ride.ErrorPct.V/100)
}

// TestWildRows has three wild values in a row, and a real change of the same
// size that stays.
func TestWildRows(t *testing.T) {
	b := newBench()
	b.run(600, 1, hold(0))
	b.run(1200, 1, hold(-9))
	b.run(600, 1, hold(0))
	clean := read(t, plain.write(b.rows))
	lines := strings.SplitAfter(plain.write(b.rows), "\n")
	for k := 900; k < 903; k++ {
		c := strings.Split(lines[k], ",")
		lines[k] = c[0] + "," + c[1] + ",655.35," + c[3]
	}
	r := read(t, strings.Join(lines, ""))
	if codes(r) != "spikes" || !strings.Contains(fmt.Sprint(r.Warnings), "3 rows") {
		t.Errorf("warnings %v", r.Warnings)
	}
	near(t, "discharged Ah", r.DischargedAh, clean.DischargedAh, 1e-3)

	hill := newBench()
	hill.run(600, 1, hold(0))
	hill.run(600, 1, hold(-2))
	hill.run(5, 1, hold(-80))
	hill.run(600, 1, hold(-2))
	hill.run(600, 1, hold(0))
	r = read(t, plain.write(hill.rows))
	if codes(r) != "" {
		t.Errorf("warnings %v: the voltage answers to a peak", r.Warnings)
	}
	near(t, "discharged Ah", r.DischargedAh, hill.outAs/3600, 1e-3)
}

// TestPlugs has a cable pulled and put back within minutes: one charge; and a
// charge right behind a ride.
func TestPlugs(t *testing.T) {
	b := newBench()
	b.drawnAh = 8
	b.run(300, 1, hold(-7))
	b.run(1800, 1, hold(2.5))
	b.run(200, 1, hold(0))
	b.run(1800, 1, hold(2.5))
	b.run(700, 1, hold(0))
	b.run(300, 1, hold(-7))
	r := read(t, plain.write(b.rows))
	if got := kinds(r); got != "ride charge rest ride" {
		t.Errorf("segments %q", got)
	}
	near(t, "charged Ah", recordsOf[*logbook.Charge](r)[0].ChargedAh.V, 2.5, 2e-3)
}
