package report

import (
	"packwane/health/logbook"
)

// RideOf is one ride with its pack.
type RideOf struct {
	Known
	Ride *logbook.Ride
}

// CompareRides brings single rides to the first one's reference conditions,
// each by what the model expects there over what it expects of the ride, with
// the scatter of a single ride left in: what each tells of the average.
func CompareRides(rides []RideOf, o Overrides) *Compare {
	var more []Known
	for _, r := range rides[1:] {
		more = append(more, r.Known)
	}
	conditions, way := conditionsOf(rides[0].Known, more, o)
	out := &Compare{AsOf: logbook.FormatTime(rides[0].History.AsOf), Conditions: conditions, Entries: []Entry{}, Pairs: []Pair{}, Warnings: []Warning{}}
	said := map[string]bool{}
	for _, r := range rides {
		e := Entry{Pack: r.History.Pack.ID, Ride: r.Ride.ID, Name: r.Ride.ID}
		w := way
		w.Board, w.SetUpAt = r.History.RideBoard(r.Ride), r.Ride.At // a board rolls as it did then
		known := r.Fit.Known()
		if g, ok := r.Fit.RideAs(r.Ride, w); ok && known.Capacity && known.Road {
			e.RangeKm, e.CapacityWh, e.ConsumptionWhPerKm, e.km = estimate(g.RangeKm), estimate(g.CapacityWh), estimate(g.WhPerKm), g.RangeKm
		} else {
			out.Warnings = append(out.Warnings, Warning{Code: "ride_untold", Text: "ride " + r.Ride.ID + " shows no distance that fits the rest of the log, or is of an earlier life of its pack"})
		}
		out.Entries = append(out.Entries, e)
		if id := r.History.Pack.ID; !said[id] {
			said[id] = true
			out.Warnings = append(out.Warnings, barredOf(r.Known)...)
			out.Warnings = append(out.Warnings, extrapolated(r.Known, conditions)...)
			out.Warnings = append(out.Warnings, unknownPressure(r.Known, w)...)
			out.Warnings = append(out.Warnings, untold(r.Known)...)
		}
	}
	for i := range out.Entries {
		for j := i + 1; j < len(out.Entries); j++ {
			p := pairOf(&out.Entries[i], &out.Entries[j], out.Entries[i].Ride, out.Entries[j].Ride)
			p.Paired = rides[i].Ride.Session != "" && rides[i].Ride.Session == rides[j].Ride.Session
			out.Pairs = append(out.Pairs, p)
		}
	}
	return out
}
