package model

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestSeasonOfEitherHemisphere: the year is turned over where the clock or the temperatures
// say so. Monthly means are those of Melbourne and Berlin, to the degree, from memory.
func TestSeasonOfEitherHemisphere(t *testing.T) {
	melbourne := [12]float64{21, 21, 19, 16, 13, 10, 10, 11, 13, 15, 17, 19}
	berlin := [12]float64{1, 2, 5, 10, 15, 18, 20, 19, 15, 10, 5, 2}
	fixed := func(hours int) func(time.Month) int { return func(time.Month) int { return hours } }
	saving := func(m time.Month) int { // Melbourne's
		if m >= time.October || m <= time.March {
			return 11
		}
		return 10
	}
	berlins := func(m time.Month) int {
		if m >= time.April && m <= time.October {
			return 2
		}
		return 1
	}
	for _, c := range []struct {
		name        string
		means       *[12]float64
		from, to    time.Month
		hours       func(time.Month) int
		temps       bool
		july, least float64 // what July is, to 4 K, and how far January is from it at least
	}{
		{"Melbourne, a summer", &melbourne, time.January, time.February, fixed(11), true, 9, 5},
		{"Melbourne, an autumn", &melbourne, time.March, time.May, saving, true, 10, 5},
		{"Melbourne, a year", &melbourne, time.January, time.December, saving, true, 10, 8},
		{"Melbourne, no thermometer", &melbourne, time.January, time.December, saving, false, 4, 10},
		{"Berlin, a winter", &berlin, time.January, time.February, fixed(1), true, 18, 8},
		{"Berlin, a spring", &berlin, time.March, time.May, berlins, true, 18, 8},
		{"Berlin, a year by another's clock", &berlin, time.January, time.December, fixed(10), true, 19, 12},
		{"Berlin, no thermometer", &berlin, time.January, time.December, berlins, false, 20, 10},
	} {
		h := &logbook.History{Pack: &logbook.Pack{Head: logbook.Head{ID: "p"}}}
		var days, temps []float64
		for month := c.from; month <= c.to; month++ {
			for day := 2; day < 28; day += 6 {
				at := time.Date(2026, month, day, 12, 0, 0, 0, time.FixedZone("", 3600*c.hours(month)))
				h.Rides = append(h.Rides, &logbook.Ride{Pack: "p", At: at})
				if c.temps {
					days, temps = append(days, dayOf(at)), append(temps, c.means[month-1]+3*math.Sin(float64(day)))
				}
			}
		}
		s := fitSeason(days, temps, southern(h))
		mid := func(month time.Month) float64 { return s.at(dayOf(time.Date(2026, month, 15, 12, 0, 0, 0, time.UTC))) }
		january, july := mid(time.January), mid(time.July)
		far := january - july
		if c.means == &berlin {
			far = -far
		}
		if math.Abs(july-c.july) > 5 || far < c.least {
			t.Errorf("%s: January %.1f °C, July %.1f °C", c.name, january, july)
		}
	}
}
