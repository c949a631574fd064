package report

import (
	"slices"
	"time"

	"packwane/health/logbook"
)

// leg is one ride on a board and where the board's odometer stood after it, by
// the readings and, between them, by the distances.
type leg struct {
	ride *logbook.Ride
	km   float64
}

// odoBefore is where the odometer stood before the ride.
func (l leg) odoBefore() float64 { return max(0, l.km-l.ride.DistanceKm.Or(0)) }

// kmBy is where the odometer stood at a time.
func kmBy(legs []leg, t time.Time) float64 {
	km := legs[0].odoBefore()
	for _, l := range legs {
		if logbook.EndOf(l.ride).After(t) {
			break
		}
		km = l.km
	}
	return km
}

// legs lists the rides on a board, with any pack, in order. A reading that
// contradicts the others is left out of account: those are believed that never
// fall and are the most.
func (d *duty) legs(board string) []leg {
	var rides []*logbook.Ride
	for _, r := range d.h.Rides {
		if d.h.RideBoard(r) == board {
			rides = append(rides, r)
		}
	}
	for _, r := range d.h.OtherRides {
		if r.Board == board || r.Board == "" && board == d.h.Pack.Board {
			rides = append(rides, r)
		}
	}
	slices.SortStableFunc(rides, func(a, b *logbook.Ride) int { return logbook.Compare(a, b) })
	believed := believable(rides)
	legs := make([]leg, len(rides))
	km := 0.0
	for i, r := range rides {
		km += r.DistanceKm.Or(0)
		if believed[i] {
			km = r.OdometerKm.V
		}
		legs[i] = leg{r, km}
	}
	// Before the first reading the distances count back from it.
	if first := slices.Index(believed, true); first > 0 {
		for i := first - 1; i >= 0; i-- {
			legs[i].km = max(0, legs[i+1].km-rides[i+1].DistanceKm.Or(0))
		}
	}
	return legs
}

// believable marks the odometer readings that fit together: the longest run
// that never falls, without those that jump.
func believable(rides []*logbook.Ride) []bool {
	out := risingReadings(rides)
	last := -1
	for i, is := range out {
		if !is {
			continue
		}
		if last >= 0 {
			days := rides[i].At.Sub(rides[last].At).Hours()/24 + 1
			if rides[i].OdometerKm.V-rides[last].OdometerKm.V > logbook.MostKmADay*days {
				out[i] = false
				continue
			}
		}
		last = i
	}
	return out
}

// risingReadings marks the longest run of odometer readings that never falls,
// in the order of the rides. Where several are as long it is the one with the
// lowest readings. It takes time n log n (M. Fredman 1975, Discrete
// Mathematics 11, 29).
func risingReadings(rides []*logbook.Ride) []bool {
	var ends []int // index of the lowest last reading of a run of each length
	back := make([]int, len(rides))
	for i, r := range rides {
		if !r.OdometerKm.OK {
			continue
		}
		k, _ := slices.BinarySearchFunc(ends, r.OdometerKm.V, func(e int, v float64) int {
			if rides[e].OdometerKm.V <= v {
				return -1
			}
			return 1
		})
		back[i] = -1
		if k > 0 {
			back[i] = ends[k-1]
		}
		if k == len(ends) {
			ends = append(ends, i)
		} else {
			ends[k] = i
		}
	}
	out := make([]bool, len(rides))
	if len(ends) > 0 {
		for i := ends[len(ends)-1]; i >= 0; i = back[i] {
			out[i] = true
		}
	}
	return out
}
