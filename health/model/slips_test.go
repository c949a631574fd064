package model

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestSlipsOfADistance: what an odometer shows beyond a ride's distance is a slip of
// that or riding beside the log. Wh/km is 14.
func TestSlipsOfADistance(t *testing.T) {
	some := logbook.Some
	for _, c := range []struct {
		name      string
		km        float64
		wh        float64 // 0: none
		kmh, min  float64
		gap       float64
		isAnother bool // way to write the distance
	}{
		{"20 km typed as miles, by its draw", 12.4, 280, 0, 0, 7.6, true},
		{"20 km typed as miles, by its time", 12.4, 0, 20, 60, 7.6, true},
		{"20 km typed as miles, nothing tells", 12.4, 0, 0, 0, 7.57, true},
		{"28.6 km as 2.86, by its draw", 2.86, 400, 0, 0, 25.7, true},
		{"28.6 km as 2.86, nothing tells", 2.86, 0, 0, 0, 25.74, true},
		{"swapped digits, by its time", 15, 0, 20, 153, 36, true},
		{"no distance, as it drew", 0, 140, 0, 0, 10.2, true},
		{"a ride of 27.9 km beside one of 45 km", 45, 630, 0, 0, 27.9, false},
		{"the same by its time", 45, 0, 20, 135, 27.9, false},
		{"a fast ride and one of 4 km", 10, 203, 0, 0, 4, false},
		{"a ride of 3 km, nothing tells", 10, 0, 0, 0, 3, false},
		{"no distance, another ride", 0, 140, 0, 0, 31, false},
	} {
		m := prepared(t, []*logbook.Ride{{DistanceKm: some(10)}})
		r := &logbook.Ride{DistanceKm: some(c.km)}
		if c.wh > 0 {
			r.DischargedWh = some(c.wh)
		}
		if c.kmh > 0 {
			r.MovingSpeedKmh, r.MovingMin = some(c.kmh), some(c.min)
		}
		if got := m.slips(r, c.gap, 14); got != c.isAnother {
			t.Errorf("%s: a slip is %v", c.name, got)
		}
	}
}

// TestOdometerThatBeginsLate: what refills showed of riding beside the log before the
// odometer was first read stays counted; its first reading says nothing of it.
func TestOdometerThatBeginsLate(t *testing.T) {
	for _, from := range []int{0, 20, 100} { // the ride from which it is read
		odo := 100.0
		var rides []*logbook.Ride
		for i := range 40 {
			odo += 10
			r := &logbook.Ride{}
			if i >= from {
				r.OdometerKm = logbook.Some(odo)
			}
			rides = append(rides, r)
		}
		m := prepared(t, rides)
		for i := range m.events {
			e := &m.events[i]
			if want := i == from; e.unheld != want || e.odometer != (i > from) {
				t.Errorf("read from ride %d, ride %d: unheld %v, held %v", from, i, e.unheld, e.odometer)
			}
		}
	}
}

// TestMoreThanThePackHolds: ten times the Wh, and Ah to match, are put aside whatever
// the rest says, for no full pack holds them.
func TestMoreThanThePackHolds(t *testing.T) {
	var rides []*logbook.Ride
	for i := range 24 {
		r := &logbook.Ride{Stop: "chosen", DischargedWh: logbook.Some(4 * 36.5)}
		if i == 15 {
			r.DischargedWh.V *= 10
		}
		rides = append(rides, r)
	}
	m := prepared(t, rides)
	f := newFitter(m)
	f.p.base(f.start())
	m.events[15].ah = m.events[15].wh / 36.5
	f.rejectImpossible()
	for _, kind := range []obsKind{obAh, obWh} {
		if !f.p.reject[rejectKey{15, kind}] {
			t.Errorf("figure %d of ten times a ride is believed", kind)
		}
	}
	if len(f.p.reject) != 2 {
		t.Errorf("%d figures are put aside, want 2", len(f.p.reject))
	}
}

// TestMoreThanIsLeft: five rides of a quarter of a charge each on one charge, by Wh or by
// Ah: a charge among them was forgotten, and is taken to have been made.
func TestMoreThanIsLeft(t *testing.T) {
	for _, wh := range []bool{true, false} {
		first := time.Date(2026, 11, 1, 8, 0, 0, 0, time.UTC)
		records := []logbook.Record{
			&logbook.Pack{Head: logbook.Head{ID: "wren", Rev: 1}, Chemistry: "nmc", Series: logbook.Some(12), Parallel: logbook.Some(3), CellCapacityAh: logbook.Some(3)},
			&logbook.Charge{Head: logbook.Head{ID: "c", Rev: 1}, Pack: "wren", At: first, Full: logbook.Yes},
		}
		for i := range 6 {
			r := &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", i), Rev: 1}, Pack: "wren", At: first.AddDate(0, 0, i+1), DistanceKm: logbook.Some(8), Stop: "chosen"}
			if r.DischargedWh = logbook.Some(100); !wh {
				r.DischargedWh, r.DischargedAh = logbook.Num{}, logbook.Some(100/43.2)
			}
			records = append(records, r)
		}
		h, err := logbook.NewHistory("wren", records, first.AddDate(0, 0, 8))
		if err != nil {
			t.Fatal(err)
		}
		fit := FitHistory(h, nil)
		resets := 0
		for i := 2; i < len(fit.m.events); i++ { // after the charge and a ride
			if fit.f.p.carry[i].reset {
				resets++
			}
		}
		if resets != 1 {
			t.Errorf("by Wh %v: %d charges are taken to have been forgotten, want 1", wh, resets)
		}
	}
}

// TestRideOfNoDistance: a ride typed as 0 km with nothing else took nothing by itself;
// what the odometer shows of it counts once.
func TestRideOfNoDistance(t *testing.T) {
	throughput := func(km float64) float64 {
		first := time.Date(2026, 11, 1, 8, 0, 0, 0, time.UTC)
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "wren-board", Rev: 1}, MassKg: logbook.Some(14)},
			&logbook.Pack{Head: logbook.Head{ID: "wren", Rev: 1}, Board: "wren-board", Chemistry: "nmc", Series: logbook.Some(12), Parallel: logbook.Some(3), CellCapacityAh: logbook.Some(3)},
		}
		for i := range 20 {
			at := first.AddDate(0, 0, i)
			r := &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", i), Rev: 1}, Pack: "wren", Board: "wren-board", At: at, DistanceKm: logbook.Some(8), OdometerKm: logbook.Some(100 + 8*float64(i)), DischargedWh: logbook.Some(104), Stop: "chosen"}
			if i == 10 {
				r.DistanceKm, r.DischargedWh, r.OdometerKm = logbook.Some(km), logbook.Num{}, logbook.Num{}
			}
			records = append(records, r, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("c", i), Rev: 1}, Pack: "wren", At: at.Add(9 * time.Hour), Full: logbook.Yes})
		}
		h, err := logbook.NewHistory("wren", records, first.AddDate(0, 0, 21))
		if err != nil {
			t.Fatal(err)
		}
		return Quantile(FitHistory(h, nil).At(h.AsOf).TotalAh, .5)
	}
	want, got := throughput(8), throughput(0)
	if math.Abs(got/want-1) > .02 {
		t.Errorf("%.1f Ah taken out with a ride of 0 km, %.1f with the 8 km that it was", got, want)
	}
}
