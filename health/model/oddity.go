package model

import (
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

// Oddity is a condition that lies so far from those of the log that the fit takes it
// as not known.
type Oddity struct {
	Record logbook.Record
	Field  string  // of the record
	Figure float64 // as logged, in the field's unit
	Usual  float64 // in this log, of that day where it follows the season
}

// Oddities lists the conditions that the fit takes as not known: temperatures
// first, then those of the rides in the order of the log.
func (fit *Fit) Oddities() []Oddity {
	m := fit.m
	out := append([]Oddity(nil), m.oddTemps...)
	for i := range m.events {
		r, ok := m.events[i].record.(*logbook.Ride)
		if !ok {
			continue
		}
		for kind, is := range m.oddOf(r) {
			if is && m.usual.slips[kind] {
				out = append(out, m.oddity(r, oddKind(kind)))
			}
		}
	}
	return out
}

// oddity is what is odd of a ride, and what would be usual.
func (m *machine) oddity(r *logbook.Ride, kind oddKind) Oddity {
	u := &m.usual
	switch kind {
	case oddFast, oddSlow:
		if !r.MovingSpeedKmh.OK {
			return Oddity{r, "moving_min", r.MovingMin.V, r.DistanceKm.V / (u.speedMs * law.KmhPerMs) * 60}
		}
		return Oddity{r, "moving_speed_kmh", r.MovingSpeedKmh.V, u.speedMs * law.KmhPerMs}
	case oddHeavy, oddLight:
		return Oddity{r, "rider_kg", r.RiderKg.V, m.massOf(r.Rider)}
	case oddWindy:
		return Oddity{r, "wind_kmh", r.WindKmh.V, u.windMs * law.KmhPerMs}
	case oddAgainst:
		return Oddity{r, "headwind_kmh", r.HeadwindKmh.V, math.Copysign(u.windMs, r.HeadwindKmh.V) * law.KmhPerMs}
	}
	perKm := u.climbs.all * 1000
	if r.ClimbM.V >= r.DescentM.V {
		return Oddity{r, "climb_m", r.ClimbM.V, perKm * r.DistanceKm.V}
	}
	return Oddity{r, "descent_m", r.DescentM.V, perKm * r.DistanceKm.V}
}
