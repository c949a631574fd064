package model

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

// invented are ten rides of a calm log, all alike; change is made in the last.
func invented(change func(r *logbook.Ride)) []*logbook.Ride {
	var rides []*logbook.Ride
	for i := range 10 {
		r := &logbook.Ride{MovingSpeedKmh: logbook.Some(21), AmbientC: logbook.Some(9 + float64(i%3)), PackC: logbook.Some(16), RiderKg: logbook.Some(71), Rider: "wren", WindKmh: logbook.Some(9), HeadwindKmh: logbook.Some(2), ClimbM: logbook.Some(60), DescentM: logbook.Some(60), Shape: "loop", Route: "dyke"}
		if i == 9 {
			change(r)
		}
		rides = append(rides, r)
	}
	return rides
}

// TestOddConditionsAreNotKnown: what is far from all others of the log is filled in as
// where nobody wrote it down; what may well have been is kept.
func TestOddConditionsAreNotKnown(t *testing.T) {
	some := logbook.Some
	for _, c := range []struct {
		name string
		make func(r *logbook.Ride)
		odd  bool
	}{
		{"nothing odd", func(*logbook.Ride) {}, false},
		{"210 km/h", func(r *logbook.Ride) { r.MovingSpeedKmh = some(210) }, true},
		{"a fast ride", func(r *logbook.Ride) { r.MovingSpeedKmh = some(38) }, false},
		{"pounds as kilograms", func(r *logbook.Ride) { r.RiderKg = some(71 * 2.2046) }, true},
		{"with luggage", func(r *logbook.Ride) { r.RiderKg = some(95) }, false},
		{"a wind of 90 km/h", func(r *logbook.Ride) { r.WindKmh = some(90) }, true},
		{"a gale of 55 km/h", func(r *logbook.Ride) { r.WindKmh = some(55) }, false},
		{"a head wind of 90 km/h", func(r *logbook.Ride) { r.HeadwindKmh = some(90) }, true},
		{"ten times the climb", func(r *logbook.Ride) { r.ClimbM, r.DescentM = some(600), some(600) }, true},
		{"a hillier way", func(r *logbook.Ride) { r.ClimbM, r.DescentM = some(190), some(190) }, false},
	} {
		rides := invented(c.make)
		m := prepared(t, rides)
		if got := m.believed(rides[9]) != rides[9]; got != c.odd {
			t.Errorf("%s: odd is %v", c.name, got)
		}
		for _, r := range rides[:9] {
			if m.believed(r) != r {
				t.Errorf("%s: another ride is odd", c.name)
			}
		}
	}
}

// TestOddTemperatures: 50 °F (10 °C) typed as °C in a cold log, and a pack at 68 °C
// among packs at 16; a log whose packs are all as warm is kept as it is.
func TestOddTemperatures(t *testing.T) {
	some := logbook.Some
	for _, c := range []struct {
		name                string
		make                func(r *logbook.Ride)
		airKnown, packKnown bool
	}{
		{"as they are", func(*logbook.Ride) {}, true, true},
		{"air in °F", func(r *logbook.Ride) { r.AmbientC = some(50) }, false, true},
		{"a warm day", func(r *logbook.Ride) { r.AmbientC = some(21) }, true, true},
		{"a pack in °F", func(r *logbook.Ride) { r.PackC = some(60.8) }, true, false},
		{"a pack out of the sun", func(r *logbook.Ride) { r.PackC = some(41) }, true, true},
	} {
		e := prepared(t, invented(c.make)).events[9]
		if e.airSeen != c.airKnown {
			t.Errorf("%s: the air is known: %v", c.name, e.airSeen)
		}
		if known(e.packC) != c.packKnown {
			t.Errorf("%s: the pack's temperature is known: %v", c.name, known(e.packC))
		}
	}
	hot := invented(func(*logbook.Ride) {})
	for _, r := range hot {
		r.PackC = some(58)
	}
	for i, e := range prepared(t, hot).events {
		if e.packC != 58 {
			t.Errorf("ride %d: packs are all at 58 °C, this at %g", i, e.packC)
		}
	}
}

// TestSeasonIsThatOfTheRoad: the garage where a pack is charged says nothing of the
// winter outside, nor do the days outside make the garage odd.
func TestSeasonIsThatOfTheRoad(t *testing.T) {
	season := func(garageC float64) season {
		h := prepared(t, invented(func(*logbook.Ride) {})).h
		for i, r := range h.Rides {
			h.Charges = append(h.Charges, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("c", i), Rev: 1}, Pack: r.Pack, At: r.At.Add(5 * time.Hour), AmbientC: logbook.Some(garageC)})
		}
		m := prepare(h)
		if len(m.oddTemps) > 0 {
			t.Errorf("odd with a garage at %g °C: %+v", garageC, m.oddTemps)
		}
		return m.season
	}
	if cold, warm := season(3), season(28); cold != warm {
		t.Errorf("the season is %+v by a garage at 3 °C and %+v by one at 28 °C", cold, warm)
	}
}

// TestChargeLevelOfACheck: a stated level is believed unless rest volts on a sloping
// curve deny it; without one they tell.
func TestChargeLevelOfACheck(t *testing.T) {
	m := prepared(t, invented(func(*logbook.Ride) {}))
	nan := math.NaN()
	v, _ := m.meanCurve.OCV(.5)
	for _, c := range []struct {
		stated, cellV float64
		groups        []float64
		want          float64
	}{
		{.45, v, nil, .45}, {.045, v, nil, .5}, {nan, v, nil, .5}, {.05, nan, []float64{v, v + .001, v - .001}, .5}, {.3, nan, nil, .3}, {nan, nan, nil, nan}, {.4, 5, nil, .4},
	} {
		if got := m.socOf(c.stated, c.cellV, c.groups); math.Abs(got-c.want) > .02 || math.IsNaN(got) != math.IsNaN(c.want) {
			t.Errorf("stated %g at %g V %v: %g, want %g", c.stated, c.cellV, c.groups, got, c.want)
		}
	}
}

// TestCurrentOfAMisreadRide: a count of ten times the charge, or a distance put aside
// that the time was worked out from, do not make the current.
func TestCurrentOfAMisreadRide(t *testing.T) {
	m := prepared(t, invented(func(*logbook.Ride) {}))
	f := newFitter(m)
	f.p.base(make([]float64, len(m.params)))
	e := m.events[9]
	c := f.p.c
	is := c.rideAmpere(m, &e, true, c.lnLoad(&e), .02)
	if want := 4 / (10. / 21); math.Abs(is/want-1) > 1e-9 {
		t.Errorf("4 Ah in %.3f h: %g A", 10./21, is)
	}
	e.ah *= 10
	tenfold := c.rideAmpere(m, &e, true, c.lnLoad(&e), .02)
	if bare := c.rideAmpere(m, &e, false, c.lnLoad(&e), .02); tenfold != bare {
		t.Errorf("ten times the charge makes a current of %g A, what the speed takes is %g", tenfold, bare)
	}
	f.p.reject = map[rejectKey]bool{{9, obDistance}: true}
	if f.p.counted(9, &m.events[9]) || !f.p.counted(8, &m.events[8]) {
		t.Error("the time of a ride is believed though its distance is not")
	}
}

// TestReadingsOfTheOdometer: after n rides of 10 km each one reading is wrong.
func TestReadingsOfTheOdometer(t *testing.T) {
	const n = 12
	for _, c := range []struct {
		name   string
		ride   int
		km     float64 // the odometer reads that much more
		gapKm  float64 // that is ridden before ride 6 beside the log
		unseen float64 // km that the model counts as not logged
	}{
		{"all as they are", 0, 0, 0, 0},
		{"a ride not logged", 0, 0, 14, 14},
		{"100 km less", 5, -100, 0, 0},
		{"1000 km more", 5, 1000, 0, 0},
		{"8 km less, which does not fall", 5, -8, 0, 0},
		{"the first 300 km less", 0, -300, 0, 0},
		{"the last 1000 km more", n - 1, 1000, 0, 0},
		{"a ride not logged and one reading wrong", 9, 300, 14, 14},
	} {
		rides := make([]*logbook.Ride, n)
		odo := 500.0
		for i := range rides {
			odo += 10
			if i == 6 {
				odo += c.gapKm
			}
			rides[i] = &logbook.Ride{OdometerKm: logbook.Some(odo)}
		}
		rides[c.ride].OdometerKm.V += c.km
		got := 0.0
		for _, e := range prepared(t, rides).events {
			got += e.unloggedKm
		}
		if math.Abs(got-c.unseen) > .5 {
			t.Errorf("%s: %g km ridden beside the log, want %g", c.name, got, c.unseen)
		}
	}
}

// TestDistanceTooShort: the odometer shows ten times what a ride's distance says, and
// its charge goes with the odometer: no ride beside the log.
func TestDistanceTooShort(t *testing.T) {
	var lines []logbook.Record
	first := time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC)
	lines = append(lines, &logbook.Pack{Head: logbook.Head{ID: "wren"}, Chemistry: "nmc", Series: logbook.Some(10), Parallel: logbook.Some(4), CellCapacityAh: logbook.Some(3)})
	for i := range 8 {
		r := &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", i)}, Pack: "wren", At: first.AddDate(0, 0, i), DistanceKm: logbook.Some(10), DischargedWh: logbook.Some(140), OdometerKm: logbook.Some(100 + 10*float64(i))}
		if i == 4 {
			r.DistanceKm = logbook.Some(1)
		}
		lines = append(lines, r)
	}
	h, err := logbook.NewHistory("wren", lines, first.AddDate(0, 1, 0))
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range prepare(h).events {
		if e.unloggedKm != 0 {
			t.Errorf("before ride %d %g km are taken as ridden beside the log", i, e.unloggedKm)
		}
	}
}

// TestWhatSeveralRidesShowIsNotOdd: a scooter has a slow and a fast mode, a second rider
// is a child, a holiday goes through mountains: that is how the log is ridden.
func TestWhatSeveralRidesShowIsNotOdd(t *testing.T) {
	some := logbook.Some
	for _, c := range []struct {
		name string
		make func(r *logbook.Ride)
	}{
		{"50 km/h among 15", func(r *logbook.Ride) { r.MovingSpeedKmh = some(50) }},
		{"a child rides", func(r *logbook.Ride) { r.RiderKg, r.Rider = some(30), "" }},
		{"a stormy coast", func(r *logbook.Ride) { r.WindKmh = some(65) }},
		{"head winds of a stormy coast", func(r *logbook.Ride) { r.HeadwindKmh = some(65) }},
		{"a holiday in the mountains", func(r *logbook.Ride) { r.ClimbM, r.DescentM, r.Route = some(450), some(450), "" }},
		{"the tropics", func(r *logbook.Ride) { r.AmbientC = some(33) }},
		{"packs at 55 °C", func(r *logbook.Ride) { r.PackC = some(55) }},
	} {
		for _, times := range []int{1, 4} {
			var rides []*logbook.Ride
			for i := range 44 {
				r := &logbook.Ride{MovingSpeedKmh: some(15), AmbientC: some(float64(i % 3)), PackC: some(23), RiderKg: some(71), WindKmh: some(9), HeadwindKmh: some(2), ClimbM: some(30), DescentM: some(30), Route: "dyke"}
				if i >= 44-times {
					c.make(r)
				}
				rides = append(rides, r)
			}
			m := prepared(t, rides)
			e := &m.events[43]
			odd := m.believed(rides[43]) != rides[43] || !e.airSeen || !known(e.packC)
			if odd != (times == 1) {
				t.Errorf("%s, %d of 44 rides: odd is %v", c.name, times, odd)
			}
		}
	}
}

// TestOddClimbOfItsOwnRoute: the climb of the only ride on a route does not come back as
// the middle one of that route.
func TestOddClimbOfItsOwnRoute(t *testing.T) {
	rides := invented(func(r *logbook.Ride) {
		r.Route, r.ClimbM, r.DescentM = "heath", logbook.Some(600), logbook.Some(600)
	})
	if got := prepared(t, rides).events[9].trip.ClimbPerM; got != .006 {
		t.Errorf("600 m on 10 km, odd in this log: %g of climb for each metre, want those of the log, .006", got)
	}
}
