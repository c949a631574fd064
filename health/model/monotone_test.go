package model_test

import (
	"fmt"
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestRangeNeverGrowsByHardship: at fixed draws, no draw goes farther when one
// condition worsens and all else stays, for packs of several kinds. Slow
// riding costs range, too, since the electronics draw power for longer: below
// v³ = P0·η/(ρ·CdA), 11 km/h at 30 W, which few draws reach; so speed is held to
// it from 15 km/h on in every draw, and from 10 km/h on in the middle of all.
func TestRangeNeverGrowsByHardship(t *testing.T) {
	some := logbook.Some
	worse := []struct {
		name  string
		apply func(w *model.Way, x float64) // x from 0 to 1
	}{
		{"head wind", func(w *model.Way, x float64) { w.HeadwindKmh = some(30 * x) }},
		{"less tail wind", func(w *model.Way, x float64) { w.HeadwindKmh = some(30*x - 30) }},
		{"cold air and pack", func(w *model.Way, x float64) { w.AirC = some(25 - 40*x) }},
		{"cold air, pack warmed by riding", func(w *model.Way, x float64) { w.AirC, w.Warmed = some(20-35*x), true }},
		{"cold pack", func(w *model.Way, x float64) { w.AirC, w.PackC = some(25), some(25-40*x) }},
		{"rider", func(w *model.Way, x float64) { w.RiderKg = some(50 + 70*x) }},
		{"climb and down again", func(w *model.Way, x float64) { w.ClimbMPerKm, w.DescentMPerKm = some(30*x), some(30*x) }},
		{"climb", func(w *model.Way, x float64) { w.ClimbMPerKm = some(30 * x) }},
		{"speed above 15 km/h", func(w *model.Way, x float64) { w.SpeedKmh = some(15 + 30*x) }},
	}
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat, simulate.Messy} {
		for seed := range uint64(3) {
			cfg := simulate.Preset(style, firstKeptBack+seed)
			_, h, fit := keptBack(t, cfg)
			cases := worse
			if ref := h.Boards[h.Pack.Board].RefTyreKpa; ref.OK {
				cases = append(cases[:len(cases):len(cases)], struct {
					name  string
					apply func(w *model.Way, x float64)
				}{"lower tyre pressure", func(w *model.Way, x float64) { w.TyreKpa = some(ref.V * (1.3 - 1.05*x)) }})
			}
			for _, c := range cases {
				var last model.Draws
				for step := range 9 {
					var w model.Way
					c.apply(&w, float64(step)/8)
					now := fit.Go(w).RangeKm
					for i := range now {
						if last != nil && now[i] > last[i]*(1+1e-9) {
							t.Errorf("%s %d: more of %q takes draw %d from %.4f to %.4f km at step %d", style, firstKeptBack+seed, c.name, i, last[i], now[i], step)
							break
						}
					}
					last = now
				}
			}
			last := math.Inf(1)
			for kmh := 10.0; kmh <= 45; kmh += 2.5 {
				now := middleOf(fit.Go(model.Way{SpeedKmh: some(kmh)}).RangeKm)
				if now > last {
					t.Errorf("%s %d: %.4f km at %g km/h, after %.4f at less", style, firstKeptBack+seed, now, kmh, last)
				}
				last = now
			}
		}
	}
}

// TestRangeFallsWithTime: from month to month the middle of the state of
// health does not rise and its interval does not narrow.
func TestRangeFallsWithTime(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat, simulate.WallOnly, simulate.Messy} {
		_, h, fit := keptBack(t, simulate.Preset(style, firstKeptBack))
		last, lastWide := math.Inf(1), 0.0
		for months := 0; months <= 60; months += 3 {
			d := fit.At(h.AsOf.AddDate(0, months, 0)).SohPct
			mid, wide := middleOf(d), model.Quantile(d, .95)-model.Quantile(d, .05)
			if mid > last+.05 {
				t.Errorf("%s: the state of health rises to %.2f %% in %d months", style, mid, months)
			}
			if wide < .97*lastWide {
				t.Errorf("%s: the interval narrows from %.2f to %.2f in %d months", style, lastWide, wide, months)
			}
			last, lastWide = mid, wide
		}
	}
}

// sameAnswers fails where two fits differ by more than a share in the middles,
// or in the bounds, of what they say now and in a year.
func sameAnswers(t *testing.T, what string, h *logbook.History, a, b *model.Fit, tolerance float64) {
	t.Helper()
	for _, months := range []int{0, 12} {
		at := h.AsOf.AddDate(0, months, 0)
		x, y := answersOf(a.At(at)), answersOf(b.At(at))
		for name := range x {
			for _, q := range []float64{.05, .5, .95} {
				u, v := model.Quantile(x[name], q), model.Quantile(y[name], q)
				if math.Abs(u-v) > tolerance*math.Abs(u)+1e-12 && !(math.IsNaN(u) && math.IsNaN(v)) {
					t.Errorf("%s: the %g quantile of %s in %d months is %.6g, was %.6g", what, q, name, months, v, u)
				}
			}
		}
	}
}

func answersOf(s model.Snapshot) map[string]model.Draws {
	return map[string]model.Draws{
		"capacity_ah": s.CapacityAh, "capacity_wh": s.CapacityWh, "soh": s.SohPct, "range": s.RangeKm, "next test": s.NextTestKm, "consumption": s.WhPerKm,
		"resistance": s.ResistanceMohm, "growth": s.GrowthPct, "efc": s.EquivalentFullCycles, "total_ah": s.TotalAh, "total_kwh": s.TotalKwh,
	}
}

// fitOf fits a log as of a time.
func fitOf(t testing.TB, pack string, records []logbook.Record, cfg simulate.Config, log *simulate.Log) (*logbook.History, *model.Fit) {
	h, err := logbook.NewHistory(pack, records, log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	return h, model.FitHistory(h, nil)
}

// TestOrderDoesNotMatter: records in any order give the same to the last bit,
// and so do the units in which they were typed, since files carry canonical
// ones: written and read again, nothing changes.
func TestOrderDoesNotMatter(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Messy} {
		cfg := simulate.Preset(style, firstKeptBack+1)
		cfg.Years = 1
		log, h, fit := keptBack(t, cfg)
		turned := copiesOf(t, log.Records)
		for i, j := 0, len(turned)-1; i < j; i, j = i+1, j-1 {
			turned[i], turned[j] = turned[j], turned[i]
		}
		_, again := fitOf(t, cfg.Pack.ID, turned, cfg, log)
		sameAnswers(t, fmt.Sprint(style, " in reverse"), h, fit, again, 0)
	}
}

// TestChargeInTwo: a charge logged in two parts, its Ah, Wh and time divided,
// says the same as one, within a tenth of an interval.
func TestChargeInTwo(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.WallOnly} {
		cfg := simulate.Preset(style, firstKeptBack+2)
		log, _, fit := keptBack(t, cfg)
		var split []logbook.Record
		n := 0
		for _, r := range copiesOf(t, log.Records) {
			c, ok := r.(*logbook.Charge)
			if n++; !ok || n%4 != 0 || c.Start.IsZero() {
				split = append(split, r)
				continue
			}
			first, second := copyOf(t, c).(*logbook.Charge), copyOf(t, c).(*logbook.Charge)
			first.ID += "-a"
			middle := c.Start.Add(c.At.Sub(c.Start) / 2)
			first.At, second.Start = middle, middle
			first.Full, first.HoldMin, first.EndRestV, first.EndRestMin, second.StartRestV = logbook.No, logbook.Num{}, logbook.Num{}, logbook.Num{}, logbook.Num{}
			scale(.5, &first.ChargedAh, &first.ChargedWh, &second.ChargedAh, &second.ChargedWh)
			split = append(split, first, second)
		}
		h, parted := fitOf(t, cfg.Pack.ID, split, cfg, log)
		movesLittle(t, fmt.Sprint(style, " with charges in two"), h, fit, parted, .10)
	}
}

// TestNamesDoNotMatter: other ids for packs, boards and records, and other
// names for routes, riders, meters and sessions, change nothing but the draws
// of chance, which are seeded by the pack's id: a tenth of an interval.
func TestNamesDoNotMatter(t *testing.T) {
	cfg := simulate.Preset(simulate.Rich, firstKeptBack+3)
	log, _, fit := keptBack(t, cfg)
	renamed := copiesOf(t, log.Records)
	for _, r := range renamed {
		logbook.HeadOf(r).ID = "other-" + logbook.HeadOf(r).ID
		switch r := r.(type) {
		case *logbook.Pack:
			r.Board, r.RefRoute = "other-"+r.Board, rename(r.RefRoute)
		case *logbook.Ride:
			r.Pack, r.Route, r.Rider, r.Session, r.Meter = "other-"+r.Pack, rename(r.Route), rename(r.Rider), rename(r.Session), renameMeter(r.Meter)
			if r.Board != "" {
				r.Board = "other-" + r.Board
			}
		case *logbook.Charge:
			r.Pack, r.Meter = "other-"+r.Pack, renameMeter(r.Meter)
		case *logbook.Check:
			r.Pack = "other-" + r.Pack
		case *logbook.Service:
			if r.Pack != "" {
				r.Pack = "other-" + r.Pack
			} else {
				r.Board = "other-" + r.Board
			}
		case *logbook.Setup:
			if r.Pack != "" {
				r.Pack = "other-" + r.Pack
			} else {
				r.Board = "other-" + r.Board
			}
		}
	}
	h, other := fitOf(t, "other-"+cfg.Pack.ID, renamed, cfg, log)
	movesLittle(t, "other names", h, fit, other, .10)
}

func rename(name string) string {
	if name == "" {
		return ""
	}
	return "new " + name
}

func renameMeter(name string) string {
	if name == "" || name == logbook.DefaultMeter {
		return name
	}
	return "new " + name
}

// movesLittle fails where the middle of an estimate moves by more than a share
// of its interval.
func movesLittle(t *testing.T, what string, h *logbook.History, was, is *model.Fit, most float64) {
	t.Helper()
	for name, share := range moves(h, was, is) {
		if share > most {
			t.Errorf("%s: %s moves by %.2f of its interval (at most %.2f)", what, name, share, most)
		}
	}
}
