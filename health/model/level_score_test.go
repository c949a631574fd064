package model_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// asKept is how warm a pack is when its rider takes it from where it is kept.
func asKept(cfg *simulate.Config, airC float64) float64 {
	if cfg.Habits.Indoors {
		return 18
	}
	return airC
}

// TestReachAgainstTruth asks, at the end of each log, how far the pack still
// goes from a rest voltage, from what was used, and from both, on a day whose
// cold, speed and rider are told, with the pack taken from where its rider keeps
// it; the truth rides it.
func TestReachAgainstTruth(t *testing.T) {
	some := logbook.Some
	all := map[string]*score{}
	for _, style := range scoreStyles() {
		by := map[string]*score{}
		put := func(name string, d model.Draws, truth, scale float64) {
			if by[name] == nil {
				by[name] = &score{}
			}
			by[name].add(d, truth, scale, false)
			if style == simulate.Flat {
				name = "flat " + name // one voltage on a flat curve tells little
			}
			if all[name] == nil {
				all[name] = &score{}
			}
			all[name].add(d, truth, scale, false)
		}
		var took time.Duration
		asked := 0
		for _, seed := range seeds(2001, 3) {
			h, fit, truth := simulated(t, style, seed)
			cfg := simulate.Preset(style, seed)
			when := truth.End
			n := float64(cfg.Pack.Series)
			d := truth.Reference(when)[0]
			d.HoldC = false
			d.AirC = []float64{4, 14, 24}[seed%3]
			d.PackC = asKept(&cfg, d.AirC)
			d.SpeedKmh += []float64{-1.5, 0, 1.5}[seed/3%3]
			all := truth.Go(d)
			for k, level := range []float64{.9, .7, .5, .3} {
				gone := truth.GoKm(d, all.Km*(1-level))
				leftKm, leftWh := all.Km*level, all.Wh-all.RegenWh-gone.Wh+gone.RegenWh
				v := truth.RestAfter(d, gone.Km) + cfg.Meters.VoltOffset + .0015*n*math.Sin(float64(seed)*7+float64(k)*3)
				s := model.Standing{RestV: some(math.Round(v*10) / 10), Risk: .05, Way: model.Way{AirC: some(d.AirC), SpeedKmh: some(d.SpeedKmh), RiderKg: some(d.Rider.Kg)}}
				start := time.Now()
				r := fit.Reach(s)
				took += time.Since(start)
				asked++
				put("volts km", r.RemainingKm, leftKm, all.Km)
				put("volts wh", r.RemainingWh, leftWh, all.Wh-all.RegenWh)
				wh := (gone.Wh - gone.RegenWh) * (1 + .003*math.Sin(float64(seed)*5+float64(k)))
				s.RestV, s.UsedWh = logbook.Num{}, some(math.Round(wh*10)/10)
				r = fit.Reach(s)
				put("used km", r.RemainingKm, leftKm, all.Km)
				put("used wh", r.RemainingWh, leftWh, all.Wh-all.RegenWh)
				s.OutKm = some(gone.Km)
				r = fit.Reach(s)
				put("learned km", r.RemainingKm, leftKm, all.Km)
			}
			_ = h
		}
		for _, name := range []string{"volts km", "volts wh", "used km", "used wh", "learned km"} {
			t.Logf("%-10s %-12s %v", style, name, by[name])
		}
		t.Logf("%s: %.0f ms an answer", style, took.Seconds()*1000/float64(asked))
	}
	for name, s := range all {
		t.Logf("%-10s %-12s %v", "all", name, s)
		most := 2.5 // percent of a full charge: a few packs scatter, and a wall meter alone tells energy roughly
		if strings.HasPrefix(name, "flat volts") {
			most = 12
		}
		if err, _ := s.median(); err > most || s.share() < .6 {
			t.Errorf("%s: %v; want an error of %.1f %% at most and intervals that hold", name, s, most)
		}
	}
}
