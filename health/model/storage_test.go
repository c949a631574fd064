package model_test

import (
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestRestVoltsBeforeStorage: a pack that was full is ridden down by somebody who does
// not log it, and stored: its volts at rest then and a season later, which go together,
// show a ride beside the log and a slow loss, not a misreading and a fast one.
func TestRestVoltsBeforeStorage(t *testing.T) {
	pack, records, end := shortLog(t, simulate.Rich, .5)
	h, err := logbook.NewHistory(pack, records, end)
	if err != nil {
		t.Fatal(err)
	}
	fit := model.FitHistory(h, nil)
	level := func(volts float64) float64 {
		l, ok := fit.LevelAtRest(volts)
		if !ok {
			t.Fatalf("%.1f V tell no level", volts)
		}
		return l
	}
	volts := func(share float64) float64 { // at rest, for a level
		low, high := 3.0*h.Pack.Series.V, 4.15*h.Pack.Series.V
		for range 40 {
			if mid := (low + high) / 2; level(mid) < share {
				low = mid
			} else {
				high = mid
			}
		}
		return low
	}
	const monthly = .02
	stored := end.AddDate(0, 0, 6)
	with := append(records,
		&logbook.Charge{Head: logbook.Head{ID: "full", Rev: 1}, Pack: pack, At: end.Add(time.Hour), Full: logbook.Yes, HoldMin: logbook.Some(60)},
		&logbook.Check{Head: logbook.Head{ID: "before", Rev: 1}, Pack: pack, At: stored, RestV: logbook.Some(volts(.55))},
		&logbook.Check{Head: logbook.Head{ID: "after", Rev: 1}, Pack: pack, At: stored.AddDate(0, 0, 91), RestV: logbook.Some(volts(.55 - 3*monthly))},
	)
	h, err = logbook.NewHistory(pack, with, stored.AddDate(0, 0, 92))
	if err != nil {
		t.Fatal(err)
	}
	fit = model.FitHistory(h, nil)
	for _, m := range fit.Misreadings() {
		if id := logbook.HeadOf(m.Record).ID; id == "before" || id == "after" {
			t.Errorf("%s: %s %.2f is put aside, %.2f is expected", id, m.Field, m.Figure, m.Expected)
		}
	}
	loss := fit.SelfDischargePctMonth()
	low, high := model.Quantile(loss, .05), model.Quantile(loss, .95)
	t.Logf("%.1f %% a month [%.1f to %.1f]", middleOf(loss), low, high)
	if low > 100*monthly || high < 100*monthly || high > 5 {
		t.Errorf("self-discharge of %.1f to %.1f %% a month, in truth %.0f", low, high, 100*monthly)
	}
}
