package model_test

import (
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestAnEasyWayOut: what took a third less than usual on the way out had a wind or a
// slope behind it, which are against the rider on the way home. Where nobody says what
// the wind does one may not go farther out for it than where a calm is stated; a way
// out as usual is told from it by nothing.
func TestAnEasyWayOut(t *testing.T) {
	for seed := uint64(1131); seed < 1137; seed++ {
		_, h, fit := keptBack(t, simulate.Preset(simulate.Rich, seed))
		perKm := model.Quantile(fit.At(h.AsOf).WhPerKm, .5)
		ask := func(share float64, wind logbook.Num) *model.Reach {
			const out = 6.0
			return fit.Reach(model.Standing{UsedWh: logbook.Some(share * perKm * out), OutKm: logbook.Some(out), Way: model.Way{HeadwindKmh: wind, AirC: logbook.Some(20)}, Risk: .05})
		}
		easy, calm, usual := ask(.67, logbook.Num{}), ask(.67, logbook.Some(0)), ask(1.02, logbook.Num{})
		if !easy.Helped || calm.Helped || usual.Helped {
			t.Errorf("%d: helped is %v, in a stated calm %v, as usual %v", seed, easy.Helped, calm.Helped, usual.Helped)
		}
		if easy.TurnBackKm > .9*calm.TurnBackKm {
			t.Errorf("%d: turn after %.1f km where nobody says what the wind does, %.1f in a stated calm", seed, easy.TurnBackKm, calm.TurnBackKm)
		}
	}
}
