package model

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestTryScore(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("SEEDS"))
	if n == 0 {
		t.Skip()
	}
	styles := []simulate.Style{simulate.Rich, simulate.Flat, simulate.WallOnly, simulate.Messy}
	if os.Getenv("MORE") != "" {
		styles = []simulate.Style{simulate.Monthly, simulate.Rich, simulate.Messy}
	}
	for _, st := range styles {
		if want := os.Getenv("STYLE"); want != "" && want != st.String() {
			continue
		}
		type tally struct {
			err, half []float64
			hit, n    int
			bias      []float64
		}
		res := map[string]*tally{}
		add := func(q string, d Draws, truth float64) {
			lo, mid, hi := Quantile(d, .05), Quantile(d, .5), Quantile(d, .95)
			if res[q] == nil {
				res[q] = &tally{}
			}
			r := res[q]
			r.err = append(r.err, math.Abs(mid/truth-1)*100)
			r.bias = append(r.bias, (mid/truth-1)*100)
			r.half = append(r.half, (hi-lo)/2/truth*100)
			r.n++
			if truth >= lo && truth <= hi {
				r.hit++
			}
		}
		var ms, nrec float64
		for seed := range n {
			cfg := simulate.Preset(st, uint64(seed+1))
			if os.Getenv("MORE") == "unref" {
				cfg.Pack.RefSpeedKmh, cfg.Pack.RefRiderKg, cfg.Pack.RefRoute = 0, 0, ""
			}
			if os.Getenv("MORE") == "long" {
				cfg.Years, cfg.Habits.RidesWeek = 5, cfg.Habits.RidesWeek*1.5
			}
			if os.Getenv("MORE") == "young" {
				cfg.Years = .5
			}
			log, err := simulate.Run(cfg)
			if err != nil {
				t.Fatal(err)
			}
			var pack string
			for _, r := range log.Records {
				if p, ok := r.(*logbook.Pack); ok {
					pack = p.ID
				}
			}
			h, err := logbook.NewHistory(pack, log.Records, log.Truth.End)
			if err != nil {
				t.Fatal(err)
			}
			t0 := time.Now()
			fit := FitHistory(h, nil)
			now := fit.At(log.Truth.End)
			ms += float64(time.Since(t0).Microseconds()) / 1000
			nrec += float64(len(log.Records))
			truth := log.Truth.At(log.Truth.End)
			later := log.Truth.End.AddDate(1, 0, 0)
			year := fit.At(later)
			ty := log.Truth.At(later)
			add("range", now.RangeKm, truth.RangeKm)
			add("soh", now.SohPct, truth.SohPct)
			add("year", year.RangeKm, ty.RangeKm)
			add("yearsoh", year.SohPct, ty.SohPct)
			add("ah", now.CapacityAh, truth.CapacityAh)
			add("wh", now.CapacityWh, truth.CapacityWh)
			add("whkm", now.WhPerKm, truth.ConsumptionWhKm)
			add("R", now.ResistanceMohm, truth.ResistanceMohm)
			add("efc", now.EquivalentFullCycles, truth.EquivalentFullCycles)
			if os.Getenv("EACH") != "" {
				fmt.Printf("%s %d n=%d %s rng %.2f/%.2f soh %.2f/%.2f ah %.3f/%.3f R %.1f/%.1f whkm %.2f/%.2f efc %.1f/%.1f scales %+v rej %d wrong %d\n", st, seed+1, len(log.Records), fit.Status, Quantile(now.RangeKm, .5), truth.RangeKm, Quantile(now.SohPct, .5), truth.SohPct, Quantile(now.CapacityAh, .5), truth.CapacityAh, Quantile(now.ResistanceMohm, .5), truth.ResistanceMohm, Quantile(now.WhPerKm, .5), truth.ConsumptionWhKm, Quantile(now.EquivalentFullCycles, .5), truth.EquivalentFullCycles, fit.m.scale, len(fit.f.p.reject), len(log.Truth.Wrong))
			}
		}
		for _, q := range []string{"range", "soh", "year", "yearsoh", "ah", "wh", "whkm", "R", "efc"} {
			r := res[q]
			fmt.Printf("%-8s %-8s err %.2f bias %+.2f half %.2f hit %d/%d\n", st, q, median(r.err), median(r.bias), median(r.half), r.hit, r.n)
		}
		fmt.Printf("%s: %.0f ms a fit, %.0f records\n", st, ms/float64(n), nrec/float64(n))
	}
}
