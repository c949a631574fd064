package model

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
)

func benchLog(t *testing.T, file, cell string, upto int) []logbook.Record {
	f, err := os.Open(os.Getenv("PACKWANE_REFERENCE") + "/" + file)
	if err != nil {
		t.Skip(err)
	}
	rows, _ := csv.NewReader(f).ReadAll()
	p := &logbook.Pack{Head: logbook.Head{ID: cell, Rev: 1}, Chemistry: "lco", Series: logbook.Some(1), Parallel: logbook.Some(1), CellCapacityAh: logbook.Some(1.1), LimitV: logbook.Some(2.7), CellFullV: logbook.Some(4.2)}
	if file[0] == 'n' {
		p.Chemistry = "nca"
		p.CellCapacityAh = logbook.Some(2)
		p.RefTempC = logbook.Some(24)
	}
	out := []logbook.Record{p}
	at := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)
	p.InService = at
	for i, r := range rows[1:] {
		if r[0] != cell {
			continue
		}
		if n, _ := strconv.Atoi(r[1]); n > upto {
			break
		}
		q, _ := strconv.ParseFloat(r[2], 64)
		at = at.Add(8 * time.Hour)
		out = append(out, &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", i), Rev: 1}, Pack: cell, At: at, End: at.Add(time.Hour), DischargedAh: logbook.Some(q), Stop: "limit", AmbientC: logbook.Some(24)})
		if len(r) > 3 {
			v, _ := strconv.ParseFloat(r[3], 64)
			out = append(out, &logbook.Check{Head: logbook.Head{ID: fmt.Sprint("c", i), Rev: 1}, Pack: cell, At: at.Add(61 * time.Minute), ResistanceMohm: logbook.Some(v * 1000), PackC: logbook.Some(25), SocPct: logbook.Some(50)})
		}
	}
	return out
}

func show(t *testing.T, name string, fit *Fit) {
	s := fit.At(fit.Now())
	q := func(d Draws) string {
		return fmt.Sprintf("%.4g [%.4g %.4g]", Quantile(d, .5), Quantile(d, .05), Quantile(d, .95))
	}
	c, _ := fit.EndOfLife(.8)
	t.Log(name, fit.Status, "Ah", q(s.CapacityAh), "soh", q(s.SohPct), "R", q(s.ResistanceMohm), "growth", q(s.GrowthPct), "efc", q(s.EquivalentFullCycles), "eol80", q(c), "scales", fit.m.scale, "rej", len(fit.f.p.reject))
}

func TestTryBench(t *testing.T) {
	for _, c := range []struct{ file, cell string }{{"nasa_pcoe_capacity.csv", "B0005"}, {"nasa_pcoe_capacity.csv", "B0006"}, {"calce_cs2_capacity_resistance.csv", "CS2_35"}, {"calce_cs2_capacity_resistance.csv", "CS2_36"}} {
		for _, n := range []int{20, 40, 60, 84, 120, 168, 300, 400, 500, 936} {
			if n > 168 && c.file[0] == 'n' {
				continue
			}
			recs := benchLog(t, c.file, c.cell, n)
			last := recs[len(recs)-1]
			h, err := logbook.NewHistory(c.cell, recs, logbook.EndOf(last).Add(time.Hour))
			if err != nil {
				t.Fatal(err)
			}
			t0 := time.Now()
			fit := FitHistory(h, nil)
			show(t, fmt.Sprint(c.cell, " ", n, " ", time.Since(t0).Milliseconds(), "ms"), fit)
		}
	}
}
