package model

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestChargesLeftOut: of a rider who logs one charge in three the rides between two
// logged charges are not one discharge. Twelve tests of 30 km, after three rides of 12
// each time: before, such a log made 50 km of it. The pack is invented.
func TestChargesLeftOut(t *testing.T) {
	some := logbook.Some
	first := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for every, leftOut := range map[int]bool{1: false, 3: true} {
		rng := rand.New(rand.NewPCG(3, uint64(every)))
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "siskin-board", Rev: 1}, MassKg: some(18), RefTyreKpa: some(300)},
			&logbook.Pack{Head: logbook.Head{ID: "siskin", Rev: 1}, Board: "siskin-board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(3), InService: first, RefSpeedKmh: some(20), RefRiderKg: some(80)},
		}
		n := 0
		ride := func(at time.Time, km float64, stop string) {
			n++
			records = append(records, &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", n), Rev: 1}, Pack: "siskin", Board: "siskin-board", At: at, DistanceKm: some(math.Round(10*km*math.Exp(.02*rng.NormFloat64())) / 10), MovingSpeedKmh: some(20), AmbientC: some(20), Stop: stop})
			if n%every == 0 {
				records = append(records, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("c", n), Rev: 1}, Pack: "siskin", At: at.Add(8 * time.Hour), Full: logbook.Yes})
			}
		}
		for i := range 12 {
			day := first.AddDate(0, 0, 10*i)
			for k := range 3 {
				ride(day.AddDate(0, 0, k), 12, "chosen")
			}
			ride(day.AddDate(0, 0, 5), 30, "limit")
		}
		h, err := logbook.NewHistory("siskin", records, first.AddDate(0, 5, 0))
		if err != nil {
			t.Fatal(err)
		}
		fit := FitHistory(h, nil)
		if found := fit.m.leftOut > 0; found != leftOut {
			t.Errorf("every %d charges logged: left out %g", every, fit.m.leftOut)
		}
		s := fit.At(h.AsOf)
		if lo, mid, hi := Quantile(s.RangeKm, .05), Quantile(s.RangeKm, .5), Quantile(s.RangeKm, .95); lo > 30 || hi < 30 || mid > 36 {
			t.Errorf("every %d charges logged: %.1f km [%.1f %.1f], 30 are true", every, mid, lo, hi)
		}
	}
}

// TestAThriftyRiderLogsAll: two rides for each logged charge, of a kilometre that takes
// much less than usual, and no meter says so. Nothing is left out. The pack is invented.
func TestAThriftyRiderLogsAll(t *testing.T) {
	some := logbook.Some
	first := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	records := []logbook.Record{
		&logbook.Board{Head: logbook.Head{ID: "dotterel-board", Rev: 1}, MassKg: some(14), RefTyreKpa: some(300)},
		&logbook.Pack{Head: logbook.Head{ID: "dotterel", Rev: 1}, Board: "dotterel-board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(3.4), InService: first, RefSpeedKmh: some(18), RefRiderKg: some(70)},
	}
	for i := range 12 {
		day := first.AddDate(0, 0, 6*i)
		for k, stop := range []string{"chosen", "limit"} {
			km := math.Round(10*(22.5+.3*float64(i%3))) / 10
			records = append(records, &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", i, stop), Rev: 1}, Pack: "dotterel", Board: "dotterel-board", At: day.AddDate(0, 0, k), DistanceKm: some(km), MovingSpeedKmh: some(18), AmbientC: some(20), Stop: stop})
		}
		records = append(records, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("c", i), Rev: 1}, Pack: "dotterel", At: day.AddDate(0, 0, 2), Full: logbook.Yes})
	}
	h, err := logbook.NewHistory("dotterel", records, first.AddDate(0, 3, 0))
	if err != nil {
		t.Fatal(err)
	}
	fit := FitHistory(h, nil)
	s := fit.At(h.AsOf)
	if lo, hi := Quantile(s.RangeKm, .05), Quantile(s.RangeKm, .95); fit.m.leftOut != 0 || lo > 46 || hi < 45 {
		t.Errorf("left out %g, %.1f to %.1f km where 45.6 are true", fit.m.leftOut, lo, hi)
	}
}
