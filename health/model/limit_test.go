package model_test

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestLimitIsSetAnew: in the middle of a log the limit is raised by .15 V a cell. The
// capacity and the range are those down to the new one; the state of health does not
// fall by it, also where the capacity as new was measured down to the old one; and what
// is expected of a ride is down to the limit of its day.
func TestLimitIsSetAnew(t *testing.T) {
	const packs, least = 16, 12 // of 16 intervals of 90 %, fewer hold once in 60
	held := map[string]int{}
	for i := range packs {
		style := []simulate.Style{simulate.Rich, simulate.Flat, simulate.WallOnly, simulate.Messy}[i%4]
		cfg := simulate.Preset(style, 2301+uint64(i/4))
		cfg.Pack.TellAsnew = i/4%2 == 0
		first := cfg.Pack.LimitV
		raised := math.Round(10*(first+.15*float64(cfg.Pack.Series))) / 10
		cfg.Events = append(cfg.Events, simulate.Event{Day: int(cfg.Years * 365.25 * .6), What: simulate.LimitSet, LimitV: raised})
		log, h, fit := keptBack(t, cfg)
		if got := fit.Reference().LimitV; math.Abs(got-raised) > 1e-9 || h.Pack.LimitV.V != first {
			t.Fatalf("%v: a full cycle ends at %v V, want %v", style, got, raised)
		}
		for name, s := range scoreAll(cfg, log, fit) {
			if s.holds() {
				held[name]++
			}
		}
		late := *fit.Repeats()[len(fit.Repeats())-1].Ride
		early := late
		early.At, early.End = cfg.Start.AddDate(0, 0, 1), cfg.Start.AddDate(0, 0, 1).Add(logbook.EndOf(&late).Sub(late.At))
		expected := func(r logbook.Ride) float64 { return model.Quantile(fit.Predict(&r).DischargedAh, .5) }
		if !(expected(early) > 1.004*expected(late)) {
			t.Errorf("%v: %.2f Ah are expected down to %v V, %.2f Ah down to %v V", style, expected(early), first, expected(late), raised)
		}
	}
	t.Log(held)
	for _, name := range []string{"range", "soh", "capacity_ah", "range_in_a_year"} {
		if held[name] < least {
			t.Errorf("%s: %d of %d intervals hold the truth", name, held[name], packs)
		}
	}
}

// TestFirstLimitBySetup: where a pack's only limit is set up on its first day, the capacity as
// new was measured down to that.
func TestFirstLimitBySetup(t *testing.T) {
	cfg := simulate.Preset(simulate.Rich, 2301)
	cfg.Pack.TellAsnew = true
	cfg.Pack.LimitV = 39 // far from what its chemistry would be given
	log, err := simulate.Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	soh := func(setUp bool) float64 {
		all := copiesOf(t, log.Records)
		if setUp {
			for _, r := range all {
				if p, ok := r.(*logbook.Pack); ok {
					all = append(all, &logbook.Setup{Head: logbook.Head{ID: "first", Rev: 1}, Pack: p.ID, At: cfg.Start, LimitV: p.LimitV, CutoffV: p.CutoffV})
					p.LimitV, p.CutoffV = logbook.Num{}, logbook.Num{}
				}
			}
		}
		h, err := logbook.NewHistory(cfg.Pack.ID, all, log.Truth.End)
		if err != nil {
			t.Fatal(err)
		}
		return model.Quantile(model.FitHistory(h, nil).At(h.AsOf).SohPct, .5)
	}
	if by, plain := soh(true), soh(false); math.Abs(by-plain) > 1e-6 {
		t.Errorf("state of health %.3f %% by a setup, %.3f %% by the pack", by, plain)
	}
}
