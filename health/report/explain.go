package report

import (
	"fmt"
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Explain is the answer to "why did this ride go no farther?". Its values are
// means, so that the causes and the unexplained add up to ride_km less
// reference_km.
type Explain struct {
	Ride          string       `json:"ride"`
	Pack          string       `json:"pack"`
	At            string       `json:"at"`
	AsOf          string       `json:"as_of"`
	ReferenceKm   *Estimate    `json:"reference_km"` // a full charge as new at reference conditions
	RideKm        *Estimate    `json:"ride_km"`      // from its start charge to the limit, in its conditions
	Causes        []Cause      `json:"causes"`
	UnexplainedKm *Estimate    `json:"unexplained_km"`
	LeastKm       *float64     `json:"least_resolvable_km"` // a smaller share than this is not told from none
	Measured      bool         `json:"measured"`            // ride_km is the ride's own distance: it ended at the limit
	Assumptions   []Assumption `json:"assumptions"`
	Warnings      []Warning    `json:"warnings"`
}

// Cause is the share of one cause.
type Cause struct {
	Cause    string    `json:"cause"`
	Km       *Estimate `json:"km"`
	Resolved bool      `json:"resolved"` // false: the log cannot tell it from nothing, not even its sign

	name string // where it is not the cause's usual one
}

// Assumption is a condition that the record of the ride does not tell, or
// roughly, and how much that may hide.
type Assumption struct {
	Cause   string   `json:"cause"`
	Rough   bool     `json:"rough"`
	Assumed *float64 `json:"assumed"` // in the unit of the record's field; null where there is no single figure
	HidesKm float64  `json:"hides_km"`
}

// leastShare is the share of the reference range below which no log of this
// kind tells a cause from none.
const leastShare = .002

// Known reports whether the log tells the shares. Where it does not, all
// estimates are nil, and the warnings say what is lacking.
func (x *Explain) Known() bool { return x.ReferenceKm != nil }

// ExplainOf parts the difference between a ride and a full charge as new (see
// Known). It is an error where the ride has no range to explain: a discharge on
// the bench, or one of an earlier life of the pack.
func ExplainOf(h *logbook.History, fit *model.Fit, ride *logbook.Ride) (*Explain, error) {
	known := fit.Known()
	x, ok := fit.Explain(ride)
	switch {
	case !ok && !ride.DistanceKm.OK:
		return nil, fmt.Errorf("ride %s: a discharge on the bench went nowhere: want a ride with a distance", ride.ID)
	case !ok && !fit.Bench():
		return nil, fmt.Errorf("ride %s: it belongs to an earlier life of pack %s, before its cells were replaced: look back with --as-of", ride.ID, h.Pack.ID)
	case !ok || fit.Bench() || !known.Road || !known.Capacity:
		return unexplained(Known{h, fit}, ride), nil
	}
	out := &Explain{
		Ride: ride.ID, Pack: h.Pack.ID, At: logbook.FormatTime(ride.At), AsOf: logbook.FormatTime(h.AsOf), Measured: x.Measured,
		ReferenceKm: meanEstimate(x.ReferenceKm), RideKm: meanEstimate(x.RideKm), UnexplainedKm: meanEstimate(x.UnexplainedKm), Assumptions: []Assumption{},
	}
	least := tidy(leastShare * out.ReferenceKm.Value)
	out.LeastKm = &least
	for i, name := range model.Causes {
		c := Cause{Cause: name, Km: meanEstimate(x.Km[i])}
		c.Resolved = resolved(c.Km, least)
		if name == "tyre_pressure" {
			c.name = otherGear(h, ride)
		}
		out.Causes = append(out.Causes, c)
	}
	for _, a := range x.Assumed {
		out.Assumptions = append(out.Assumptions, Assumption{Cause: a.Cause, Rough: a.Rough, Assumed: bound(a.Value), HidesKm: tidy(a.HidesKm)})
	}
	out.Warnings = explainWarnings(h, known, x)
	return out, nil
}

// otherGear names what rolled where a ride was on another board than the reference, or
// on other tyres: that is then more than their pressure. "" where it was not.
func otherGear(h *logbook.History, ride *logbook.Ride) string {
	then, now := h.BoardAt(h.RideBoard(ride), ride.At), h.BoardAt(h.Pack.Board, h.AsOf)
	switch {
	case then.ID != now.ID:
		return "another board (" + then.ID + ") and its tyres"
	case then.Tyre != now.Tyre:
		return "other tyres and their pressure"
	}
	return ""
}

// unexplained is the answer about a ride of a log that does not tell enough.
func unexplained(k Known, ride *logbook.Ride) *Explain {
	out := &Explain{
		Ride: ride.ID, Pack: k.History.Pack.ID, At: logbook.FormatTime(ride.At), AsOf: logbook.FormatTime(k.History.AsOf),
		Assumptions: []Assumption{}, Warnings: untold(k),
	}
	for _, name := range model.Causes {
		out.Causes = append(out.Causes, Cause{Cause: name})
	}
	return out
}

// resolved reports whether a share is told from none: its interval does not
// span 0, or it is larger than its half-width, and it is not smaller than what
// any log could tell.
func resolved(e *Estimate, least float64) bool {
	if e == nil || e.Low == nil || e.High == nil || math.Abs(e.Value) < least {
		return false
	}
	spans := *e.Low <= 0 && *e.High >= 0
	return !spans || math.Abs(e.Value) >= (*e.High-*e.Low)/2
}

// Lines are the shares in the order of the contract, between what a full charge
// goes as new and what the ride went.
func (x *Explain) Lines() []Line {
	share := func(key, label string, e *Estimate, resolved bool) Line {
		l := Line{Key: key, Label: label, Estimate: e, Unit: units.Km}
		if x.Known() && !resolved {
			l.Remark = tooSmall
		}
		return l
	}
	out := []Line{{Key: "reference_km", Label: "full charge as new at reference conditions", Estimate: x.ReferenceKm, Unit: units.Km}}
	for _, c := range x.Causes {
		out = append(out, share(c.Cause, c.Name(), c.Km, c.Resolved))
	}
	return append(out,
		share("unexplained_km", "unexplained", x.UnexplainedKm, x.UnexplainedResolved()),
		Line{Key: "ride_km", Label: "this ride, to the limit", Estimate: x.RideKm, Unit: units.Km})
}

func explainWarnings(h *logbook.History, known model.Known, x *model.Explanation) []Warning {
	w := []Warning{}
	add := func(is bool, code, text string) {
		if is {
			w = append(w, Warning{Code: code, Text: text})
		}
	}
	add(x.Doubted, "distance_doubted", "the ride's distance does not fit the rest of the log and was put aside: nothing is said of what was its own; see `packwane audit "+h.Pack.ID+"`")
	add(!x.Residual && !x.Doubted, "no_distance", "the ride has no distance: what was its own is unknown, and how far it went is what the log expects")
	add(x.Residual && !x.Measured, "not_to_the_limit", "the ride did not end at the limit: how far it would have gone is worked out")
	add(known.PastUnknown, "past_unknown", "nothing says since when the pack is in use (in_service), how many cycles it had before (cycles_before) or what it gave as new (asnew_ah), which widens ageing")
	add(!known.AsNew && !known.PastUnknown, "as_new_from_rating", "the capacity as new is not measured (asnew_ah) and the log begins later: it is taken from the rating, which widens ageing")
	return w
}
