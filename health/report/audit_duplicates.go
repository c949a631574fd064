package report

import (
	"math"
	"slices"
	"strings"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// measuredFields are those of each kind whose values hardly repeat by chance.
var measuredFields = map[logbook.Kind][]string{
	logbook.KindRide:   {"distance_km", "odometer_km", "moving_min", "start_rest_v", "end_rest_v", "min_v", "peak_a", "discharged_ah", "discharged_wh", "regen_ah", "regen_wh", "climb_m"},
	logbook.KindCharge: {"start_rest_v", "end_rest_v", "charged_ah", "charged_wh", "hold_min"},
	logbook.KindCheck:  {"resistance_mohm", "rest_v", "load_v", "load_a", "group_v"},
}

// Two records are one event where they lie this near and nothing that was
// measured differs, and where they lie this far if so many digits agree: a
// clock in another zone, or the day noted instead of the hour. Common
// practice, no source.
const (
	sameMinutes = 10
	sameClock   = 14 * time.Hour
)

// duplicates files pairs of records that seem to be one event, under the later
// of the two.
func (a *audit) duplicates() {
	pairs(a, a.h.Rides)
	pairs(a, a.h.Charges)
	pairs(a, a.h.Checks)
	for i, s := range a.h.Services {
		for _, o := range a.h.Services[:i] {
			if o.What == s.What && o.Pack == s.Pack && o.Board == s.Board && o.Passed == s.Passed && o.Until.Equal(s.Until) && o.At.Equal(s.At) {
				a.duplicate(o, s)
			}
		}
	}
}

func pairs[T logbook.Record](a *audit, list []T) {
	for i, r := range list {
		for _, o := range slices.Backward(list[:i]) {
			if logbook.AtOf(r).Sub(logbook.AtOf(o)) > sameClock {
				break
			}
			if sameEvent(o, r, a.readOnce(o, r)) && !a.othersBetween(o, r) {
				a.duplicate(o, r)
				break
			}
		}
	}
}

// othersBetween reports whether the pack was charged between two rides, or
// ridden between two charges: then they are two events.
func (a *audit) othersBetween(first, second logbook.Record) bool {
	from, to := logbook.EndOf(first), logbook.AtOf(second)
	between := func(t time.Time) bool { return t.After(from) && t.Before(to) }
	switch first.(type) {
	case *logbook.Ride:
		return slices.ContainsFunc(a.h.Charges, func(c *logbook.Charge) bool { return between(c.At) })
	case *logbook.Charge:
		return slices.ContainsFunc(a.h.Rides, func(r *logbook.Ride) bool { return between(r.At) })
	}
	return false
}

func (a *audit) duplicate(first, second logbook.Record) {
	id, other := logbook.HeadOf(second).ID, logbook.HeadOf(first).ID
	a.add(second, "", codeDuplicate, say("seems to be the same event as "+other), say("if so, packwane remove "+id))
}

// sameEvent compares two records of one kind, the first not the later; bothWays where an
// odometer that reads alike in both was read after the second and written for both.
func sameEvent(a, b logbook.Record, bothWays bool) bool {
	same, other := 0, 0
	for _, name := range measuredFields[a.Kind()] {
		f, ok := logbook.FieldNamed(a.Kind(), name)
		if !ok || !f.Present(a) || !f.Present(b) {
			continue
		}
		if f.Text(a) == f.Text(b) {
			same += digits(f.Text(a))
		} else if !nearly(f, a, b) {
			other++
		}
	}
	apart := logbook.AtOf(b).Sub(logbook.AtOf(a))
	switch {
	case other > 0:
		return false
	case apart == 0:
		return true
	case apart <= sameMinutes*time.Minute:
		return same >= 2
	case stoodStill(a, b) && !bothWays:
		return true
	}
	const certain = 8 // digits: a few figures of a way that is ridden every day do agree
	return same >= certain
}

// readOnce reports whether the odometer moved, since the reading before the first of two
// rides, by the way of both: somebody reads it in the evening and writes it for both.
func (a *audit) readOnce(first, second logbook.Record) bool {
	x, ok := first.(*logbook.Ride)
	y, both := second.(*logbook.Ride)
	if !ok || !both || !stoodStill(x, y) {
		return false
	}
	before := math.NaN()
	for _, r := range a.h.Rides {
		if r.At.Before(x.At) && r.OdometerKm.OK && a.h.RideBoard(r) == a.h.RideBoard(x) {
			before = r.OdometerKm.V
		}
	}
	return math.Abs(x.OdometerKm.V-before-x.DistanceKm.V-y.DistanceKm.V) < fitsKm
}

// stoodStill reports whether the second of two rides went as far as the first and
// left the odometer where it was: no board does.
func stoodStill(a, b logbook.Record) bool {
	x, ok := a.(*logbook.Ride)
	y, both := b.(*logbook.Ride)
	return ok && both && x.OdometerKm.OK && x.OdometerKm == y.OdometerKm && x.Board == y.Board &&
		x.DistanceKm.OK && x.DistanceKm == y.DistanceKm && x.DistanceKm.V > 1
}

// nearly reports whether two figures are one, rounded differently.
func nearly(f logbook.Field, a, b logbook.Record) bool {
	x, y := f.Number(a), f.Number(b)
	share := .02
	switch {
	case f.Name == "odometer_km":
		return x.OK && y.OK && math.Abs(x.V-y.V) <= 1
	case f.Unit == units.Volt:
		share = .003
	}
	return x.OK && y.OK && math.Abs(x.V-y.V) <= share*math.Max(x.V, y.V)
}

// digits counts the significant digits of a number as it is written.
func digits(text string) int {
	n := 0
	text = strings.TrimLeft(text, "-0.")
	for _, c := range text {
		if c >= '0' && c <= '9' {
			n++
		}
	}
	return n
}

// containsWord reports whether an id stands in a text as a word of its own.
func containsWord(text, id string) bool {
	for _, w := range strings.FieldsFunc(text, func(c rune) bool { return c == ' ' || c == ',' || c == ':' || c == ';' || c == '(' || c == ')' }) {
		if w == id {
			return true
		}
	}
	return false
}
