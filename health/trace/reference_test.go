package trace

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// referenceTrace returns one of the published traces. Their sources stand in
// the README of the reference data.
func referenceTrace(t testing.TB, name string) string {
	t.Helper()
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	b, err := os.ReadFile(filepath.Join(dir, "traces", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// cell is a pack of a single cell.
func cell(ah, fullV, limitV float64) func(*Options) {
	return func(o *Options) {
		p := logbook.New(logbook.KindPack).(*logbook.Pack)
		p.ID, p.Series, p.Parallel = "cell", logbook.Some(1), logbook.Some(1)
		p.CellCapacityAh, p.CellFullV, p.LimitV = logbook.Some(ah), logbook.Some(fullV), logbook.Some(limitV)
		o.Pack = p
	}
}

// lastOf returns the last value of a column of the file: a tester's counter.
func lastOf(t testing.TB, text, column string) float64 {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range rows[0] {
		if h == column {
			v, err := strconv.ParseFloat(rows[len(rows)-1][i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
	}
	t.Fatalf("no column %q", column)
	return 0
}

// without takes columns out of a file, so that nothing but time, voltage and
// current can have been used.
func without(t testing.TB, text string, columns ...string) string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	keep := []int{}
	for i, h := range rows[0] {
		drop := false
		for _, c := range columns {
			drop = drop || c == h
		}
		if !drop {
			keep = append(keep, i)
		}
	}
	var b strings.Builder
	for _, r := range rows {
		for k, i := range keep {
			if k > 0 {
				b.WriteByte(',')
			}
			b.WriteString(r[i])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// TestTesterCounters compares with the tester's own counters of a full charge
// and discharge in 10 s rows, and of nine cycles in 30 s rows with a sparse
// taper (CALCE Battery Research Group, University of Maryland, CS2 data set).
func TestTesterCounters(t *testing.T) {
	for _, name := range []string{"calce_cs2_35_8_17_10.bdf.csv", "calce_cs2_35_11_24_10.bdf.csv"} {
		t.Run(name, func(t *testing.T) {
			text := referenceTrace(t, name)
			bare := without(t, text, "Charging Capacity / Ah", "Discharging Capacity / Ah", "Charging Energy / Wh", "Discharging Energy / Wh", "DC Internal Resistance / ohm", "Step ID", "Cycle Count / 1")
			r := read(t, bare, cell(1.1, 4.2, 2.7))
			const tenth = 1e-3 // of the counters: the meter's own class
			near(t, "charged Ah", r.ChargedAh, lastOf(t, text, "Charging Capacity / Ah"), tenth)
			near(t, "discharged Ah", r.DischargedAh, lastOf(t, text, "Discharging Capacity / Ah"), tenth)
			near(t, "charged Wh", r.ChargedWh, lastOf(t, text, "Charging Energy / Wh"), tenth)
			near(t, "discharged Wh", r.DischargedWh, lastOf(t, text, "Discharging Energy / Wh"), tenth)
			if strings.Contains(codes(r), "sign") {
				t.Errorf("warnings %v: the sign is plain", r.Warnings)
			}
			full := 0
			for _, s := range r.Segments {
				switch {
				case s.Kind == Charging && s.Full == logbook.Yes:
					full++
				case s.Kind == Riding && s.Stop != "limit":
					t.Errorf("a discharge to 2.7 V ended by %q, want limit", s.Stop)
				case s.Kind != Rest && !(s.ErrorPct.V >= meterPct && s.ErrorPct.V < 1):
					t.Errorf("error of a %s is %v %%", s.Kind, s.ErrorPct)
				}
			}
			if want := map[string]int{"calce_cs2_35_8_17_10.bdf.csv": 1, "calce_cs2_35_11_24_10.bdf.csv": 8}[name]; full != want {
				t.Errorf("%d full charges, want %d", full, want)
			}
		})
	}
}

// TestDriveCycle compares the net charge and energy of a drive cycle with
// regeneration with the tester's counters (P. Kollmeyer, Panasonic 18650PF
// Li-ion Battery Data, doi 10.17632/wykht8y7tg), and the resistance by
// regression with the pulses of the same cell: 41 mohm at 25 degC and 55 at 10
// degC (10 s at 1C, mid charge), so 37.8 mohm at the 29.4 degC of the ride.
func TestDriveCycle(t *testing.T) {
	text := referenceTrace(t, "ncr18650pf_us06_25c.bdf.csv")
	r := read(t, without(t, text, "counter_net_ah", "counter_net_wh"), cell(2.9, 4.2, 2.5))
	near(t, "net Ah", r.ChargedAh-r.DischargedAh, lastOf(t, text, "counter_net_ah"), 1e-3)
	near(t, "net Wh", r.ChargedWh-r.DischargedWh, lastOf(t, text, "counter_net_wh"), 1e-3)
	if got := kinds(r); got != "rest ride rest" {
		t.Errorf("segments %q: braking is no charge", got)
	}
	found := false
	for _, l := range r.Learned.Resistance {
		if l.How == "regression" {
			found = true
			near(t, "mohm", l.Mohm, 37.8, 0.05)
			near(t, "degC", *l.PackC, 29.4, 0.01)
		}
	}
	if !found {
		t.Error("no resistance by regression")
	}
}

// TestThinned leaves out rows of the drive cycle: the error that is told must
// cover the error that is made, the full rows being the truth. Rows more than
// 10 s apart would keep step with the cycle, which repeats: no longer chance.
func TestThinned(t *testing.T) {
	text := referenceTrace(t, "ncr18650pf_us06_25c.bdf.csv")
	truth := read(t, text, cell(2.9, 4.2, 2.5))
	want := truth.DischargedAh - truth.ChargedAh
	gross := truth.DischargedAh + truth.ChargedAh
	lines := strings.Split(strings.TrimSpace(text), "\n")
	within := 0
	cases := 0
	for _, each := range []int{2, 5, 10, 17, 25, 50} { // 0.4 s to 10 s
		for first := 0; first < each; first += max(each/8, 1) {
			thin := []string{lines[0]}
			for k := 1 + first; k < len(lines); k += each {
				thin = append(thin, lines[k])
			}
			r := read(t, strings.Join(thin, "\n")+"\n", cell(2.9, 4.2, 2.5))
			told := 0.0
			for _, s := range r.Segments {
				if s.Kind == Riding {
					told = s.ErrorPct.V / 100 * gross
				}
			}
			off := r.DischargedAh - r.ChargedAh - want
			cases++
			if off < 0 {
				off = -off
			}
			if off <= 2*told {
				within++
			} else {
				t.Logf("every %d from %d: off by %.4f Ah, told %.4f", each, first, off, told)
			}
		}
	}
	t.Logf("%d of %d", within, cases)
	if within*100 < 90*cases { // two standard errors hold 95 of 100
		t.Errorf("%d of %d thinned traces are within two standard errors", within, cases)
	}
}

// TestBenchCharger compares with the counters of a hobby charger, which start
// again in each phase (Team Peryton, University of Southampton, 2022). Its
// clock stands still for one gap, in which it counted nothing either.
func TestBenchCharger(t *testing.T) {
	text := referenceTrace(t, "p42a_bench_charger.csv")
	r := read(t, text, cell(4.2, 4.2, 2.5))
	near(t, "charged Ah", r.ChargedAh, 3.4144+4.0137, 5e-3)
	near(t, "discharged Ah", r.DischargedAh, 3.9692, 5e-3)
	if got := strings.TrimPrefix(kinds(r), "rest "); got != "charge rest ride rest charge" {
		t.Errorf("segments %q", got)
	}
	if !strings.Contains(codes(r), "gaps") || !strings.Contains(codes(r), "mean_current") {
		t.Errorf("warnings %v, want the gap and the choice of the mean", r.Warnings)
	}
	if strings.Contains(codes(r), "counter") {
		t.Errorf("warnings %v: the counters agree to a per cent, restarts included", r.Warnings)
	}
}

// TestTimeDefect reads a file whose time falls back to zero in 19 single rows
// (SINTEF, published with the Battery Data Format reference files). The cell
// gives about 7.2 Ah from full to empty at each rate; the first charge begins
// half way.
func TestTimeDefect(t *testing.T) {
	text := referenceTrace(t, "sintef_slpba842124hv_rate_time_defect.bdf.csv")
	r := read(t, text, cell(6.5, 4.35, 3))
	said := false
	for _, w := range r.Warnings {
		said = said || w.Code == "time_jumps_back" && strings.Contains(w.Text, "row 724") && strings.Contains(w.Text, "test_time_second") && strings.Contains(w.Text, "19 rows")
	}
	if !said {
		t.Errorf("warnings %v, want the jumps with their row, column and number", r.Warnings)
	}
	rides := 0
	for _, s := range r.Segments {
		if s.Kind == Riding {
			rides++
			near(t, fmt.Sprintf("ride %d Ah", rides), s.DischargedAh, 7.23, 0.01)
		}
	}
	if rides != 5 {
		t.Errorf("%d discharges, want 5", rides)
	}
	if last := r.Segments[len(r.Segments)-1]; last.Seconds[1] > 125_700 {
		t.Errorf("the file lasts %v s, want 125628 s", last.Seconds[1])
	}
}

// TestPulsesOfPublishedCell makes pulses of the resistances that were measured
// on the cell of hppc_inr18650_30q.csv (ARTS-Lab, University of South
// Carolina, 2025) and wants them back: 41.9, 36.9 and 34.4 mohm at 20, 30, 40
// degC, 10 s, mid charge. How they grow over the 10 s is invented.
func TestPulsesOfPublishedCell(t *testing.T) {
	for tempC, mohm := range map[float64]float64{20: 41.9, 30: 36.9, 40: 34.4} {
		for _, dt := range []float64{0.1, 0.5, 1, 2} {
			for _, sign := range []float64{1, -1} {
				rows := pulseTrain(mohm/1000, dt, tempC)
				form := csvForm{header: "time_s,voltage_v,current_a,cell_temp_c", row: func(s sample) string {
					return fmt.Sprintf("%.3f,%.4f,%.4f,%.1f", s.t, s.v, sign*s.i, s.tempC)
				}}
				r := read(t, form.write(rows), cell(3, 4.2, 2.5))
				n := 0
				for _, rec := range r.Records {
					if c, ok := rec.(*logbook.Check); ok && c.ResistanceMohm.OK {
						n++
						near(t, fmt.Sprintf("%v degC, rows %v s: mohm", tempC, dt), c.ResistanceMohm.V, mohm, 0.05)
						near(t, "degC", c.PackC.V, tempC, 0.001)
					}
				}
				if n != 12 {
					t.Errorf("rows %v s: %d checks, want 12", dt, n)
				}
			}
		}
	}
}
