package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/units"
)

// RangeTest says whether a ride counts as a range test.
type RangeTest struct {
	FullCycle   bool     `json:"full_cycle"`   // from full to the limit, with a distance
	AtReference bool     `json:"at_reference"` // and at reference conditions: it needs next to no correction
	Missing     []Advice `json:"missing"`      // what stood in the way, or was not recorded
}

// What counts as reference conditions. Common practice, no source, but for the
// wind: force 2 of the Beaufort scale (WMO-No. 8), a light breeze, ends at
// 11 km/h.
const (
	testTyreShare  = .05 // of the reference pressure
	testSpeedShare = .15 // of the reference speed
	testSteady     = .20 // standard deviation of the speed over its mean
	testWindKmh    = 11
	testHeadKmh    = 5
	testClimbMKm   = 8 // per km
	testTempK      = 10
	testRiderShare = .10
)

// rangeTest looks a ride through for what a range test needs.
func (l *learning) rangeTest(r *logbook.Ride) *RangeTest {
	t := &RangeTest{Missing: []Advice{}}
	miss := func(is bool, code string, parts ...any) {
		if is {
			t.Missing = append(t.Missing, advice(code, parts...))
		}
	}
	charge := l.chargeBefore(r)
	full := startedFull(l.with)[r]
	miss(!r.DistanceKm.OK, "no_distance", "it has no distance")
	miss(r.Stop == "", "stop_unrecorded", "why it ended is not recorded (stop=limit)")
	miss(r.Stop != "" && r.Stop != "limit", "not_to_the_limit", "it did not end at the limit")
	miss(charge == nil, "no_charge", "no charge is logged before it")
	miss(charge != nil && !full, "not_full", "it did not start full")
	t.FullCycle = len(t.Missing) == 0
	miss(full && charge != nil && !charge.HoldMin.OK, "hold_unrecorded", "how long the charge was held is not recorded")
	miss(full && charge != nil && charge.HoldMin.OK && charge.HoldMin.V < holdMin, "not_held", "the charge was held for ", exact(charge0(charge), units.Min), ", not ", exact(holdMin, units.Min))
	l.missTyre(r, miss)
	l.missSpeed(r, miss)
	l.missAir(r, miss)
	if want := l.duty.h.Pack.RefRiderKg; want.OK && r.RiderKg.OK {
		miss(math.Abs(r.RiderKg.V/want.V-1) > testRiderShare, "rider", "the rider weighed ", exact(r.RiderKg.V, units.Kg), ", not ", exact(want.V, units.Kg))
	}
	t.AtReference = len(t.Missing) == 0
	return t
}

type missing func(is bool, code string, parts ...any)

func charge0(c *logbook.Charge) float64 {
	if c == nil {
		return 0
	}
	return c.HoldMin.Or(0)
}

func (l *learning) missTyre(r *logbook.Ride, miss missing) {
	ref := l.with.BoardAt(l.with.RideBoard(r), r.At).RefTyreKpa
	miss(ref.OK && !r.TyreKpa.OK, "tyre_unrecorded", "the tyre pressure is not recorded")
	miss(ref.OK && r.TyreKpa.OK && math.Abs(r.TyreKpa.V/ref.V-1) > testTyreShare, "tyre", "the tyre was at ", exact(r.TyreKpa.V, units.Kpa), ", not ", exact(ref.V, units.Kpa))
}

func (l *learning) missSpeed(r *logbook.Ride, miss missing) {
	v := rideKmh(r)
	ref := l.after.Reference().SpeedKmh
	miss(!v.OK, "speed_unrecorded", "the speed or the moving time is not recorded")
	miss(v.OK && ref > 0 && math.Abs(v.V/ref-1) > testSpeedShare, "speed", "it was ridden at ", exact(v.V, units.Kmh), ", not ", exact(math.Round(ref), units.Kmh))
	miss(v.OK && r.SpeedSdKmh.OK && r.SpeedSdKmh.V > testSteady*v.V, "unsteady", "the speed was unsteady")
}

func (l *learning) missAir(r *logbook.Ride, miss missing) {
	ref := l.duty.h.Pack.RefTempC.Or(logbook.DefaultRefTempC)
	temp := r.PackC
	if !temp.OK {
		temp = r.AmbientC
	}
	miss(!temp.OK, "temperature_unrecorded", "the temperature is not recorded")
	miss(temp.OK && math.Abs(temp.V-ref) > testTempK, "temperature", "it was ", degrees(temp.V), ", not ", exact(ref, units.Celsius))
	miss(!r.WindKmh.OK && !r.HeadwindKmh.OK, "wind_unrecorded", "the wind is not recorded")
	miss(r.WindKmh.V > testWindKmh || math.Abs(r.HeadwindKmh.V) > testHeadKmh, "wind", "it was windy")
	if r.DistanceKm.V > 0 {
		miss(r.ClimbM.OK && r.ClimbM.V/r.DistanceKm.V > testClimbMKm, "climb", "it climbed ", exact(r.ClimbM.V, units.Metre))
	}
}

// chargeBefore is the last charge before a ride; nil where there is none.
func (l *learning) chargeBefore(r *logbook.Ride) (last *logbook.Charge) {
	for _, c := range l.duty.charges {
		if !c.At.After(r.At) {
			last = c
		}
	}
	return last
}

// rideKmh is the moving speed of a ride, as recorded or from its moving time.
func rideKmh(r *logbook.Ride) logbook.Num {
	switch {
	case r.MovingSpeedKmh.OK:
		return r.MovingSpeedKmh
	case r.MovingMin.OK && r.MovingMin.V > 0 && r.DistanceKm.OK:
		return logbook.Some(r.DistanceKm.V / r.MovingMin.V * 60)
	}
	return logbook.Num{}
}

// words says in a phrase whether the ride counts.
func (t *RangeTest) words() phrase {
	switch {
	case t.AtReference:
		return say("counts as a range test at reference conditions")
	case t.FullCycle:
		return say("a range test, but not at reference conditions (that is corrected for): ", someMissing(t.Missing, 4))
	}
	return say("no range test: ", someMissing(t.Missing, 2))
}

// someMissing joins the first few of what was missing.
func someMissing(all []Advice, few int) phrase {
	var p phrase
	for i, m := range all {
		if i == few {
			break
		}
		if i > 0 {
			p = say(p, ", ")
		}
		p = say(p, m.why)
	}
	return p
}
