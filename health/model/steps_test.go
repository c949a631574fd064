package model

import (
	"math"
	"testing"

	"packwane/health/logbook"
)

func TestReadTo(t *testing.T) {
	for _, c := range []struct {
		name            string
		figures         []float64
		whole, fraction float64 // the steps of whole figures and of the others
	}{
		{"all whole", []float64{8, 11, 21, 8, 7}, 1, 0},
		{"one of five whole by chance", []float64{7.6, 11, 20.4, 8.2, 7.3}, .1, .1},
		{"most whole, two read to a tenth", []float64{8, 11, 20.4, 8, 7, 9, 12, 6.7, 8}, 1, .1},
		{"hundredths, of which one in eight is a tenth", []float64{1.25, 3.31, 2.5, 4.12, 1.17, 3.36, 2.22, 1.91}, 0, .01},
		{"a single whole figure", []float64{8}, 1, 0},
	} {
		steps := make([]float64, len(c.figures))
		var all []*float64
		for i, v := range c.figures {
			steps[i] = step(logbook.Some(v))
			all = append(all, &steps[i])
		}
		readTo(all, 10)
		for i, v := range c.figures {
			want := c.fraction
			if v == math.Round(v) {
				want = c.whole
			}
			if math.Abs(steps[i]-want) > 1e-9 {
				t.Errorf("%s: %g is read to %g, want %g", c.name, v, steps[i], want)
			}
		}
	}
	readTo(nil, 10) // no figures, no steps
}

// TestWholeKilometresAreNoRides: distances written to whole kilometres, of which the
// daily one is always rounded up, held against an odometer that is read now to a
// tenth, now to a whole kilometre. Nothing was ridden beside the log until a ride of
// 9 km was.
func TestWholeKilometresAreNoRides(t *testing.T) {
	for _, beside := range []float64{0, 9} {
		odo := 30.0
		var rides []*logbook.Ride
		for i := range 60 {
			km := 7.6
			if i%5 == 4 {
				km = 20.3
			}
			odo += km
			if i == 40 {
				odo += beside
			}
			read := math.Round(10*odo) / 10
			if i%3 == 0 {
				read = math.Round(odo)
			}
			rides = append(rides, &logbook.Ride{DistanceKm: logbook.Some(math.Round(km)), OdometerKm: logbook.Some(read)})
		}
		gaps := []float64{}
		for _, e := range prepared(t, rides).events {
			if e.unloggedKm > 0 {
				gaps = append(gaps, e.unloggedKm)
			}
		}
		if beside == 0 && len(gaps) > 0 || beside > 0 && (len(gaps) != 1 || math.Abs(gaps[0]-beside) > 1.5) {
			t.Errorf("%g km beside the log: found %v", beside, gaps)
		}
	}
}
