package model

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestRidesToTheLimitWithoutCharges: nobody logs a charge, and volts are read after each
// ride alone, or before it too. Each ride is full to empty, so that its Ah are the
// capacity and its way the range; they were taken for the rides of a pack that stayed
// empty, six times as far.
func TestRidesToTheLimitWithoutCharges(t *testing.T) {
	for _, startV := range []logbook.Num{{}, logbook.Some(41.6)} {
		first := time.Date(2025, 6, 1, 8, 0, 0, 0, time.UTC)
		records := []logbook.Record{&logbook.Pack{Head: logbook.Head{ID: "wren"}, Chemistry: "nmc", Series: logbook.Some(10), Parallel: logbook.Some(4), CellCapacityAh: logbook.Some(3), InService: first}}
		for i := range 60 {
			// it fades a little, and rides differ
			part := (1 - .001*float64(i)) * (1 + .009*math.Sin(float64(7*i)))
			km := 29 * part * (1 + .045*math.Sin(float64(11*i)))
			at := first.AddDate(0, 0, 3*i)
			records = append(records, &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", 10+i)}, Pack: "wren", At: at, End: at.Add(time.Hour), Stop: "limit", DistanceKm: logbook.Some(km), MovingMin: logbook.Some(1.9 * km),
				DischargedAh: logbook.Some(11.4 * part), DischargedWh: logbook.Some(408 * part), StartRestV: startV, EndRestV: logbook.Some(33), EndRestMin: logbook.Some(30)})
		}
		h, err := logbook.NewHistory("wren", records, first.AddDate(0, 6, 3))
		if err != nil {
			t.Fatal(err)
		}
		fit := FitHistory(h, nil)
		got := fit.At(h.AsOf)
		if ah, km := Quantile(got.CapacityAh, .5), Quantile(got.RangeKm, .5); math.Abs(ah/10.75-1) > .05 || math.Abs(km/29-1) > .1 {
			t.Errorf("volts before rides %v: 10.75 Ah and 27 to 30 km a ride are taken for %.2f Ah and %.1f km", startV.OK, ah, km)
		}
	}
}
