package model

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

// TestTheColdHalfOfAYearIsNoFade: the log goes from summer to winter, and an
// ampere-hour draws this pack down by four thousandths more for each kelvin below
// 25 °C, as rest volts, charges and rides to the limit all bear out. It has lost 2 %.
// Before chill was told from fade such packs were to be retired within the year.
// The pack is invented.
func TestTheColdHalfOfAYearIsNoFade(t *testing.T) {
	const asNewAh, perK, lost = 10.0, .004, .02
	chem, _ := law.ChemistryNamed("nmc")
	curve := chem.MeanCurve()
	some := logbook.Some
	for seed := range uint64(4) {
		rng := rand.New(rand.NewPCG(seed, 11))
		first := time.Date(2025, 7, 1, 8, 0, 0, 0, time.UTC)
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "plover-board", Rev: 1}, MassKg: some(15), RefTyreKpa: some(300)},
			&logbook.Pack{Head: logbook.Head{ID: "plover", Rev: 1}, Board: "plover-board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(2.5), InService: first.AddDate(0, 0, -10), RefSpeedKmh: some(22), RefRiderKg: some(80)},
		}
		volts := func(level float64) logbook.Num {
			v, _ := curve.OCV(level)
			return some(math.Round(100*v) / 10)
		}
		n := 0
		for day := 0; day < 210; day += 2 {
			at := first.AddDate(0, 0, day)
			air := math.Round(16 + 10*math.Cos(2*math.Pi*float64(day-15)/365) + 2.5*rng.NormFloat64())
			capacity := asNewAh * (1 - lost*float64(day)/210)
			whole := capacity * (1 - perK*max(25-air, 0))
			used, stop := .35+.3*rng.Float64(), "chosen"
			if day%14 == 0 {
				used, stop = .94, "limit"
			}
			ah := used * whole
			wh := ah * 35.6
			km := wh / (12 * (1 + .004*(20-air))) * math.Exp(.03*rng.NormFloat64())
			id := fmt.Sprint(n)
			n++
			records = append(records,
				&logbook.Ride{Head: logbook.Head{ID: "r" + id, Rev: 1}, Pack: "plover", Board: "plover-board", At: at, End: at.Add(time.Duration(km / 20 * float64(time.Hour))), DistanceKm: some(math.Round(10*km) / 10), StartRestV: volts(1), EndRestV: volts(1 - used), EndRestMin: some(60),
					DischargedAh: some(math.Round(100*ah) / 100), DischargedWh: some(math.Round(wh)), AmbientC: some(air), RiderKg: some(80), TyreKpa: some(300), WindKmh: some(0), Stop: stop},
				&logbook.Charge{Head: logbook.Head{ID: "c" + id, Rev: 1}, Pack: "plover", Start: at.Add(4 * time.Hour), At: at.Add(9 * time.Hour), ChargedAh: some(math.Round(100*used*capacity) / 100), Full: logbook.Yes, HoldMin: some(60)})
		}
		h, err := logbook.NewHistory("plover", records, first.AddDate(0, 0, 211))
		if err != nil {
			t.Fatal(err)
		}
		fit := FitHistory(h, nil)
		now, later := fit.At(h.AsOf), fit.At(h.AsOf.AddDate(1, 0, 0))
		if lo, hi := Quantile(now.SohPct, .05), Quantile(now.SohPct, .95); lo > 100*(1-lost) || hi < 100*(1-lost) {
			t.Errorf("seed %d: state of health %.1f [%.1f %.1f] where %g is true", seed, Quantile(now.SohPct, .5), lo, hi, 100*(1-lost))
		}
		if year := Quantile(later.SohPct, .5); year < 88 {
			t.Errorf("seed %d: state of health %.1f in a year, of a pack that lost 2 %% in seven months", seed, year)
		}
	}
}
