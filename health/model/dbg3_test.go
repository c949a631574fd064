package model

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgResid(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("RESID"))
	if n == 0 {
		t.Skip()
	}
	st, _ := strconv.Atoi(os.Getenv("ST"))
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
		groups := map[string][]float64{}
		for _, tp := range fit.f.p.tape {
			if tp.event < 0 || tp.rejected {
				continue
			}
			e := &fit.m.events[tp.event]
			r, ok := e.record.(*logbook.Ride)
			if !ok || tp.kind != obDistance {
				continue
			}
			key := r.Route + "/" + r.Stop
			groups[key] = append(groups[key], tp.innovation*100)
		}
		fmt.Printf("seed %d bench %v", seed, fit.m.scale)
		for k, v := range groups {
			fmt.Printf(" | %s n%d med %.2f sd %.2f", k, len(v), median(v), robustSd(v))
		}
		fmt.Println()
	}
}
