package model_test

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// endingAfter is the log of a simulated pack as of some full cycles after a day: rides
// from full to the limit with the charge that refilled it.
func endingAfter(t *testing.T, cfg simulate.Config, day, cycles int) (*logbook.History, *simulate.Truth, time.Time) {
	t.Helper()
	log, err := simulate.Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	from := cfg.Start.AddDate(0, 0, day)
	at := log.Truth.End
	limit := false
	for _, r := range log.Records {
		if logbook.EndOf(r).Before(from) {
			continue
		}
		switch r := r.(type) {
		case *logbook.Ride:
			limit = r.Stop == "limit"
		case *logbook.Charge:
			if limit && r.Full == logbook.Yes {
				if cycles--; cycles == 0 {
					at = logbook.EndOf(r)
				}
			}
			limit = false
		}
	}
	h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, at)
	if err != nil {
		t.Fatal(err)
	}
	return h, log.Truth, at
}

// TestAStringIsLost: a quarter or a third of the cells come off at once, which nobody
// writes down. From the second full cycle on capacity and range are those of the pack as
// it is; a log where nothing came off has no step.
func TestAStringIsLost(t *testing.T) {
	const day = 250
	found, asked, falsely := 0, 0, 0
	var now, year score
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat} {
		for seed := uint64(511); seed < 517; seed++ {
			for _, share := range []float64{0, .25, .33} {
				cfg := simulate.Preset(style, seed)
				cfg.Years, cfg.Keeping.Wrong = 1, 0
				if share > 0 {
					cfg.Events = append(cfg.Events, simulate.Event{Day: day, What: simulate.StringLost, Share: share})
				}
				h, truth, at := endingAfter(t, cfg, day, 2)
				fit := model.FitHistory(h, nil)
				step, is := fit.Step()
				if share == 0 {
					if is {
						falsely++
						t.Logf("%s %d: a step to %.0f %% on %s where there was none", style, seed, model.Quantile(step.LeftPct, .5), step.Ride.At)
					}
					continue
				}
				asked++
				got, facts := fit.At(h.AsOf), truth.At(at)
				now.add(got.CapacityAh, facts.CapacityAh, facts.CapacityAh, false)
				ahead := at.AddDate(1, 0, 0)
				then := truth.At(ahead)
				year.add(fit.At(ahead).RangeKm, then.RangeKm, then.RangeKm, false)
				if is {
					found++
					if d := step.Ride.At.Sub(cfg.Start.AddDate(0, 0, day)).Hours() / 24; d < -10 || d > 30 {
						t.Errorf("%s %d: the step is dated %.0f days after", style, seed, d)
					}
				}
				t.Logf("%s %d: %.0f %% lost: step %v, capacity %+.1f %%, range %+.1f %%", style, seed, 100*share, is, 100*(middleOf(got.CapacityAh)/facts.CapacityAh-1), 100*(middleOf(got.RangeKm)/facts.RangeKm-1))
			}
		}
	}
	t.Logf("%d of %d found, %d falsely; capacity %v; range in a year %v", found, asked, falsely, &now, &year)
	if found < asked*9/10 || falsely > 0 {
		t.Errorf("%d of %d are found, %d where there was none", found, asked, falsely)
	}
	if err, _ := now.median(); err > 1.5 || now.share() < .75 {
		t.Errorf("capacity after it: %v", &now)
	}
	if err, _ := year.median(); err > 3 || year.share() < .75 {
		t.Errorf("range in a year: %v", &year)
	}
}

// TestALossAtOnceIsNotLent: what one pack lost at once says nothing of the fade of
// others with the same cells; with it their life would end where the string came off.
func TestALossAtOnceIsNotLent(t *testing.T) {
	lent := func(share float64) model.Sibling {
		cfg := simulate.Preset(simulate.Rich, 523)
		cfg.Years, cfg.Keeping.Wrong = 2, 0
		if share > 0 {
			cfg.Events = append(cfg.Events, simulate.Event{Day: 250, What: simulate.StringLost, Share: share})
		}
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, log.Truth.End)
		if err != nil {
			t.Fatal(err)
		}
		fit := model.FitHistory(h, nil)
		if _, is := fit.Step(); is != (share > 0) {
			t.Fatalf("%g of the cells lost, a step is %v", share, is)
		}
		s, ok := fit.Sibling()
		if !ok {
			t.Fatalf("%g of the cells lost: the pack lends nothing", share)
		}
		return s
	}
	whole, less := lent(0), lent(.25)
	if apart := math.Abs(whole.LnLife - less.LnLife); apart > 2*math.Hypot(whole.LnLifeSd, less.LnLifeSd) {
		t.Errorf("20 %% are lost after %.0f cycles, by the pack that lost a string after %.0f", math.Exp(whole.LnLife), math.Exp(less.LnLife))
	}
}
