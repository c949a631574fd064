package model_test

import (
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// givenCell is one measured cell, cycled on a bench.
type givenCell struct {
	name string
	ah   []float64 // delivered by each full cycle
	ohm  []float64 // 0 where not measured
}

// givenCells reads two NASA and two CALCE cells. Sources: B. Saha, K. Goebel
// (2007), Battery Data Set, NASA Prognostics Data Repository (B0005, B0006: 2 A
// to 2.7 and 2.5 V, 24 °C); CALCE Battery Research Group, University of
// Maryland, CS2 data set (CS2_35, CS2_36: 1C to 2.7 V).
func givenCells(t *testing.T) map[string]givenCell {
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	cells := map[string]givenCell{}
	for _, file := range []string{"nasa_pcoe_capacity.csv", "calce_cs2_capacity_resistance.csv"} {
		f, err := os.Open(filepath.Join(dir, file))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			c := cells[row[0]]
			c.name = row[0]
			ah, err := strconv.ParseFloat(row[2], 64)
			if err != nil {
				t.Fatalf("%s: %v", file, err)
			}
			ohm := 0.0
			if len(row) > 3 {
				if ohm, err = strconv.ParseFloat(row[3], 64); err != nil {
					t.Fatalf("%s: %v", file, err)
				}
			}
			c.ah, c.ohm = append(c.ah, ah), append(c.ohm, ohm)
			cells[c.name] = c
		}
	}
	return cells
}

// log is the cell's life so far as a logbook: three cycles a day, each a bench
// discharge to the limit, and a resistance check with it where there is one.
func (c givenCell) log(cycles int) (*logbook.History, error) {
	some := logbook.Some
	p := &logbook.Pack{
		Head: logbook.Head{ID: c.name, Rev: 1}, Series: some(1), Parallel: some(1), CellFullV: some(4.2), RefTempC: some(24),
		Chemistry: "lco", CellCapacityAh: some(1.1), LimitV: some(2.7),
	}
	switch c.name {
	case "B0005":
		p.Chemistry, p.CellCapacityAh = "nca", some(2)
	case "B0006":
		p.Chemistry, p.CellCapacityAh, p.LimitV = "nca", some(2), some(2.5)
	}
	at := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)
	p.InService = at
	records := []logbook.Record{p}
	for i := range cycles {
		at = at.Add(8 * time.Hour)
		records = append(records, &logbook.Ride{Head: logbook.Head{ID: fmt.Sprintf("r%04d", i), Rev: 1}, Pack: c.name, At: at, End: at.Add(time.Hour), DischargedAh: some(c.ah[i]), Stop: "limit", AmbientC: some(24)})
		if c.ohm[i] > 0 {
			records = append(records, &logbook.Check{Head: logbook.Head{ID: fmt.Sprintf("c%04d", i), Rev: 1}, Pack: c.name, At: at.Add(61 * time.Minute), ResistanceMohm: some(1000 * c.ohm[i]), PackC: some(25), SocPct: some(50)})
		}
	}
	return logbook.NewHistory(c.name, records, at.Add(2*time.Hour))
}

// asNew is what the first cycle gave (as ageing_curves.csv states its cells over
// the first: NASA's lose 1.1 % in the two that follow), now the median of the
// last five.
func (c givenCell) asNew() float64         { return c.ah[0] }
func (c givenCell) now(cycles int) float64 { return middleOf(c.ah[cycles-5 : cycles]) }

// fullCycles is all charge taken out by a number of cycles, over the capacity
// as new.
func (c givenCell) fullCycles(cycles int) float64 {
	sum := 0.0
	for _, ah := range c.ah[:cycles] {
		sum += ah
	}
	return sum / c.asNew()
}

// crosses is the cycle at which the capacity falls below a share of that as
// new: from there on, most of any eleven cycles stay below (a rest gives some
// capacity back for a while).
func (c givenCell) crosses(share float64) int {
	last := 0
	for i := 5; i < len(c.ah)-5; i++ {
		if middleOf(c.ah[i-5:i+6]) >= share*c.asNew() {
			last = i
		}
	}
	return last + 1
}

// TestGivenCells holds the fit of each given cell, cut off at several shares of
// its life to 80 %, against the cell's own figures. A rest gives NASA's cells up
// to 6 % back, which goes again within some ten cycles and which the fit does
// not follow; CALCE's jump less: hence the two sets of tolerances. What is
// forecast before the crossing is logged, and held to 20 % from nine tenths of
// the life on; that some knees cannot be foreseen is no fault.
func TestGivenCells(t *testing.T) {
	cells := givenCells(t)
	for _, name := range slices.Sorted(maps.Keys(cells)) {
		c := cells[name]
		end := c.crosses(.8)
		life := c.fullCycles(end)
		capacityPct, sohPoints := 4.0, 2.5
		if c.ohm[0] > 0 {
			capacityPct, sohPoints = 1.5, 1.5
		}
		for _, share := range []float64{.25, .5, .7, .9, 1.1, 1.25} {
			n := min(int(share*float64(end)), len(c.ah))
			h, err := c.log(n)
			if err != nil {
				t.Fatal(err)
			}
			fit := model.FitHistory(h, nil)
			fit.MoreDraws(8)
			if fit.Status != model.Converged || !fit.Bench() {
				t.Errorf("%s after %d cycles: status %s, bench %v", name, n, fit.Status, fit.Bench())
			}
			now := fit.At(h.AsOf)
			within := func(what string, d model.Draws, want, tolerance float64) {
				t.Helper()
				s := intervalOf(d, want)
				t.Logf("%s at %.2f of its life, %s: %.4g [%.4g %.4g], measured %.4g", name, share, what, s.mid, s.low, s.high, want)
				if !(math.Abs(s.mid-want) <= tolerance) {
					t.Errorf("%s at %.2f of its life: %s is %.4g, measured %.4g, tolerance %.2g", name, share, what, s.mid, want, tolerance)
				}
			}
			within("capacity", now.CapacityAh, c.now(n), capacityPct/100*c.now(n))
			within("state of health", now.SohPct, 100*c.now(n)/c.asNew(), sohPoints)
			within("equivalent full cycles", now.EquivalentFullCycles, c.fullCycles(n), .015*c.fullCycles(n))
			crossing, _ := fit.EndOfLife(.8)
			switch {
			case share > 1:
				within("crossing of 80 %", crossing, life, .04*life)
			case share > .85:
				within("crossing of 80 %, forecast", crossing, life, .20*life)
			default:
				within("crossing of 80 %, forecast", crossing, life, math.Inf(1))
			}
			if c.ohm[0] > 0 {
				late, early := middleOf(c.ohm[n-15:n]), middleOf(c.ohm[:15])
				within("resistance", now.ResistanceMohm, 1000*late, .04*1000*late)
				within("resistance growth", now.GrowthPct, 100*(late/early-1), 6.5)
			}
		}
	}
}
