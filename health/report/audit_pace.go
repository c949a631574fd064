package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// A distance in another unit makes a ride slow and thirsty at once, or fast and frugal. It
// is named where its pace and its consumption each lie so many standard deviations off, and
// both within wellSds of the usual in the other unit. Common practice, no source.
const (
	paceSds    = 2.5
	thirstSds  = 2.
	leastPaces = 8 // rides that tell the usual pace
	leastSd    = .06
)

// paced looks for distances in another unit among the rides whose speed is told by their
// time alone: to the fit such a ride was slow, which hides a part of it.
func (a *audit) paced() {
	if a.fit == nil || !a.fit.Known().Road {
		return
	}
	paces := map[string][]float64{}
	for _, r := range a.h.Rides {
		if v := ownPace(r); v > 0 {
			paces[r.Rider] = append(paces[r.Rider], math.Log(v))
		}
	}
	for _, r := range a.h.Rides {
		all := paces[r.Rider]
		if v := ownPace(r); v > 0 && len(all) >= leastPaces && !a.toldAny(r) {
			mid := middle(all)
			a.inOtherUnit(r, math.Log(v)-mid, spreadAbout(all, mid))
		}
	}
}

// ownPace is the speed of a ride by its distance and its time, km/h; 0 where it says its
// speed itself, or what it drew is not known.
func ownPace(r *logbook.Ride) float64 {
	if r.MovingSpeedKmh.OK || !(r.MovingMin.V > 0) || !(netWh(r) > 0) {
		return 0
	}
	return r.DistanceKm.V / r.MovingMin.V * 60
}

// spreadAbout is the standard deviation of a normal distribution half of which lies as near.
func spreadAbout(all []float64, mid float64) float64 {
	off := make([]float64, len(all))
	for i, v := range all {
		off[i] = math.Abs(v - mid)
	}
	return max(middle(off)/.6745, leastSd)
}

// inOtherUnit files a ride whose pace is off the usual by ln, where that and what it drew
// are usual with the distance in another unit.
func (a *audit) inOtherUnit(r *logbook.Ride, ln, sd float64) {
	if math.Abs(ln) < paceSds*sd {
		return
	}
	for _, km := range a.ownKm(r) {
		if math.Abs(math.Log(r.DistanceKm.V/km)) < ownShare {
			return // route or odometer bear it out: it was slow and thirsty
		}
	}
	for _, code := range []string{"miles_as_km", "km_as_miles"} {
		k := kindNamed(code)
		f := k.factorOf(a)
		meant := *r
		meant.DistanceKm.V *= f
		is, would := a.thirst(r), a.thirst(&meant)
		if math.Abs(ln+math.Log(f)) > wellSds*sd || !(math.Abs(is) > thirstSds) || !(math.Abs(would) < wellSds) {
			continue
		}
		d, _ := logbook.FieldNamed(logbook.KindRide, "distance_km")
		a.add(r, "distance_km", code,
			say(named("distance_km"), " is ", exact(r.DistanceKm.V, d.Unit), ", which makes ", rough{ownPace(r), units.Kmh}, " and ", rough{netWh(r) / r.DistanceKm.V, units.WhPerKm}, ", both unlike the other rides: "+k.what),
			say("if nothing made it so (snow, a strong wind, a soft tyre), put it right: ", k.mend(r, d, meant.DistanceKm.V)))
	}
}

// thirst is how many standard deviations what a ride drew for each kilometre lies above what
// is expected of it.
func (a *audit) thirst(r *logbook.Ride) float64 {
	draws := a.fit.Predict(r).WhPerKm
	mid := model.Quantile(draws, .5)
	sd := max(math.Log(model.Quantile(draws, .84)/model.Quantile(draws, .16))/2, leastSd)
	return math.Log(netWh(r)/r.DistanceKm.V/mid) / sd
}
