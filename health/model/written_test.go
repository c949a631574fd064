package model

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestDistancesWrittenAgain: a way of 7.6 km is always written as 8, tests of some
// 40 km are written whole too. What the daily one is rounded by is not known beyond
// that, until an odometer tells; and then no wheel that counts four in a hundred too
// many hides it, for the tests tell that.
func TestDistancesWrittenAgain(t *testing.T) {
	const way = 7.6
	log := func(wheel float64) *machine {
		odo := 30.0
		var rides []*logbook.Ride
		for i := range 60 {
			km, route := way, "to the weir"
			if i%6 == 5 {
				km, route = 40.3+float64(i%4)/3, "round the lake"
			}
			odo += km
			r := &logbook.Ride{DistanceKm: logbook.Some(math.Round(km)), Route: route}
			if wheel > 0 {
				r.OdometerKm = logbook.Some(math.Round(odo*wheel*10) / 10)
			}
			rides = append(rides, r)
		}
		return prepared(t, rides)
	}
	m := log(0)
	alike, ok := m.written["to the weir 8 km"]
	if want := 1 / math.Sqrt(12) / 8; !ok || alike.mean != 0 || math.Abs(alike.sd-want) > 1e-9 {
		t.Fatalf("without an odometer: %+v, want no mean and a deviation of %g", alike, want)
	}
	if _, ok := m.written["round the lake 40 km"]; ok {
		t.Error("what 40 km are rounded by is less than a hundredth and needs no factor")
	}
	felt := 0
	for i := range m.events {
		for _, g := range m.events[i].effects {
			if m.groupKind[g] == groupWritten {
				felt++
			}
		}
	}
	if felt != 50 {
		t.Errorf("%d rides feel what they are rounded by, want 50", felt)
	}
	for _, wheel := range []float64{1, 1.04} {
		m := log(wheel)
		p := m.written["to the weir 8 km"]
		if want := math.Log(way / 8); math.Abs(p.mean-want) > 2*p.sd || p.sd > .7*alike.sd || p.mean > want/4 {
			t.Errorf("wheel %g: ln %.4f ± %.4f of a kilometre, want about %.4f", wheel, p.mean, p.sd, want)
		}
	}
}

// TestReferenceRider: of two riders the one whose mass the reference states counts.
func TestReferenceRider(t *testing.T) {
	var rides []*logbook.Ride
	for i := range 8 {
		r := &logbook.Ride{Rider: "wren", RiderKg: logbook.Some(98), Stop: "limit"}
		if i%2 == 1 {
			r = &logbook.Ride{Rider: "finch", RiderKg: logbook.Some(72), Stop: "limit"}
		}
		rides = append(rides, r)
	}
	m := prepared(t, rides)
	for _, c := range []struct {
		ref  logbook.Num
		wren float64
	}{{logbook.Num{}, .5}, {logbook.Some(98), .98}, {logbook.Some(73), .02}, {logbook.Some(85), .5}} {
		got := 0.0
		for _, s := range m.referenceEffects("", c.ref) {
			if m.groupKind[s.group] == groupRider && m.groupNames[s.group] == "wren" {
				got = s.w
			}
		}
		if math.Abs(got-c.wren) > .02 {
			t.Errorf("reference of %v kg: the rider of 98 kg counts %.2f, want %.2f", c.ref.V, got, c.wren)
		}
	}
}

// TestWrittenPriorHolds draws ways and wheels from what the prior says of them: its
// nine tenths hold nine of ten.
func TestWrittenPriorHolds(t *testing.T) {
	const logs = 300
	for _, others := range []bool{false, true} {
		held := 0
		for seed := range uint64(logs) {
			rng := rand.New(rand.NewPCG(seed, 7))
			wheel := math.Exp(instrumentSd * rng.NormFloat64())
			ways := []float64{8 + rng.NormFloat64()/math.Sqrt(12)}
			if others {
				ways = append(ways, 21+rng.NormFloat64()/math.Sqrt(12))
			}
			odo := 30.0
			var rides []*logbook.Ride
			for i := range 24 {
				k := i % len(ways)
				odo += ways[k] * wheel
				rides = append(rides, &logbook.Ride{DistanceKm: logbook.Some([]float64{8, 21}[k]), OdometerKm: logbook.Some(math.Round(10*odo) / 10), Route: "way"})
			}
			p := prepared(t, rides).written["way 8 km"]
			if math.Abs(math.Log(ways[0]/8)-p.mean) < 1.645*p.sd {
				held++
			}
		}
		low, high := binomialRange(logs, .9)
		if held < low || held > high {
			t.Errorf("other ways %v: %d of %d are held, want %d to %d", others, held, logs, low, high)
		}
	}
}

// binomialRange is what lies within three standard deviations of a share of n.
func binomialRange(n, share float64) (low, high int) {
	sd := 3 * math.Sqrt(n*share*(1-share))
	return int(n*share - sd), int(n*share + sd)
}

// TestOdometerReadMonthly: a way of 8.4 km written as 8 km twenty times between two
// readings is off by 8 km, and nothing was ridden beside it.
func TestOdometerReadMonthly(t *testing.T) {
	var rides []*logbook.Ride
	for i := range 60 {
		r := &logbook.Ride{DistanceKm: logbook.Some(8)}
		if i%20 == 0 {
			r.OdometerKm = logbook.Some(math.Round(8.4*float64(i+1)*10) / 10)
		}
		rides = append(rides, r)
	}
	for _, e := range prepared(t, rides).events {
		if e.unloggedKm != 0 {
			t.Errorf("%g km are taken as ridden beside the log", e.unloggedKm)
		}
	}
}

// TestExplainARoundedDistance: a daily ride of 7.6 km gets the same way to the limit,
// and nearly the same causes, whether its distance is written so or as 8 km.
func TestExplainARoundedDistance(t *testing.T) {
	explained := func(round func(float64) float64) *Explanation {
		odo := 30.0
		rng := rand.New(rand.NewPCG(3, 5))
		first := time.Date(2026, 4, 2, 9, 0, 0, 0, time.UTC)
		some := logbook.Some
		records := []logbook.Record{
			&logbook.Board{Head: logbook.Head{ID: "wren-board", Rev: 1}, MassKg: some(15), RefTyreKpa: some(300)},
			&logbook.Pack{Head: logbook.Head{ID: "wren", Rev: 1}, Board: "wren-board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(3), RefSpeedKmh: some(22), RefRiderKg: some(80)},
		}
		var asked *logbook.Ride
		for i := range 60 {
			km, route, stop := 7.6, "to the weir", "chosen"
			if i%6 == 5 {
				km, route, stop = 31+.8*rng.NormFloat64(), "round the lake", "limit"
			}
			odo += km
			wh := 13 * km * math.Exp(.02*rng.NormFloat64())
			r := &logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("r", i), Rev: 1}, Pack: "wren", Board: "wren-board", At: first.AddDate(0, 0, i), DistanceKm: some(round(km)), OdometerKm: some(math.Round(10*odo) / 10),
				MovingSpeedKmh: some(22), DischargedAh: some(math.Round(100*wh/37) / 100), AmbientC: some(20), RiderKg: some(80), TyreKpa: some(300), WindKmh: some(0), ClimbM: some(0), DescentM: some(0), Route: route, Stop: stop}
			records = append(records, r, &logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("c", i), Rev: 1}, Pack: "wren", Start: r.At.Add(3 * time.Hour), At: r.At.Add(8 * time.Hour), ChargedAh: some(r.DischargedAh.V), Full: logbook.Yes})
			if i == 51 {
				asked = r
			}
		}
		h, err := logbook.NewHistory("wren", records, first.AddDate(0, 2, 0))
		if err != nil {
			t.Fatal(err)
		}
		x, ok := FitHistory(h, nil).Explain(asked)
		if !ok || asked.Stop != "chosen" {
			t.Fatal("nothing to explain")
		}
		return x
	}
	tenths := explained(func(km float64) float64 { return math.Round(10*km) / 10 })
	whole := explained(math.Round)
	mid := func(d Draws) float64 { return Quantile(d, .5) }
	if was, is := mid(tenths.RideKm), mid(whole.RideKm); math.Abs(is/was-1) > .015 {
		t.Errorf("%.2f km to the limit by whole kilometres, %.2f by tenths", is, was)
	}
	for c := range numCauses {
		if a, b := mid(tenths.Km[c]), mid(whole.Km[c]); math.Abs(a-b) > .4 {
			t.Errorf("cause %d: %.2f km by whole kilometres, %.2f by tenths", c, b, a)
		}
	}
}
