package model

import (
	"fmt"
	"os"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgUnref(t *testing.T) {
	if os.Getenv("UNREF") == "" {
		t.Skip()
	}
	for seed := 1; seed < 9; seed++ {
		cfg := simulate.Preset(simulate.Messy, uint64(seed))
		cfg.Pack.RefSpeedKmh, cfg.Pack.RefRiderKg, cfg.Pack.RefRoute = 0, 0, ""
		log, _ := simulate.Run(cfg)
		h, _ := logbook.NewHistory(onlyPack(log.Records), log.Records, log.Truth.End)
		fit := FitHistory(h, nil)
		fmt.Printf("seed %d ref speed %.1f true %.1f mass %.1f true %.1f sd %.2f", seed, fit.m.ref.trip.SpeedMs*3.6, cfg.Riders[0].TestKmh, fit.m.ref.trip.MassKg, cfg.Riders[0].Kg+cfg.Board.MassKg, 0.)
		for _, d := range log.Truth.Reference(log.Truth.End) {
			o := log.Truth.GoKm(d, 8)
			fmt.Printf(" | %s %.2f (sd %.1f)", d.Route.Name, o.NetWhKm(), o.SpeedSD)
		}
		fmt.Println()
		var c cellState
		fit.m.decode(fit.z, &c)
		for _, e := range fit.m.ref.effects {
			fmt.Printf("   %s w %.2f f %.3f c %.2f;", fit.m.groupNames[e.group], e.w, c.groups[e.group], c.road.WhPerKm(fit.m.ref.trip))
		}
		fmt.Println(fit.m.ref.trip.SpeedVarMs2)
	}
}
