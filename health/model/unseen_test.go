package model_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// A ride that nobody logged shows twice: at the charge that fills the pack
// again, and at the next reading of the odometer. It is counted once, with an
// odometer or without, and also where that counts other kilometres than the
// rider's own instrument.
func TestUnloggedRidingCountsOnce(t *testing.T) {
	some := logbook.Some
	for _, wheel := range []float64{1, 1.04, .97, 0} { // its kilometres for one of the rider's; 0: no odometer
		start := time.Date(2025, 4, 1, 9, 0, 0, 0, time.UTC)
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "board", Rev: 1}, MassKg: some(12)},
			&logbook.Pack{Head: logbook.Head{ID: "pack", Rev: 1}, Board: "board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(2.5), InService: start},
		}
		at, odo, all := start, 100.0, 0.0
		for day := range 60 {
			at = start.AddDate(0, 0, day)
			const km, ah = 10.0, 4.2
			logged := day%6 != 3 // one ride in six is not
			odo, all = odo+km, all+ah
			if logged {
				r := &logbook.Ride{Head: logbook.Head{ID: fmt.Sprintf("r%02d", day), Rev: 1}, Pack: "pack", Board: "board", At: at, End: at.Add(30 * time.Minute), DistanceKm: some(km), DischargedAh: some(ah), DischargedWh: some(ah * 36.5), AmbientC: some(20), MovingSpeedKmh: some(20), Stop: "chosen"}
				if wheel > 0 {
					r.OdometerKm = some(math.Round(odo*wheel*10) / 10)
				}
				records = append(records, r)
			}
			if day%2 == 1 { // every other day, two rides at once
				records = append(records, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprintf("c%02d", day), Rev: 1}, Pack: "pack", Start: at.Add(2 * time.Hour), At: at.Add(5 * time.Hour), ChargedAh: some(2*ah + .02), Full: logbook.Yes})
			}
		}
		h, err := logbook.NewHistory("pack", records, at.Add(6*time.Hour))
		if err != nil {
			t.Fatal(err)
		}
		fit := model.FitHistory(h, nil)
		got := model.Quantile(fit.At(h.AsOf).TotalAh, .5)
		if math.Abs(got/all-1) > .03 {
			t.Errorf("odometer %.2f: %.1f Ah taken out, %.1f in truth", wheel, got, all)
		}
		for _, r := range fit.Unlogged() { // the ride of day 3, 9, ... shows at that day's charge or at the next day's odometer
			if day := int(logbook.AtOf(r).Sub(start).Hours() / 24); day%6 != 3 && day%6 != 4 {
				t.Errorf("odometer %.2f: something is said to be missing before %s of day %d", wheel, logbook.HeadOf(r).ID, day)
			}
		}
		if n := len(fit.Unlogged()); n < 9 {
			t.Errorf("odometer %.2f: %d of 10 rides are seen to be missing", wheel, n)
		}
	}
}

// TestChargesThatDoNotSayWhereTheyEnded: a log that says of some charges that they did
// not finish has others that did not either. Every second one that ended early
// says nothing here; the capacity stays where it is.
func TestChargesThatDoNotSayWhereTheyEnded(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Flat, simulate.Messy} {
		for seed := uint64(1101); seed < 1105; seed++ {
			cfg := simulate.Preset(style, seed)
			cfg.Habits.PartCharges = .7
			log, h, fit := keptBack(t, cfg)
			said := intervalOf(fit.At(h.AsOf).CapacityAh, log.Truth.At(h.AsOf).CapacityAh)
			early := 0
			for i, r := range log.Records {
				c, ok := r.(*logbook.Charge)
				if !ok || c.Full != logbook.No {
					continue
				}
				if early++; early%2 == 0 {
					silent := *c
					silent.Full = logbook.Absent
					log.Records[i] = &silent
				}
			}
			if early < 20 {
				t.Fatalf("%v %d: only %d charges ended early", style, seed, early)
			}
			h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, h.AsOf)
			if err != nil {
				t.Fatal(err)
			}
			silent := model.Quantile(model.FitHistory(h, nil).At(h.AsOf).CapacityAh, .5)
			if moved := math.Abs(silent-said.mid) / (said.high - said.low); moved > .25 {
				t.Errorf("%v %d: capacity %.2f Ah with half of the %d part charges silent, %.2f [%.2f %.2f] without", style, seed, silent, early, said.mid, said.low, said.high)
			}
		}
	}
}

// TestRidingThatOnlyVoltsShow: without an odometer and meters at the charger, riding
// that was not logged shows at rests alone, and more may not have shown.
func TestRidingThatOnlyVoltsShow(t *testing.T) {
	const n = 16
	held, wider := 0, 0
	for i := range n {
		cfg := simulate.Preset(simulate.Messy, uint64(1121+i))
		log, h, fit := keptBack(t, cfg)
		before := cfg.Pack.CyclesBefore - log.Truth.At(cfg.Start).EquivalentFullCycles
		truth := log.Truth.At(h.AsOf).EquivalentFullCycles + before
		with := intervalOf(fit.At(h.AsOf).EquivalentFullCycles, truth)
		for k, r := range log.Records {
			switch r := r.(type) {
			case *logbook.Ride:
				bare := *r
				bare.OdometerKm = logbook.Num{}
				log.Records[k] = &bare
			case *logbook.Charge:
				bare := *r
				bare.ChargedAh, bare.ChargedWh = logbook.Num{}, logbook.Num{}
				log.Records[k] = &bare
			}
		}
		h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, h.AsOf)
		if err != nil {
			t.Fatal(err)
		}
		without := intervalOf(model.FitHistory(h, nil).At(h.AsOf).EquivalentFullCycles, truth)
		t.Logf("%d: error %.1f %% ± %.1f with, %.1f %% ± %.1f without", i, with.errorPct(), with.halfPct(), without.errorPct(), without.halfPct())
		if without.holds() {
			held++
		}
		if without.halfPct() > with.halfPct() {
			wider++
		}
	}
	if low, _ := binomialMargin(n); held < low || wider < low {
		t.Errorf("of %d logs %d hold and %d are wider than with an odometer", n, held, wider)
	}
}

// TestUnloggedRidingBetweenTests: a rider who logs range tests alone rides far between
// them. What the odometer shows was ridden and charged before the full charge that the
// test began with, and takes nothing from the test.
func TestUnloggedRidingBetweenTests(t *testing.T) {
	some := logbook.Some
	for _, c := range []struct {
		monthly     float64
		charges, ah bool
	}{{0, true, true}, {20, true, true}, {60, true, true}, {250, true, true}, {60, false, true}, {60, false, false}, {0, false, false}} {
		start := time.Date(2025, 4, 1, 9, 0, 0, 0, time.UTC)
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "board", Rev: 1}, MassKg: some(14)},
			&logbook.Pack{Head: logbook.Head{ID: "pack", Rev: 1}, Board: "board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(2.5), CellFullV: some(4.2), LimitV: some(32), InService: start},
		}
		odo, at := 300.0, start
		for month := range 8 {
			at = start.AddDate(0, month, 0)
			ah := []float64{9.2, 9.3, 9.15, 9.25}[month%4]
			odo += c.monthly + 31
			if c.charges {
				records = append(records, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprintf("c%d", month), Rev: 1}, Pack: "pack", At: at, Full: logbook.Yes, HoldMin: some(60)})
			}
			test := &logbook.Ride{Head: logbook.Head{ID: fmt.Sprintf("r%d", month), Rev: 1}, Pack: "pack", Board: "board", At: at.Add(time.Hour), End: at.Add(time.Hour + 90*time.Minute), DistanceKm: some(31), MovingMin: some(88), OdometerKm: some(odo), DischargedWh: some(ah * 36), AmbientC: some(20), PackC: some(22), Stop: "limit"}
			if c.ah {
				test.DischargedAh = some(ah)
			}
			records = append(records, test)
		}
		h, err := logbook.NewHistory("pack", records, at.AddDate(0, 0, 1))
		if err != nil {
			t.Fatal(err)
		}
		d := model.FitHistory(h, nil).At(h.AsOf)
		if got := model.Quantile(d.CapacityAh, .5); math.Abs(got/9.2-1) > .03 {
			t.Errorf("%+v: %.2f Ah, every test counted 9.15 to 9.3", c, got)
		}
		if got := model.Quantile(d.RangeKm, .5); math.Abs(got/31-1) > .12 {
			t.Errorf("%+v: %.1f km, every test went 31", c, got)
		}
	}
}

// TestLossAtRestOrRiding: between two full charges, three weeks apart, a pack lost charge:
// alike each time, as its electronics take it, or now little and now much, as somebody does
// who rides and logs range tests alone. Only the first is a loss at rest.
func TestLossAtRestOrRiding(t *testing.T) {
	some := logbook.Some
	known := func(lost []float64) bool {
		start := time.Date(2025, 4, 1, 9, 0, 0, 0, time.UTC)
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "board", Rev: 1}, MassKg: some(14)},
			&logbook.Pack{Head: logbook.Head{ID: "pack", Rev: 1}, Board: "board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(2.5), CellFullV: some(4.2), LimitV: some(32), InService: start},
		}
		at := start
		for k, ah := range lost {
			at = start.AddDate(0, 0, 21*k)
			full := func(id string, after time.Duration, ah float64) *logbook.Charge {
				return &logbook.Charge{Head: logbook.Head{ID: fmt.Sprintf("%s%d", id, k), Rev: 1}, Pack: "pack", Start: at.Add(after - 2*time.Hour), At: at.Add(after), Full: logbook.Yes, HoldMin: some(60), ChargedAh: some(ah)}
			}
			records = append(records, full("top", 0, ah),
				&logbook.Ride{Head: logbook.Head{ID: fmt.Sprintf("r%d", k), Rev: 1}, Pack: "pack", Board: "board", At: at.Add(time.Hour), End: at.Add(150 * time.Minute), DistanceKm: some(31), MovingMin: some(88), DischargedAh: some(9.2), AmbientC: some(20), PackC: some(22), Stop: "limit"},
				full("refill", 8*time.Hour, 9.22))
		}
		h, err := logbook.NewHistory("pack", records, at.AddDate(0, 0, 1))
		if err != nil {
			t.Fatal(err)
		}
		return model.FitHistory(h, nil).Known().SelfDischarge
	}
	if !known([]float64{1.9, 2.0, 2.1, 1.95, 2.05, 2.0, 1.9, 2.0, 2.05}) {
		t.Error("a pack that loses a tenth a week, week after week, is not told to")
	}
	if known([]float64{2.9, 5.4, 1.5, 3.1, 6.0, 1.6, 4.2, 5.8, 1.5}) {
		t.Error("what somebody rode is told as a loss at rest")
	}
}
