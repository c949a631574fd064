package model_test

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestEnergyThatWasReckoned: a log whose watt-hours are its ampere-hours times the
// nominal volts tells of no voltage, and its capacity is as without them.
func TestEnergyThatWasReckoned(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat} {
		cfg := simulate.Preset(style, 1201)
		log, h, _ := keptBack(t, cfg)
		nominal := cfg.Pack.NominalV * float64(cfg.Pack.Series)
		var reckoned, none []logbook.Record
		for _, rec := range log.Records {
			ride, ok := rec.(*logbook.Ride)
			if !ok {
				reckoned, none = append(reckoned, rec), append(none, rec)
				continue
			}
			with, without := *ride, *ride
			without.DischargedWh, without.RegenWh = logbook.Num{}, logbook.Num{}
			if with = without; ride.DischargedAh.OK {
				with.DischargedWh = logbook.Some(math.Round(10*ride.DischargedAh.V*nominal) / 10)
				if ride.RegenAh.OK {
					with.RegenWh = logbook.Some(math.Round(10*ride.RegenAh.V*nominal) / 10)
				}
			}
			reckoned, none = append(reckoned, &with), append(none, &without)
		}
		capacity := func(records []logbook.Record) model.Draws {
			h, err := logbook.NewHistory(cfg.Pack.ID, records, h.AsOf)
			if err != nil {
				t.Fatal(err)
			}
			return model.FitHistory(h, nil).At(h.AsOf).CapacityAh
		}
		want, got := capacity(none), capacity(reckoned)
		if off := math.Abs(model.Quantile(got, .5)-model.Quantile(want, .5)) / (model.Quantile(want, .95) - model.Quantile(want, .05)); off > .1 {
			t.Errorf("%v: capacity %.2f Ah with watt-hours that were reckoned, %.2f without", style, model.Quantile(got, .5), model.Quantile(want, .5))
		}
	}
}
