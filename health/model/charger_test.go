package model

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

// chargerLog is a pack that is ridden every other day and filled at the wall, which
// gives what was ridden over the efficiency of the charger of that day.
func chargerLog(t *testing.T, efficiency func(day int) float64) *logbook.History {
	t.Helper()
	some := logbook.Some
	start := time.Date(2025, 4, 1, 9, 0, 0, 0, time.UTC)
	records := []logbook.Record{
		&logbook.Board{Head: logbook.Head{ID: "board", Rev: 1}, MassKg: some(14)},
		&logbook.Pack{Head: logbook.Head{ID: "pack", Rev: 1}, Board: "board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(2.5), CellFullV: some(4.2), LimitV: some(32), InService: start},
	}
	at := start
	for day := 0; day < 120; day += 2 {
		at = start.AddDate(0, 0, day)
		wh := 180 + 25*math.Sin(float64(day))
		records = append(records,
			&logbook.Ride{Head: logbook.Head{ID: fmt.Sprintf("r%d", day), Rev: 1}, Pack: "pack", Board: "board", At: at, End: at.Add(45 * time.Minute), DistanceKm: some(wh / 12), MovingMin: some(44), DischargedWh: some(wh), AmbientC: some(18), PackC: some(20), Stop: "chosen"},
			&logbook.Charge{Head: logbook.Head{ID: fmt.Sprintf("c%d", day), Rev: 1}, Pack: "pack", Start: at.Add(4 * time.Hour), At: at.Add(8 * time.Hour), Full: logbook.Yes, HoldMin: some(60), MeterSide: "ac", ChargedWh: some(math.Round(wh / efficiency(day) * (1 + .01*math.Cos(float64(3*day)))))},
		)
	}
	h, err := logbook.NewHistory("pack", records, at.AddDate(0, 0, 1))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestAnotherCharger: one that takes a tenth more for the same is found by its day, and the
// pack is no worse for it; one that wears, a season, and a handful of charges are not taken
// for another.
func TestAnotherCharger(t *testing.T) {
	for _, c := range []struct {
		name  string
		of    func(day int) float64
		since int // day; 0 where there is no other
	}{
		{"the same", func(int) float64 { return .88 }, 0},
		{"another", func(day int) float64 {
			if day >= 70 {
				return .79
			}
			return .88
		}, 70},
		{"one that wears", func(day int) float64 { return .88 - .0008*float64(day) }, 0},
		{"a season", func(day int) float64 { return .85 + .03*math.Sin(float64(day)/40) }, 0},
		{"lately", func(day int) float64 {
			if day >= 114 {
				return .79
			}
			return .88
		}, 0},
	} {
		fit := FitHistory(chargerLog(t, c.of), nil)
		since, more, is := fit.AnotherCharger()
		day := int(math.Round(since.Sub(fit.m.h.Pack.InService).Hours() / 24))
		if is != (c.since > 0) || is && (day < c.since-2 || day > c.since+2 || math.Abs(more-11.4) > 2) {
			t.Errorf("%s: found is %v, day %d, %+.1f %%; want day %d", c.name, is, day, more, c.since)
		}
	}
}

// TestSomeAreSpread: as many rides as are wanted stand for a log of any length.
func TestSomeAreSpread(t *testing.T) {
	for all := range 60 {
		m := &machine{events: make([]event, all)}
		for i := range m.events {
			m.events[i].kind = evRide
		}
		if n := len(m.some(mostTrips, func(int, *event) bool { return true })); n != min(all, mostTrips) {
			t.Errorf("%d of %d rides", n, all)
		}
	}
}
