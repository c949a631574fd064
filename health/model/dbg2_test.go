package model

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"packwane/health/law"
	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgCauses(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("CAUSES"))
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
		var c cellState
		fit.m.decode(fit.z, &c)
		sum := map[string][2]float64{}
		k := 0.0
		for i := range fit.m.events {
			e := &fit.m.events[i]
			r, ok := e.record.(*logbook.Ride)
			if !ok || r.Stop != "limit" || !known(e.km) {
				continue
			}
			rt, ok := log.Truth.Ride(r.ID)
			if !ok {
				continue
			}
			k++
			base := log.Truth.GoKm(rt.Drive, 8).NetWhKm()
			mb := c.road.WhPerKm(e.trip)
			try := func(name string, f func(d *simulate.Drive), g func(t *law.Trip)) {
				d := rt.Drive
				f(&d)
				tr := e.trip
				g(&tr)
				v := sum[name]
				v[0] += math.Log(log.Truth.GoKm(d, 8).NetWhKm() / base)
				v[1] += math.Log(c.road.WhPerKm(tr) / mb)
				sum[name] = v
			}
			try("wind", func(d *simulate.Drive) { d.WindKmh = 0 }, func(t *law.Trip) { t.HeadwindMs, t.CrossRoundMs = 0, 0 })
			try("air25", func(d *simulate.Drive) { d.AirC = 25 }, func(t *law.Trip) { t.AirC = 25 })
			try("climb", func(d *simulate.Drive) { d.Route.ClimbMKm, d.Route.RiseMKm = 0, 0 }, func(t *law.Trip) { t.ClimbPerM, t.DescentPerM = 0, 0 })
			try("tyre", func(d *simulate.Drive) { d.TyreKpa *= .7 }, func(t *law.Trip) { t.LogPressure += math.Log(.7) })
			try("speed+10%", func(d *simulate.Drive) { d.SpeedKmh *= 1.1 }, func(t *law.Trip) { t.SpeedMs *= 1.1; t.StandingSPerM /= 1.1 })
			try("mass+10", func(d *simulate.Drive) { d.Rider.Kg += 10 }, func(t *law.Trip) { t.MassKg += 10 })
			try("level", func(d *simulate.Drive) {}, func(t *law.Trip) {})
			v := sum["level"]
			v[1] += math.Log(mb / base)
			v[0]++
			for _, g := range e.effects {
				v[1] += c.groups[g]
			}
			sum["level"] = v
		}
		fmt.Printf("seed %d n=%.0f:", seed, k)
		for _, name := range []string{"level", "wind", "air25", "climb", "tyre", "speed+10%", "mass+10"} {
			fmt.Printf(" %s %.1f/%.1f", name, 100*sum[name][0]/k, 100*sum[name][1]/k)
		}
		fmt.Println()
	}
}
