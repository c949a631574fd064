package report

import (
	"math"
	"strings"

	"packwane/health/logbook"
	"packwane/health/model"
)

// energyShare is how near a distance as meant must come to what a ride's energy
// goes: rides scatter by about as much. Common practice, no source.
const energyShare = .1

// shortWritten files the distance of a ride whose energy the fit put aside, where
// a slip of the distance explains both. A ride's energy and its distance only
// speak of each other: which of them is put aside says little of which is wrong,
// and hardly a meter is off by just a mile for a kilometre: so the distance is held
// against what the energy goes.
func (a *audit) shortWritten(r logbook.Record, m model.Misreading) bool {
	const field = "distance_km"
	ride, ok := r.(*logbook.Ride)
	if !ok || !strings.HasPrefix(m.Field, "discharged_") || !(ride.DistanceKm.V > 0) || a.aside.of(r, field) {
		return false
	}
	if a.told(r, field) {
		return true // by its other count
	}
	if ride.DischargedAh.OK && ride.DischargedWh.OK && !agree(m.Figure, a.crossed(r, m.Field)) {
		return false // its other count bears the distance out
	}
	for _, km := range a.ownKm(ride) {
		if agree(ride.DistanceKm.V, km) {
			return false
		}
	}
	wh := ride.DischargedWh.V - ride.RegenWh.Or(0)
	if !ride.DischargedWh.OK {
		wh = (ride.DischargedAh.V - ride.RegenAh.Or(0)) * a.packV()
	}
	goes := over(wh, a.whPerKm(ride))
	k := a.explain(field, ride.DistanceKm.V, goes, 1)
	if k == nil || k.brings(a, ride.DistanceKm.V, goes) > energyShare {
		return false
	}
	f, _ := logbook.FieldNamed(logbook.KindRide, field)
	m.Field, m.Figure, m.Expected = field, ride.DistanceKm.V, goes
	m.Surprise = math.Abs(math.Log(m.Figure/m.Expected)) / energyShare
	a.distance(ride, m, f)
	return true
}
