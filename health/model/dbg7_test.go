package model

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgThrough(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("THRU"))
	if n == 0 {
		t.Skip()
	}
	for seed := 1; seed <= n; seed++ {
		log, _ := simulate.Run(simulate.Preset(simulate.Messy, uint64(seed)))
		var pack string
		for _, r := range log.Records {
			if p, ok := r.(*logbook.Pack); ok {
				pack = p.ID
			}
		}
		h, _ := logbook.NewHistory(pack, log.Records, log.Truth.End)
		fit := FitHistory(h, nil)
		volts := fit.m.chem.NominalV * fit.m.series
		var unl, unlTrue, logged, loggedTrue, kmT float64
		wrong := map[string]bool{}
		for _, w := range log.Truth.Wrong {
			wrong[fmt.Sprint(w)] = true
		}
		for _, rt := range log.Truth.Rides() {
			kmT += rt.Outcome.Km
			if rt.ID == "" {
				unlTrue += rt.Outcome.Ah
			} else {
				loggedTrue += rt.Outcome.Ah
			}
		}
		for i := range fit.m.events {
			e := &fit.m.events[i]
			if e.kind != evRide {
				continue
			}
			unl += e.unloggedKm * fit.f.p.c.road.WhPerKm(fit.m.usualTrip()) / volts
			logged += fit.f.p.carry[i].qAh
			if e.unloggedKm > 30 {
				fmt.Println("  gap", e.unloggedKm, e.id, e.km)
			}
			if rt, ok := log.Truth.Ride(e.id); ok {
				if d := fit.f.p.carry[i].qAh - rt.Outcome.Ah; d > .25*fit.m.ratedAh || d < -.25*fit.m.ratedAh {
					fmt.Printf("  ride %s q %.2f true %.2f km %.2f true %.2f ah %.2f stop %s\n", e.id, fit.f.p.carry[i].qAh, rt.Outcome.Ah, e.km, rt.Outcome.Km, e.ah, e.stop)
				}
			}
		}
		fmt.Printf("seed %d unlogged %.1f true %.1f  logged %.1f true %.1f wrong %d\n", seed, unl, unlTrue, logged, loggedTrue, len(log.Truth.Wrong))
	}
}
