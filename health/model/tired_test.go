package model

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// What cycling hides and a pause gives back is found on simulated bench cells,
// which pause now and then: the share of the capacity that a full cycle hides,
// of which nothing is known beforehand but its order, and so the state of health
// of a pack that rested as usual.
func TestRestGivesBack(t *testing.T) {
	var found, sohError []float64
	held, all := 0, 0
	for seed := range uint64(12) {
		cfg := simulate.Preset(simulate.BenchCell, 3001+seed)
		cfg.Cell.Fatigue, cfg.Cell.FatigueD = .0012, restDays
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, log.Truth.End)
		if err != nil {
			t.Fatal(err)
		}
		fit := FitHistory(h, nil)
		share := fit.each(func(d *draw) float64 { return d.cell.tired })
		found = append(found, Quantile(share, .5))
		if truth := cfg.Cell.Fatigue; Quantile(share, .05) <= truth && truth <= Quantile(share, .95) {
			held++
		}
		all++
		sohError = append(sohError, math.Abs(Quantile(fit.At(log.Truth.End).SohPct, .5)-log.Truth.At(log.Truth.End).SohPct))
		t.Logf("seed %d: %.5f, SoH off by %.2f", 3001+seed, found[len(found)-1], sohError[len(sohError)-1])
	}
	if m := median(found); m < .0012*.8 || m > .0012*1.25 || held < all*3/4 {
		t.Errorf("a full cycle hides %.5f in the middle, want 0.0012; %d of %d intervals hold it", m, held, all)
	}
	if m := median(sohError); m > .6 {
		t.Errorf("the state of health is off by %.2f in the middle, want 0.6 at most", m)
	}
}

// A pack that is ridden as always is as tired as always; one that rested is
// less so, one that was ridden day and night more.
func TestTired(t *testing.T) {
	some := logbook.Some
	start := time.Date(2025, 3, 1, 9, 0, 0, 0, time.UTC)
	p := &logbook.Pack{Head: logbook.Head{ID: "pack", Rev: 1}, Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(2.5), InService: start.AddDate(-1, 0, 0)}
	days := []float64{}
	for day := range 200 {
		days = append(days, float64(day))
	}
	days = append(days, 230)
	for k := range 12 {
		days = append(days, 230+float64(k+1)/4)
	}
	records := []logbook.Record{p}
	var last time.Time
	for _, d := range days {
		last = start.Add(time.Duration(d * 24 * float64(time.Hour)))
		records = append(records, &logbook.Ride{Head: logbook.Head{ID: last.Format("r-02-01-15"), Rev: 1}, Pack: "pack", At: last, End: last.Add(time.Hour), DischargedAh: some(5)})
	}
	h, err := logbook.NewHistory("pack", records, last.Add(2*time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	m := prepare(h)
	steady, rested, worked := m.events[199].tired, m.events[200].tired, m.events[len(m.events)-1].tired
	if math.Abs(steady) > .3 || rested > -1 || worked < 1 {
		t.Errorf("tired by %.2f half cycles under steady use, %.2f after a month of rest, %.2f after three days of four rides", steady, rested, worked)
	}
}
