package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Compare is the answer to "which goes farther?", all brought to the same
// conditions.
type Compare struct {
	AsOf       string            `json:"as_of"`
	Conditions CompareConditions `json:"conditions"`
	Entries    []Entry           `json:"entries"`
	Pairs      []Pair            `json:"pairs"`
	Warnings   []Warning         `json:"warnings"`
}

// CompareConditions are those to which all is brought. Each board rides at its
// own reference pressure unless tyre_kpa says otherwise; the route is null for
// each board's own reference.
type CompareConditions struct {
	SpeedKmh    float64  `json:"speed_kmh"`
	TempC       float64  `json:"temp_c"` // of air and pack
	RiderKg     float64  `json:"rider_kg"`
	HeadwindKmh float64  `json:"headwind_kmh"`
	TyreKpa     *float64 `json:"tyre_kpa"`
	Route       *string  `json:"route"`
	Board       *string  `json:"board"` // all on this one; null: each pack on its own
}

// Entry is one pack or one ride.
type Entry struct {
	Pack               string    `json:"pack"`
	Ride               string    `json:"ride,omitempty"`
	Name               string    `json:"name"`
	RangeKm            *Estimate `json:"range_km"`
	CapacityWh         *Estimate `json:"capacity_wh"`
	ConsumptionWhPerKm *Estimate `json:"consumption_wh_per_km"`
	km                 model.Draws
}

// Pair is the difference of two entries.
type Pair struct {
	A                   string    `json:"a"`
	B                   string    `json:"b"`
	DifferenceKm        *Estimate `json:"difference_km"` // a less b
	ProbabilityAFarther *float64  `json:"probability_a_farther"`
	Paired              bool      `json:"paired"` // two rides of one outing: the day's share cancels
	Verdict             string    `json:"verdict"`
}

// The verdicts of Pair.Verdict.
const (
	VerdictA       = "a_farther"
	VerdictB       = "b_farther"
	VerdictAlike   = "cannot_be_told_apart"
	VerdictUnknown = "unknown"
)

// Overrides are conditions of a comparison that the call gives.
type Overrides struct {
	SpeedKmh, TempC, RiderKg, HeadwindKmh, TyreKpa logbook.Num
	Route, Board                                   string
}

// Known is one pack's history with its fit.
type Known struct {
	History *logbook.History
	Fit     *model.Fit
}

// conditionsOf are the reference conditions of the first, its stops among them, or what
// the call says.
func conditionsOf(first Known, more []Known, o Overrides) (CompareConditions, model.Way) {
	ref := first.Fit.Reference()
	rider := first.Fit.ReferenceRiderKg()
	c := CompareConditions{SpeedKmh: tidy(o.SpeedKmh.Or(ref.SpeedKmh)), TempC: tidy(o.TempC.Or(ref.AirC)), RiderKg: tidy(o.RiderKg.Or(rider)), HeadwindKmh: o.HeadwindKmh.Or(0)}
	route := o.Route
	if route == "" {
		route = first.History.Pack.RefRoute
		for _, k := range more {
			if !riddenOn(k.History, route) {
				route = ""
			}
		}
	}
	if route != "" {
		c.Route = &route
	}
	if o.TyreKpa.OK {
		c.TyreKpa = &o.TyreKpa.V
	}
	if o.Board != "" {
		c.Board = &o.Board
	}
	return c, model.Way{
		Board: o.Board,
		AirC:  logbook.Some(c.TempC), PackC: logbook.Some(c.TempC), SpeedKmh: logbook.Some(c.SpeedKmh), RiderKg: logbook.Some(c.RiderKg),
		HeadwindKmh: logbook.Some(c.HeadwindKmh), TyreKpa: o.TyreKpa, Route: route,
		SpeedSdKmh: logbook.Some(ref.SpeedSdKmh * c.SpeedKmh / ref.SpeedKmh), StopsSPerKm: logbook.Some(ref.StopsSPerKm), // as unsteady, for its speed
	}
}

func riddenOn(h *logbook.History, route string) bool {
	for _, r := range h.Rides {
		if r.Route == route {
			return route != ""
		}
	}
	return false
}

// ComparePacks brings packs to the first one's reference conditions.
func ComparePacks(packs []Known, o Overrides) *Compare {
	conditions, way := conditionsOf(packs[0], packs[1:], o)
	out := &Compare{AsOf: logbook.FormatTime(packs[0].History.AsOf), Conditions: conditions, Entries: []Entry{}, Pairs: []Pair{}, Warnings: []Warning{}}
	for _, k := range packs {
		out.Entries = append(out.Entries, packEntry(k, way))
		out.Warnings = append(out.Warnings, barredOf(k)...)
		out.Warnings = append(out.Warnings, extrapolated(k, conditions)...)
		out.Warnings = append(out.Warnings, unknownPressure(k, way)...)
		out.Warnings = append(out.Warnings, unridden(k, way)...)
		out.Warnings = append(out.Warnings, untold(k)...)
	}
	for i := range out.Entries {
		for j := i + 1; j < len(out.Entries); j++ {
			out.Pairs = append(out.Pairs, pairOf(&out.Entries[i], &out.Entries[j], out.Entries[i].Pack, out.Entries[j].Pack))
		}
	}
	return out
}

func packEntry(k Known, way model.Way) Entry {
	known := k.Fit.Known()
	g := k.Fit.Go(way)
	e := Entry{Pack: k.History.Pack.ID, Name: nameOf(k.History.Pack)}
	e.CapacityWh = when(known.Capacity, g.CapacityWh)
	e.ConsumptionWhPerKm = when(known.Road, g.WhPerKm)
	if known.Capacity && known.Road {
		e.RangeKm, e.km = estimate(g.RangeKm), k.Fit.Apart(g.RangeKm)
	}
	return e
}

func nameOf(p *logbook.Pack) string {
	if p.Name != "" {
		return p.Name
	}
	return p.ID
}

// pairOf holds two entries against each other.
func pairOf(a, b *Entry, aID, bID string) Pair {
	p := Pair{A: aID, B: bID, Verdict: VerdictUnknown}
	if a.km == nil || b.km == nil {
		return p
	}
	diff := make(model.Draws, len(a.km))
	farther := 0.0
	for i := range diff {
		diff[i] = a.km[i] - b.km[i]
		if diff[i] > 0 {
			farther += 1 / float64(len(diff))
		}
	}
	p.DifferenceKm = estimate(diff)
	if p.DifferenceKm == nil {
		return p
	}
	farther = math.Round(farther*1e4) / 1e4
	p.ProbabilityAFarther = &farther
	switch {
	case p.DifferenceKm.Low != nil && *p.DifferenceKm.Low > 0:
		p.Verdict = VerdictA
	case p.DifferenceKm.High != nil && *p.DifferenceKm.High < 0:
		p.Verdict = VerdictB
	default:
		p.Verdict = VerdictAlike
	}
	return p
}

// How far beyond what was ridden a condition may lie before it is said.
const (
	beyondKmh = 1.0
	beyondC   = 3.0
)

// extrapolated says where the conditions lie beyond what the pack was ridden
// at.
func extrapolated(k Known, c CompareConditions) []Warning {
	var w []Warning
	slow, fast := math.Inf(1), math.Inf(-1)
	cold, warm := math.Inf(1), math.Inf(-1)
	for _, r := range k.History.Rides {
		if v := rideKmh(r).V; v > 0 {
			slow, fast = min(slow, v), max(fast, v)
		}
		if r.AmbientC.OK {
			cold, warm = min(cold, r.AmbientC.V), max(warm, r.AmbientC.V)
		}
	}
	id := k.History.Pack.ID
	beyond := func(code string, at, low, high float64, u units.Unit) {
		w = append(w, warning(code, say(id+" was never ridden at ", exact(at, u), ", only at ", fromTo(low, high, u), ": its figures lean on the model there")))
	}
	if fast > 0 && (c.SpeedKmh < slow-beyondKmh || c.SpeedKmh > fast+beyondKmh) {
		beyond("speed_extrapolated", c.SpeedKmh, slow, fast, units.Kmh)
	}
	if !math.IsInf(cold, 0) && (c.TempC < cold-beyondC || c.TempC > warm+beyondC) {
		beyond("temperature_extrapolated", c.TempC, cold, warm, units.Celsius)
	}
	return w
}

// unknownPressure says where a tyre pressure that was asked for tells nothing.
func unknownPressure(k Known, way model.Way) []Warning {
	if !way.TyreKpa.OK || k.Fit.TakesPressure(way) {
		return nil
	}
	return []Warning{{Code: "tyre_pressure_unknown", Text: k.History.Pack.ID + ": its board has no reference pressure (ref_tyre_kpa), so that another pressure tells nothing: it is taken as usually ridden"}}
}

// fromTo writes a span, or the one figure that it is.
func fromTo(low, high float64, u units.Unit) phrase {
	if low == high {
		return say(exact(low, u))
	}
	return say(exact(low, u), " to ", exact(high, u))
}

// untold says why a pack has no range.
func untold(k Known) []Warning {
	known := k.Fit.Known()
	h, id := k.History, k.History.Pack.ID
	rides, charges := since(h.Rides, replacedAt(h)), since(h.Charges, replacedAt(h))
	switch {
	case len(rides)+len(charges) == 0:
		return []Warning{{Code: "capacity_unknown", Text: id + ": no ride or charge is logged yet"}}
	case k.Fit.Bench() && len(rides) > 0:
		return []Warning{{Code: "no_road_rides", Text: id + ": the log holds bench discharges only: range and consumption need rides with a distance"}}
	case !known.Capacity:
		return []Warning{{Code: "capacity_unknown", Text: id + ": no ride or charge tells the capacity yet: log a full charge and a ride to the limit with its Ah, Wh or distance"}}
	case !known.Road:
		return []Warning{{Code: "range_unknown", Text: id + ": what is logged does not tell the consumption yet: log distances with Ah, Wh or a stop at the limit"}}
	}
	return nil
}
