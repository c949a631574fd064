package model_test

import (
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
)

// TestCompareAgainstTruth brings pairs of invented packs to the first one's
// conditions and holds the difference of their ranges against what the truth
// rides there.
func TestCompareAgainstTruth(t *testing.T) {
	some := logbook.Some
	var all score
	for _, style := range scoreStyles() {
		var difference, single score
		list := seeds(2001, 4)
		if len(list) < 2 {
			t.Skip("a difference needs pairs: not with -short")
		}
		for k := 0; k+1 < len(list); k += 2 {
			var km [2]model.Draws
			var came [2]float64
			var way model.Way
			for side := range 2 {
				h, fit, truth := simulated(t, style, list[k+side])
				if side == 0 {
					ref := fit.Reference()
					way = model.Way{AirC: some(ref.AirC), PackC: some(ref.PackC), SpeedKmh: some(ref.SpeedKmh), RiderKg: some(fit.ReferenceRiderKg())}
				}
				d := truth.Reference(truth.End)[0]
				d.SpeedKmh, d.Rider.Kg = way.SpeedKmh.V, way.RiderKg.V
				came[side] = truth.Go(d).Km
				km[side] = fit.Apart(fit.Go(way).RangeKm)
				single.add(km[side], came[side], came[side], false)
				_ = h
			}
			diff := make(model.Draws, len(km[0]))
			for i := range diff {
				diff[i] = km[0][i] - km[1][i]
			}
			difference.add(diff, came[0]-came[1], (came[0]+came[1])/2, false)
			all.add(diff, came[0]-came[1], (came[0]+came[1])/2, false)
		}
		t.Logf("%-10s difference %v", style, &difference)
		t.Logf("%-10s range      %v", style, &single)
	}
	t.Logf("all        difference %v", &all)
	if err, _ := all.median(); err > 2.5 || all.share() < .6 {
		t.Errorf("differences: %v; want an error of 2.5 %% at most and intervals that hold", &all)
	}
}
