package simulate

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

func TestRangeFallsAsConditionsWorsen(t *testing.T) {
	for _, style := range []Style{Rich, Flat, Messy} {
		for seed := range uint64(3) {
			l := run(t, Preset(style, seed))
			base := l.Truth.Reference(l.Truth.End)[0]
			base.HoldC = false
			worse := map[string][]func(*Drive){
				"wind":   {func(d *Drive) { d.WindKmh = 15 }, func(d *Drive) { d.WindKmh = 30 }},
				"cold":   {func(d *Drive) { d.AirC, d.PackC = 12, 12 }, func(d *Drive) { d.AirC, d.PackC = 0, 0 }},
				"mass":   {func(d *Drive) { d.Rider.Kg += 10 }, func(d *Drive) { d.Rider.Kg += 25 }},
				"speed":  {func(d *Drive) { d.SpeedKmh *= 1.1 }, func(d *Drive) { d.SpeedKmh *= 1.25 }},
				"tyre":   {func(d *Drive) { d.TyreKpa *= 0.8 }, func(d *Drive) { d.TyreKpa *= 0.6 }},
				"climb":  {func(d *Drive) { d.Route.ClimbMKm = 25 }, func(d *Drive) { d.Route.ClimbMKm = 50 }},
				"start":  {func(d *Drive) { d.Level = 0.9 }, func(d *Drive) { d.Level = 0.6 }},
				"spread": {func(d *Drive) { d.Spread = 0.02 }, func(d *Drive) { d.Spread = 0.05 }},
				"age":    {func(d *Drive) { d.Age.Lost += 0.05; d.Age.Stiffness += 0.1 }, func(d *Drive) { d.Age.Lost += 0.2; d.Age.Stiffness += 0.5 }},
			}
			for name, steps := range worse {
				last := l.Truth.Go(base).Km
				for i, change := range steps {
					d := base
					change(&d)
					var km float64 // the wind may come from anywhere
					for d.FromDeg = 0; d.FromDeg < 360; d.FromDeg += 45 {
						km += l.Truth.Go(d).Km / 8
					}
					if km >= last {
						t.Errorf("%v %d: %s, step %d: %.3f km after %.3f", style, seed, name, i, km, last)
					}
					last = km
				}
			}
		}
	}
}

func TestMoreComesInThanGoesOut(t *testing.T) {
	for _, style := range []Style{Rich, Flat, BenchCell} {
		cfg := Preset(style, 2)
		exact := Meter{Gain: 1}
		cfg.Meters.Ride, cfg.Meters.Charge = exact, exact
		cfg.Keeping.Miss, cfg.Keeping.Unlogged = 0, 0
		l := run(t, cfg)
		var in, out, inAh, outAh float64
		for _, r := range l.Records {
			switch r := r.(type) {
			case *logbook.Charge:
				in, inAh = in+r.ChargedWh.V, inAh+r.ChargedAh.V
			case *logbook.Ride:
				out, outAh = out+r.DischargedWh.V-r.RegenWh.V, outAh+r.DischargedAh.V-r.RegenAh.V
			}
		}
		if share := out / in; share > 1 || share < 0.85 {
			t.Errorf("%v: %.1f Wh in, %.1f out", style, in, out)
		}
		// The pack may end fuller or emptier than it began, by one charge.
		if share := outAh / inAh; share > 1.01 || share < 0.9 {
			t.Errorf("%v: %.2f Ah in, %.2f out", style, inAh, outAh)
		}
	}
}

// Ridden at the reference conditions with its own whims, each range test
// would on average have gone as far as the truth says.
func TestTruthIsTheMeanOfTests(t *testing.T) {
	for _, style := range []Style{Rich, Flat} {
		var sum float64
		var n int
		for seed := range uint64(8) {
			l := run(t, Preset(style, seed))
			ref := l.Truth.Reference(l.Truth.End)[0]
			km := l.Truth.Go(ref).Km
			for _, r := range l.Truth.Rides() {
				if r.MaxKm >= toLimitKm {
					sum += l.Truth.Again(r, ref, true).Km / km
					n++
				}
			}
		}
		if mean := sum / float64(n); math.Abs(mean-1) > 0.004 {
			t.Errorf("%v: tests went %.4f of the truth on average", style, mean)
		}
	}
}

func TestFactsHangTogether(t *testing.T) {
	for _, style := range Styles {
		for seed := range uint64(5) {
			cfg := Preset(style, seed)
			l := run(t, cfg)
			rated := cfg.Pack.RatedAh * float64(cfg.Pack.Parallel)
			was := l.Truth.AsNew()
			if was.CapacityAh < 0.75*rated || was.CapacityAh > 1.05*rated {
				t.Errorf("%v %d: as new %.2f Ah, rated %.2f", style, seed, was.CapacityAh, rated)
			}
			for year := range 4 {
				f := l.Truth.At(l.Truth.End.AddDate(0, 12*year-4, 0))
				if f.CapacityAh >= was.CapacityAh*1.002 || f.ResistanceMohm <= 0 || f.SohPct > 101 || f.RoundTripPct >= 100 || f.RoundTripPct < 80 {
					t.Errorf("%v %d: after a year %+v, before %+v", style, seed, f, was)
				}
				if f.EquivalentFullCycles <= was.EquivalentFullCycles {
					t.Errorf("%v %d: cycles go from %g to %g", style, seed, was.EquivalentFullCycles, f.EquivalentFullCycles)
				}
				if (style == BenchCell) != (f.RangeKm == 0) {
					t.Errorf("%v %d: range %g km", style, seed, f.RangeKm)
				}
				was = f
			}
		}
	}
}

func TestRetiredIsWhereHealthCrosses(t *testing.T) {
	cfg := Preset(BenchCell, 4)
	cfg.Pack.RetireSohPct = 80
	l := run(t, cfg)
	when, cycles, ok := l.Truth.Retired(8)
	if !ok {
		t.Fatal("a cell that cycles several times a day never falls to 80 %")
	}
	before, after := l.Truth.At(when.Add(-24*time.Hour)), l.Truth.At(when)
	if before.SohPct < 80 || after.SohPct >= 80 || after.EquivalentFullCycles != cycles {
		t.Errorf("at %v: %.3f then %.3f %% at %g cycles", when, before.SohPct, after.SohPct, cycles)
	}
}

// Where the future is asked for makes no difference to it.
func TestTheFutureDoesNotDependOnWhatWasAsked(t *testing.T) {
	a, b := run(t, Preset(Rich, 9)).Truth, run(t, Preset(Rich, 9)).Truth
	far := a.End.AddDate(3, 0, 0)
	for m := range 36 {
		b.At(b.End.AddDate(0, m, 0))
	}
	if x, y := a.At(far), b.At(far); x != y {
		t.Errorf("%+v asked at once, %+v step by step", x, y)
	}
}

func TestNewCellsBeginANewLife(t *testing.T) {
	cfg := Preset(Rich, 6)
	cfg.Events = []Event{{Day: 500, What: "cells_replaced", Note: "invented"}}
	l := run(t, cfg)
	start := l.Truth.End.AddDate(-2, 0, 0)
	before, after := l.Truth.At(start.AddDate(0, 0, 495)), l.Truth.At(start.AddDate(0, 0, 520))
	if after.SohPct < before.SohPct+2 || after.EquivalentFullCycles > 20 {
		t.Errorf("before %+v, after %+v", before, after)
	}
}

func TestSharesAddUp(t *testing.T) {
	l := run(t, Preset(Rich, 7))
	for i, r := range l.Truth.Rides() {
		if i%60 != 10 {
			continue
		}
		s := l.Truth.Explain(r)
		sum := s.UnexplainedKm
		for _, km := range s.Km {
			sum += km
		}
		if math.Abs(sum-(s.RideKm-s.ReferenceKm)) > 1e-9*s.ReferenceKm {
			t.Errorf("%s: shares sum to %g, the difference is %g", r.ID, sum, s.RideKm-s.ReferenceKm)
		}
		if s.Km[0] > 0.02 || s.Km[5] > 0.02*s.ReferenceKm && r.Drive.Route.Shape == "loop" {
			t.Errorf("%s: ageing gives %g km, wind on a loop %g km", r.ID, s.Km[0], s.Km[5])
		}
	}
}
