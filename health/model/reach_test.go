package model_test

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestReachOfRidesThatTakeMore: whoever goes 6 % less far on ordinary rides than
// on tests, for what they draw, is told to turn back the sooner; a test's sheet
// is for riding as tests are ridden.
func TestReachOfRidesThatTakeMore(t *testing.T) {
	const less = .94
	reach := func(share float64, test bool) (km float64, turn float64) {
		h, _, _ := simulated(t, simulate.Rich, 41)
		for _, r := range h.Rides {
			if r.Stop != "limit" {
				r.DistanceKm.V *= share
			}
		}
		fit := model.FitHistory(h, nil)
		got := fit.Reach(model.Standing{UsedWh: logbook.Some(0), Risk: .05, Test: test})
		return model.Quantile(got.RemainingKm, .5), got.TurnBackKm
	}
	plain, plainTurn := reach(1, false)
	km, turn := reach(less, false)
	if math.Abs(km/plain-less) > .01 || math.Abs(turn/plainTurn-less) > .015 {
		t.Errorf("rides that go %g as far: %.2f km instead of %.2f, back at %.2f instead of %.2f", less, km, plain, turn, plainTurn)
	}
	testKm, _ := reach(less, true)
	if plainTest, _ := reach(1, true); math.Abs(testKm/plainTest-1) > .015 {
		t.Errorf("a test is expected to go %.2f km instead of %.2f where only ordinary rides go less far", testKm, plainTest)
	}
}

// TestNothingUsed: a meter that shows 0 says that the pack is full, in Ah as in Wh; 0 Ah
// is not a figure rounded to a whole ampere-hour.
func TestNothingUsed(t *testing.T) {
	_, fit, _ := simulated(t, simulate.Rich, 41)
	for name, s := range map[string]model.Standing{"Ah": {UsedAh: logbook.Some(0), Risk: .05}, "Wh": {UsedWh: logbook.Some(0), Risk: .05}} {
		left := fit.Reach(s).LevelPct
		if low := model.Quantile(left, .05); low < 99 {
			t.Errorf("0 %s used: %.1f to %.1f %% is left", name, low, model.Quantile(left, .95))
		}
	}
}
