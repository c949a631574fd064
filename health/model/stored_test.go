package model_test

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestAStoredPackIsNotUsed: until a logged storage ends no cycle is added ahead, from then on
// as many as before; one that was ridden since, or that says no end, changes nothing.
func TestAStoredPackIsNotUsed(t *testing.T) {
	cfg := simulate.Preset(simulate.Rich, 1201)
	_, h, fit := keptBack(t, cfg)
	ahead := h.AsOf.AddDate(0, 4, 0)
	cycles := func(f *model.Fit, months int) float64 {
		return model.Quantile(f.At(h.AsOf.AddDate(0, months, 0)).EquivalentFullCycles, .5)
	}
	usual := cycles(fit, 2) - cycles(fit, 0)
	if usual < 1 {
		t.Fatalf("%.2f cycles in two months: choose a pack that is ridden", usual)
	}
	stored := func(s logbook.Service) *model.Fit {
		with := *h
		s.Head, s.Pack, s.What = logbook.Head{ID: "away", Rev: 1}, h.Pack.ID, "storage"
		with.Services = append(append([]*logbook.Service(nil), h.Services...), &s)
		return model.FitHistory(&with, nil)
	}
	away := stored(logbook.Service{At: h.AsOf, Until: ahead})
	if got := cycles(away, 4) - cycles(away, 0); math.Abs(got) > .01*usual {
		t.Errorf("%.2f cycles while it is stored", got)
	}
	if got := cycles(away, 6) - cycles(away, 4); math.Abs(got/usual-1) > .05 {
		t.Errorf("%.2f cycles in two months after it, %.2f before", got, usual)
	}
	for name, s := range map[string]logbook.Service{
		"ridden since": {At: h.AsOf.AddDate(0, -3, 0), Until: ahead},
		"over":         {At: h.AsOf.AddDate(0, 0, -1), Until: h.AsOf.AddDate(0, 0, -1)},
		"without end":  {At: h.AsOf},
	} {
		f := stored(s)
		if got := cycles(f, 2) - cycles(f, 0); math.Abs(got/usual-1) > .05 {
			t.Errorf("%s: %.2f cycles in two months, %.2f without", name, got, usual)
		}
	}
}

// TestStorageDelaysTheEnd: of four months in which a pack is stored most are won, of three
// packs on average: its time goes on, its cycles do not.
func TestStorageDelaysTheEnd(t *testing.T) {
	delays := 0.0
	seeds := []uint64{1201, 1202, 1207}
	for _, seed := range seeds {
		_, h, fit := keptBack(t, simulate.Preset(simulate.Rich, seed))
		with := *h
		away := &logbook.Service{Head: logbook.Head{ID: "away", Rev: 1}, Pack: h.Pack.ID, What: "storage", At: h.AsOf, Until: h.AsOf.AddDate(0, 4, 0)}
		with.Services = append(append([]*logbook.Service(nil), h.Services...), away)
		_, late := model.FitHistory(&with, nil).EndOfLife(.7)
		_, early := fit.EndOfLife(.7)
		delay := model.Quantile(late, .5) - model.Quantile(early, .5)
		if delay <= 0 {
			t.Errorf("pack %d: stored it ends %.0f days earlier", seed, -delay)
		}
		delays += delay / float64(len(seeds))
	}
	if delays <= 60 {
		t.Errorf("%.0f days are won", delays)
	}
}
