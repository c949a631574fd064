package model_test

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestRidesOfNoDistance: a ride of 0 km that no meter counted took next to nothing by
// itself. Some of them, just before other rides, leave what those took out and how far
// the pack goes as they were.
func TestRidesOfNoDistance(t *testing.T) {
	pack, records, end := shortLog(t, simulate.Rich, .5)
	var with []logbook.Record
	n := 0
	for _, r := range records {
		if ride, ok := r.(*logbook.Ride); ok {
			if n++; n%6 == 0 {
				with = append(with, &logbook.Ride{Head: logbook.Head{ID: "none-" + ride.ID, Rev: 1}, Pack: ride.Pack, Board: ride.Board, At: ride.At.Add(-2 * time.Minute), DistanceKm: logbook.Some(0)})
			}
		}
		with = append(with, r)
	}
	answer := func(records []logbook.Record) (km, cycles float64) {
		h, err := logbook.NewHistory(pack, records, end)
		if err != nil {
			t.Fatal(err)
		}
		s := model.FitHistory(h, nil).At(h.AsOf)
		return middleOf(s.RangeKm), middleOf(s.EquivalentFullCycles)
	}
	km, cycles := answer(records)
	km2, cycles2 := answer(with)
	t.Logf("%d rides: %.2f km and %.2f cycles; with rides of no distance %.2f km and %.2f cycles", n, km, cycles, km2, cycles2)
	if off := math.Abs(math.Log(km2 / km)); off > .005 {
		t.Errorf("range goes from %.2f to %.2f km", km, km2)
	}
	if off := math.Abs(math.Log(cycles2 / cycles)); off > .01 {
		t.Errorf("full cycles go from %.2f to %.2f", cycles, cycles2)
	}
}
