package model

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// A log that does not say how many groups a pack has in series tells it nearly,
// by Wh over Ah: capacity and range are as where it is said, give or take what the
// voltages, which then stay unused, would have told.
func TestSeriesFromWhOverAh(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat} {
		for seed := range uint64(3) {
			seriesAreTold(t, style, 3+seed)
		}
	}
}

func seriesAreTold(t *testing.T, style simulate.Style, seed uint64) {
	_, said := fitSimulated(t, style, seed)
	log, err := simulate.Run(simulate.Preset(style, seed))
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
	if off := guessed.m.series/said.m.series - 1; math.Abs(off) > .1 || guessed.m.voltsKnown {
		t.Fatalf("%.1f groups in series, want about %g, and no volts of one cell", guessed.m.series, said.m.series)
	}
	a, b := said.At(said.Now()), guessed.At(guessed.Now())
	for name, d := range map[string][2]Draws{"Ah": {a.CapacityAh, b.CapacityAh}, "Wh": {a.CapacityWh, b.CapacityWh}, "km": {a.RangeKm, b.RangeKm}} {
		if off := Quantile(d[1], .5)/Quantile(d[0], .5) - 1; math.Abs(off) > .03 {
			t.Errorf("%v %d: %s %+.1f %% off what the log says with the number of groups", style, seed, name, 100*off)
		}
	}
}

// A bench that is asked anew at the contract's conditions gives the capacity
// that its log gives: the current is that of its discharges, without peaks.
func TestBenchIsAskedAtItsOwnCurrent(t *testing.T) {
	cfg := simulate.Preset(simulate.BenchCell, 3)
	log, err := simulate.Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	fit := FitHistory(h, nil)
	g, at := fit.Go(Way{}), fit.At(fit.Now())
	for i, wh := range g.CapacityWh {
		if math.Abs(wh/at.CapacityWh[i]-1) > 1e-9 {
			t.Fatalf("draw %d: %.4f Wh, want %.4f", i, wh, at.CapacityWh[i])
		}
	}
}
