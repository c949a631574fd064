package model

import (
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestMassOfARiderWhoWasNotWeighed: a ride that names its rider alone was
// ridden by the rider's median mass; one of a rider who was never weighed, by
// the median of all that was.
func TestMassOfARiderWhoWasNotWeighed(t *testing.T) {
	const boardKg = 11.0
	first := time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC)
	records := []logbook.Record{
		&logbook.Board{Head: logbook.Head{ID: "plank"}, MassKg: logbook.Some(boardKg)},
		&logbook.Pack{Head: logbook.Head{ID: "wren"}, Board: "plank", Chemistry: "nmc", Series: logbook.Some(10), Parallel: logbook.Some(4), CellCapacityAh: logbook.Some(3)},
	}
	rides := []struct {
		rider string
		kg    logbook.Num
		want  float64 // mass of the rider that the model takes
	}{
		{"ada", logbook.Some(80), 80},
		{"ada", logbook.Num{}, 81},
		{"ada", logbook.Some(81), 81},
		{"bo", logbook.Some(64), 64},
		{"ada", logbook.Some(97), 97},
		{"bo", logbook.Num{}, 64},
		{"ada", logbook.Num{}, 81},
		{"cy", logbook.Num{}, 80.5}, // between 80 and 81 of 64, 80, 81, 97
		{"", logbook.Num{}, 80.5},
	}
	for i, r := range rides {
		records = append(records, &logbook.Ride{
			Head: logbook.Head{ID: "r" + string(rune('0'+i))}, Pack: "wren", At: first.AddDate(0, 0, i), Rider: r.rider, RiderKg: r.kg,
			DistanceKm: logbook.Some(12), MovingSpeedKmh: logbook.Some(21), DischargedAh: logbook.Some(4),
		})
	}
	h, err := logbook.NewHistory("wren", records, first.AddDate(0, 1, 0))
	if err != nil {
		t.Fatal(err)
	}
	m := prepare(h)
	if len(m.events) != len(rides) {
		t.Fatalf("%d rides gave %d events", len(rides), len(m.events))
	}
	for i, r := range rides {
		if got := m.events[i].trip.MassKg - boardKg; got != r.want {
			t.Errorf("ride %d of %q was ridden by %g kg, want %g", i, r.rider, got, r.want)
		}
	}
}
