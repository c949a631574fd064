package report

import (
	"cmp"
	"math"
	"slices"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

const (
	mostNext   = 2
	hidesLeast = .01 // of the ride: what a missing field must hide to be asked for
	wideEnough = .06 // width of the 90 % interval of the range over its middle that a record can still narrow well
	slowShare  = .70 // of the usual speed: a slow ride
	slowRides  = 5   // rides with a speed before a slow one is asked for
	slowSpread = .12 // spread of the speeds over their mean below which they tell nothing apart
)

// next finds what to record next, what tells most first: what no answer can do
// without, then what this record left out, then what would narrow the widest
// part of the range.
func (l *learning) next() {
	if l.barred() {
		l.out.Next = []Advice{advice("inspect_first", "do not ride or charge it before a trained person has inspected it under your local codes; log that as an inspection")}
		return
	}
	var all []Advice
	all = append(all, l.lackingPack()...)
	all = append(all, l.lackingFigures()...)
	all = append(all, l.leftOut()...)
	if len(all) < mostNext {
		all = append(all, l.narrowing()...)
	}
	seen := map[string]bool{}
	for _, a := range all {
		if !seen[a.Code] && len(l.out.Next) < mostNext {
			seen[a.Code] = true
			l.out.Next = append(l.out.Next, a)
		}
	}
}

// lackingPack asks for what the pack's record must say: one thing at a time.
func (l *learning) lackingPack() []Advice {
	p := l.with.Pack
	ask := func(code, what, example string) []Advice {
		return []Advice{advice(code, what+": `packwane amend "+p.ID+" "+example+"`")}
	}
	switch {
	case !p.Series.OK:
		return ask("series_unknown", "say how many groups are in series, so that volts can be used", "series=N")
	case !p.CellCapacityAh.OK:
		return ask("rating_unknown", "say what its cells are rated", "cell-capacity=AH parallel=N")
	case !l.with.PackAt(l.with.AsOf).LimitV.OK:
		return ask("limit_assumed", "say at which volts under load riding must stop", "limit=VOLTS")
	case p.Chemistry == "":
		return ask("chemistry_assumed", "say what its cells are made of", "chemistry=NAME")
	}
	return nil
}

const fullRide = "one ride to the low-voltage limit (never on below it) with its distance and Ah"

// lackingFigures asks for what the answers that a rider wants first cannot do
// without.
func (l *learning) lackingFigures() []Advice {
	k := l.known
	var out []Advice
	ride, isRide := l.r.(*logbook.Ride)
	charge, isCharge := l.r.(*logbook.Charge)
	counted := isRide && (ride.DischargedAh.OK || ride.DischargedWh.OK)
	switch {
	case isRide && ride.DistanceKm.OK && !counted && !k.Road:
		out = append(out, advice("charge_uncounted", "what the meter counted on the way (discharged=), or the Ah that the next full charge puts back"))
	case isRide && !ride.DistanceKm.OK && len(l.duty.rides) <= 1 && ride.Board != "":
		out = append(out, advice("no_distance", "how far it went (distance=)"))
	case isCharge && charge.Full == logbook.Absent:
		out = append(out, advice("full_unrecorded", "whether the charger finished (full)"))
	case isCharge && !charge.ChargedAh.OK && !charge.ChargedWh.OK:
		out = append(out, advice("charge_uncounted", "what the charge put back (charged=)"))
	}
	switch {
	case !k.Capacity:
		out = append(out, advice("capacity_unknown", "to learn the capacity: a full charge, then "+fullRide))
	case !k.Road && !l.after.Bench():
		out = append(out, advice("range_unknown", "to learn the range: the distance of a ride with its Ah or Wh"))
	}
	return out
}

// leftOut asks for what this record does not say and what that hides.
func (l *learning) leftOut() []Advice {
	switch r := l.r.(type) {
	case *logbook.Ride:
		return l.leftOutOfRide(r)
	case *logbook.Charge:
		if r.Full == logbook.Yes && !r.HoldMin.OK {
			return []Advice{advice("hold_unrecorded", "how long the charger stayed on after it had finished (hold=)")}
		}
	case *logbook.Check:
		switch {
		case r.LoadV.OK && !r.LoadA.OK && !r.ResistanceMohm.OK:
			return []Advice{advice("load_current_unrecorded", "the current at which the volts under load were read (load=AMPERES): without it they tell nothing")}
		case !r.PackC.OK:
			return []Advice{advice("pack_temperature_unrecorded", "the pack's temperature at a check (pack-c=): resistance follows it")}
		case !r.SocPct.OK && !r.RestV.OK:
			return []Advice{advice("level_unrecorded", "the charge level or rest volts at a check (soc= or rest=)")}
		}
	}
	return nil
}

// askFor names the field to record for a cause that had to be assumed.
var askFor = map[string]Advice{
	"temperature":   advice("temperature_unrecorded", "the air temperature (ambient=)"),
	"tyre_pressure": advice("tyre_unrecorded", "the tyre pressure, cold (tyre=)"),
	"rider_mass":    advice("rider_unrecorded", "the rider's weight with gear (rider-kg=)"),
	"speed":         advice("speed_unrecorded", "the moving time or speed (moving=)"),
	"wind":          advice("wind_unrecorded", "the wind (wind=)"),
	"climb":         advice("climb_unrecorded", "the climb (climb=)"),
	"route":         advice("route_unrecorded", "the route by a name (route=)"),
}

// leftOutOfRide finds the condition whose absence hides most.
func (l *learning) leftOutOfRide(r *logbook.Ride) []Advice {
	if !r.DistanceKm.OK {
		return nil
	}
	var out []Advice
	if !r.DischargedAh.OK && !r.DischargedWh.OK && l.known.Road {
		out = append(out, advice("charge_uncounted", "what the meter counted on the way (discharged=)"))
	}
	x := l.explain
	if x == nil {
		return out
	}
	assumed := slices.Clone(x.Assumptions)
	slices.SortStableFunc(assumed, func(a, b Assumption) int { return cmp.Compare(b.HidesKm, a.HidesKm) })
	for _, a := range assumed {
		ask, ok := askFor[a.Cause]
		if a.Rough || !ok || a.HidesKm < hidesLeast*x.RideKm.Value {
			continue
		}
		out = append(out, advice(ask.Code, ask.why, ": not knowing it may hide ", kilometres(a.HidesKm), " either way"))
		break
	}
	return out
}

// narrowing finds what would narrow the range most, then what else the log
// cannot tell yet.
func (l *learning) narrowing() []Advice {
	var out []Advice
	if l.known.Capacity && (l.known.Road || l.after.Bench()) {
		s := l.after.At(l.with.AsOf)
		draws := s.RangeKm
		if l.after.Bench() {
			draws = s.CapacityAh
		}
		if b := (belief{e: estimate(draws)}); b.complete() && b.width() > wideEnough {
			out = append(out, l.narrowest(&s))
		}
	}
	if !l.known.Resistance {
		out = append(out, advice("resistance_unknown", "a check of the resistance (`packwane log check`): it tells how far cold and load shorten a ride"))
	}
	if l.known.Capacity && !l.known.SelfDischarge && l.r.Kind() == logbook.KindCharge {
		out = append(out, advice("self_discharge_unknown", "before a pause of weeks and after it, the rest volts (rest= of a check)"))
	}
	return out
}

// narrowest tells whether the energy of a full charge or the road's part of
// the range is known worse, and what would tell it.
func (l *learning) narrowest(s *model.Snapshot) Advice {
	pack, road := lnSpread(s.CapacityWh), lnSpread(s.WhPerKm)
	switch {
	case l.after.Bench() || pack > road:
		return advice("full_cycle", "to narrow the range: a full charge held for ", exact(holdMin, units.Min), ", then "+fullRide)
	case l.oneSpeed():
		return advice("slow_ride", "to narrow the range: one slow ride of some kilometres with its Ah or Wh; it parts rolling from drag")
	}
	return advice("more_rides", "to narrow the range: rides of some kilometres with Ah or Wh, moving time, tyre pressure and wind")
}

// lnSpread is the standard deviation of the logarithm of draws.
func lnSpread(d model.Draws) float64 {
	mean, sum, n := 0.0, 0.0, float64(len(d))
	for _, v := range d {
		mean += math.Log(v) / n
	}
	for _, v := range d {
		sum += (math.Log(v) - mean) * (math.Log(v) - mean) / n
	}
	return math.Sqrt(sum)
}

// oneSpeed reports whether the rides of the log went so alike in speed that
// they cannot part what grows with it from what does not.
func (l *learning) oneSpeed() bool {
	var v []float64
	for _, r := range l.duty.rides {
		if x := rideKmh(r); x.OK && x.V > 0 {
			v = append(v, x.V)
		}
	}
	if len(v) < slowRides {
		return false
	}
	mid := model.Quantile(v, .5)
	return slices.Min(v) > slowShare*mid && (model.Quantile(v, .9)-model.Quantile(v, .1))/2.56/mid < slowSpread
}
