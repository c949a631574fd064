package model

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgDrop(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("DROP"))
	if n == 0 {
		t.Skip()
	}
	for st := range 4 {
		for seed := 1; seed <= n; seed++ {
			log, _ := simulate.Run(simulate.Preset(simulate.Style(st), uint64(seed)))
			var pack string
			for _, r := range log.Records {
				if p, ok := r.(*logbook.Pack); ok {
					pack = p.ID
				}
			}
			h, _ := logbook.NewHistory(pack, log.Records, log.Truth.End)
			fit := FitHistory(h, nil)
			q := func(d Draws) float64 { return Quantile(d, .5) }
			end := log.Truth.End
			now, yr := fit.At(end), fit.At(end.AddDate(1, 0, 0))
			tr, ty, t1 := log.Truth.At(end), log.Truth.At(end.AddDate(1, 0, 0)), log.Truth.At(end.AddDate(-1, 0, 0))
			f := fit.Fade()
			fmt.Printf("%d/%d truth soh -1y %.1f now %.1f +1y %.1f | model %.1f %.1f | efc now %.0f +1y %.0f model +1y %.0f cal %.1f cyc %.1f  fam", st, seed, t1.SohPct, tr.SohPct, ty.SohPct, q(now.SohPct), q(yr.SohPct), tr.EquivalentFullCycles, ty.EquivalentFullCycles, q(yr.EquivalentFullCycles), q(f.CalendarLossPct), q(f.CycleLossPct))
			for k, v := range f.Families {
				if v > .1 {
					fmt.Printf(" %s %.2f", k, v)
				}
			}
			fmt.Println()
		}
	}
}
