package model

import (
	"math"
	"slices"
	"testing"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

// prepared makes a machine of rides alone, of 10 km each, at 21 km/h where they do not
// say; a ride's end counts from the zero time.
func prepared(t *testing.T, rides []*logbook.Ride) *machine {
	t.Helper()
	first := time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC)
	records := []logbook.Record{&logbook.Pack{Head: logbook.Head{ID: "wren"}, Chemistry: "nmc", Series: logbook.Some(10), Parallel: logbook.Some(4), CellCapacityAh: logbook.Some(3)}}
	for i, r := range rides {
		if !r.End.IsZero() {
			r.End = first.AddDate(0, 0, i).Add(r.End.Sub(time.Time{}))
		}
		r.Head, r.Pack, r.At = logbook.Head{ID: "r" + string(rune('a'+i))}, "wren", first.AddDate(0, 0, i)
		r.DistanceKm, r.MovingSpeedKmh = logbook.Some(r.DistanceKm.Or(10)), logbook.Some(r.MovingSpeedKmh.Or(21))
		r.DischargedAh = logbook.Some(.4 * r.DistanceKm.V)
		records = append(records, r)
	}
	h, err := logbook.NewHistory("wren", records, first.AddDate(0, 2, 0))
	if err != nil {
		t.Fatal(err)
	}
	m := prepare(h)
	if len(m.events) != len(rides) {
		t.Fatalf("%d rides gave %d events", len(rides), len(m.events))
	}
	return m
}

// TestClimbThatNobodyWroteDown: it is the middle one of the rides on its route, up and
// down each, else of all, and nothing where no ride says one. A way that ends where
// it began falls as far as it climbs.
func TestClimbThatNobodyWroteDown(t *testing.T) {
	ride := func(route, shape string, up, down logbook.Num) *logbook.Ride {
		return &logbook.Ride{Route: route, Shape: shape, ClimbM: up, DescentM: down}
	}
	none := logbook.Num{}
	rides := []*logbook.Ride{
		ride("dyke", "loop", logbook.Some(20), none),
		ride("dyke", "loop", logbook.Some(30), none),
		ride("dyke", "loop", logbook.Some(900), none), // a misreading does not move the middle
		ride("dyke", "loop", none, none),
		ride("mill", "loop", logbook.Some(100), none),
		ride("mill", "one_way", none, none),
		ride("", "", none, none),
		ride("mill", "one_way", none, logbook.Some(70)),
		ride("home", "", logbook.Some(90), logbook.Some(30)),
		ride("home", "", none, none),
		ride("home", "out_back", none, none),
	}
	m := prepared(t, rides)
	for _, want := range []struct {
		ride     int
		up, down float64 // m per km
	}{{3, 3, 3}, {4, 10, 10}, {5, 5, 8.5}, {6, 8, 8}, {7, 0, 7}, {9, 9, 3}, {10, 6, 6}} {
		trip := m.events[want.ride].trip
		if math.Abs(1000*trip.ClimbPerM-want.up) > 1e-9 || math.Abs(1000*trip.DescentPerM-want.down) > 1e-9 {
			t.Errorf("ride %d climbs %g and falls %g m a km, want %g and %g", want.ride, 1000*trip.ClimbPerM, 1000*trip.DescentPerM, want.up, want.down)
		}
	}
	for i, e := range prepared(t, []*logbook.Ride{ride("dyke", "loop", none, none), ride("", "", none, none)}).events {
		if e.trip.ClimbPerM != 0 || e.tripVar < square(climbUnseen) {
			t.Errorf("no ride says its climb, and ride %d has %g m a km, variance %g", i, 1000*e.trip.ClimbPerM, e.tripVar)
		}
	}
}

// TestWindThatWasMet: readings that miss the wind by a fifth, of winds whose squares
// are spread exponentially (Rayleigh), are brought nearer to what blew: over the
// strongest tenth of the readings half of what their squares are too high goes.
func TestWindThatWasMet(t *testing.T) {
	rng := seeded("winds")
	type wind struct{ blew, read float64 }
	list := make([]wind, 4000)
	read := make([]float64, len(list))
	for i := range list {
		blew := 4 * math.Sqrt(-math.Log(1-rng.Float64()))
		list[i] = wind{blew, blew * math.Exp(readWindLn*rng.NormFloat64())}
		read[i] = list[i].read
	}
	w := windsOf(read)
	cut := Quantile(read, .9)
	truth, met, plain := 0.0, 0.0, 0.0
	for _, x := range list {
		if x.read > cut {
			truth, met, plain = truth+square(x.blew), met+square(w.met(x.read)), plain+square(x.read)
		}
	}
	if math.Abs(met/truth-1) > .6*(plain/truth-1) {
		t.Errorf("over the strongest tenth of the readings: %.2f of the true square, %.2f as read", met/truth, plain/truth)
	}
	if w.met(0) != 0 {
		t.Errorf("a calm of %g m/s", w.met(0))
	}
	last := 0.0
	for v := .1; v < 30; v += .1 {
		if now := w.met(v); now <= last {
			t.Fatalf("a reading of %g m/s stands for %g, a weaker one for %g", v, now, last)
		} else {
			last = now
		}
	}
}

// TestOrdinaryRidesHaveAFactor: where the log holds rides to the limit, those that
// were not share a factor of their own; the reference has none of it.
func TestOrdinaryRidesHaveAFactor(t *testing.T) {
	m := prepared(t, []*logbook.Ride{{Stop: "limit"}, {Stop: "chosen"}, {}})
	g := m.groupOf(t, groupCasual)
	for i, want := range []bool{false, true, true} {
		if got := slices.Contains(m.events[i].effects, g); got != want {
			t.Errorf("ride %d has the factor: %v, want %v", i, got, want)
		}
	}
	for _, e := range m.ref.effects {
		if e.group == g {
			t.Error("the reference has the factor of ordinary rides")
		}
	}
	for _, kind := range prepared(t, []*logbook.Ride{{Stop: "chosen"}, {}}).groupKind {
		if kind == groupCasual {
			t.Error("without a ride to the limit there is nothing to tell ordinary ones from")
		}
	}
}

func (m *machine) groupOf(t *testing.T, kind groupKind) int {
	t.Helper()
	for g, k := range m.groupKind {
		if k == kind {
			return g
		}
	}
	t.Fatal("no such factor")
	return -1
}

// TestFactorsBeginAtTheirPriors: at the priors' means a meter that shows 1 kHz
// ohms reads what is usual of a pulse's, and a route takes nothing more.
func TestFactorsBeginAtTheirPriors(t *testing.T) {
	m := prepared(t, []*logbook.Ride{{Stop: "limit", Route: "dyke"}})
	m.groupNames, m.groupKind = append(m.groupNames, "ac"), append(m.groupKind, groupMethod)
	m.params = append(m.params, m.groupPrior(groupMethod, "ac"))
	var c cellState
	m.decode(make([]float64, len(m.params)), &c)
	if got := c.groups[len(c.groups)-1]; math.Abs(got-math.Log(.6)) > 1e-12 {
		t.Errorf("ln of what 1 kHz shows over a pulse is %g, want %g", got, math.Log(.6))
	}
	if c.groups[0] != 0 {
		t.Errorf("a route takes %g more", c.groups[0])
	}
}

// TestStops: what is left of the time under way is stops; where nothing says it, or a
// rest or a distance in miles makes it too long, stops are as usual, and the
// reference is ridden with the stops of a test, not with its rests.
func TestStops(t *testing.T) {
	// 10 km at 21 km/h take 1714 s; each ride stands for so long
	ride := func(standsS float64, stop string) *logbook.Ride {
		r := &logbook.Ride{Stop: stop}
		if standsS > 0 {
			r.End = r.At.Add(time.Duration((10000/(21/3.6) + standsS) * float64(time.Second)))
		}
		return r
	}
	rides := []*logbook.Ride{ride(100, ""), ride(200, ""), ride(300, ""), ride(0, ""), ride(3600, ""), ride(80, "limit"), ride(120, "limit"), ride(3000, "limit")}
	rides = append(rides, ride(1714.286*.609+120, "")) // 10 miles that were typed as km
	m := prepared(t, rides)
	for i, want := range []float64{.01, .02, .03, .012, .012, .008, .012, .012, .012} {
		if got := m.events[i].trip.StoppedSPerM; math.Abs(got-want) > 1e-6 {
			t.Errorf("ride %d stands for %.4f s a metre, want %.4f", i, got, want)
		}
	}
	if got := m.ref.trip.StoppedSPerM; math.Abs(got-.01) > 1e-6 {
		t.Errorf("the reference stands for %.4f s a metre, want .01: the tests'", got)
	}
}

// TestWindOfATrackIsNoSurer: a wind whose part along the way is known, none on a way there
// and back, costs what it costs all round as doubtfully as one of which that is not known.
func TestWindOfATrackIsNoSurer(t *testing.T) {
	some := logbook.Some
	m := prepared(t, invented(func(*logbook.Ride) {}))
	for _, kmh := range []float64{10, 20, 30} {
		r := &logbook.Ride{WindKmh: some(kmh), Shape: "loop"}
		trip := law.Trip{SpeedMs: 6}
		alone := m.fillWind(&trip, r, 1000*r.DistanceKm.Or(1))
		r.HeadwindKmh = some(0)
		if with := m.fillWind(&trip, r, 1000*r.DistanceKm.Or(1)); with < .9*alone || trip.CrossRoundMs <= 0 {
			t.Errorf("%g km/h: a variance of %.5f with the headwind known, %.5f without", kmh, with, alone)
		}
	}
}
