package model_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// Where no speed is known, the reference is as the logged full cycles were
// ridden: in calm air at 25 degrees two of them show the range.
func TestUnknownSpeedIsAsRidden(t *testing.T) {
	some := logbook.Some
	start := time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)
	for _, km := range []float64{18, 27, 36} { // of one pack under riders of other habits
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "board", Rev: 1}, MassKg: some(12), RefTyreKpa: some(250)},
			&logbook.Pack{Head: logbook.Head{ID: "pack", Rev: 1}, Board: "board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(3), LimitV: some(30), InService: start},
		}
		at := start
		for k := range 4 {
			at = start.AddDate(0, 0, 3*k)
			records = append(records,
				&logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("c", k), Rev: 1}, Pack: "pack", At: at, Full: logbook.Yes, HoldMin: some(60)},
				&logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", k), Rev: 1}, Pack: "pack", At: at.Add(time.Hour), DistanceKm: some(km), DischargedAh: some(12), DischargedWh: some(435), AmbientC: some(25), HeadwindKmh: some(0), ClimbM: some(0), TyreKpa: some(250), Stop: "limit"})
		}
		h, err := logbook.NewHistory("pack", records, at.AddDate(0, 0, 1))
		if err != nil {
			t.Fatal(err)
		}
		got := model.FitHistory(h, nil).At(h.AsOf).RangeKm
		if mid := model.Quantile(got, .5); math.Abs(mid/km-1) > .06 || model.Quantile(got, .05) > km || model.Quantile(got, .95) < km {
			t.Errorf("four rides of %.0f km show a range of %.1f km (%.1f to %.1f)", km, mid, model.Quantile(got, .05), model.Quantile(got, .95))
		}
	}
}
