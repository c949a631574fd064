package model

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// A log that does not say how many groups a pack has in series tells it by Wh
// over Ah: capacity and range are as where it is said, give or take what the
// voltages, which then stay unused, would have told.
func TestSeriesFromWhOverAh(t *testing.T) {
	_, said := fitSimulated(t, simulate.Rich, 3)
	log, err := simulate.Run(simulate.Preset(simulate.Rich, 3))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range log.Records {
		if p, ok := r.(*logbook.Pack); ok {
			p.Series = logbook.Num{}
		}
	}
	h, err := logbook.NewHistory("pack", log.Records, log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	guessed := FitHistory(h, nil)
	if guessed.m.series != said.m.series || guessed.m.voltsKnown {
		t.Fatalf("%g groups in series, want %g, and no volts of one cell", guessed.m.series, said.m.series)
	}
	a, b := said.At(said.Now()), guessed.At(guessed.Now())
	for name, d := range map[string][2]Draws{"Ah": {a.CapacityAh, b.CapacityAh}, "Wh": {a.CapacityWh, b.CapacityWh}, "km": {a.RangeKm, b.RangeKm}} {
		if off := Quantile(d[1], .5)/Quantile(d[0], .5) - 1; math.Abs(off) > .03 {
			t.Errorf("%s: %+.1f %% off what the log says with the number of groups", name, 100*off)
		}
	}
}
