package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"packwane/health/logbook"
)

// How near the odometer of a ride must go with the readings around it, and the
// charge of the rides between two full charges with what the second put back, for
// a place to fit; a place that is off by wrongShare does not. Common practice, no
// source.
const (
	fitsKm     = 1
	fitsShare  = .12
	wrongShare = .24
)

// yearApart is a ride that would go with the records around it a year apart.
type yearApart struct {
	ride, moved *logbook.Ride
	charge      *logbook.Charge // before which it is missed; nil where the odometer tells
}

// dates looks for rides whose year is wrong. Such a ride is missed in its true
// place and one too many where it stands; the findings that this explains are
// replaced by one that names the date.
func (a *audit) dates() {
	turns := a.turns()
	var all []yearApart
	missed := map[*logbook.Charge][]string{} // what each charge may miss
	for _, r := range a.h.Rides {
		for _, years := range []int{-1, 1} {
			moved := *r
			moved.At, moved.End = r.At.AddDate(years, 0, 0), logbook.EndOf(r).AddDate(years, 0, 0)
			if moved.End.After(a.h.AsOf) {
				continue
			}
			if a.told(r, "odometer_km") && a.fitsOdometer(&moved) {
				all = append(all, yearApart{r, &moved, nil})
			} else if c := missedThere(turns, r, &moved); c != nil {
				all = append(all, yearApart{r, &moved, c})
				missed[c] = append(missed[c], r.ID)
			}
		}
	}
	for _, y := range all {
		others := slices.DeleteFunc(slices.Clone(missed[y.charge]), func(id string) bool { return y.charge == nil || id == y.ride.ID })
		a.misdated(y, others)
	}
}

// missedThere is the charge before which a ride, as it was moved, is missed, where
// it is one too many as it stands; nil where that is not so.
func missedThere(turns []turn, r, moved *logbook.Ride) *logbook.Charge {
	here, there := turnAt(turns, r.At), turnAt(turns, moved.At)
	if here == nil || there == nil || !r.DischargedAh.OK || !(netAh(r) > 0) {
		return nil
	}
	ah := netAh(r)
	if here.off(0) > wrongShare && there.off(0) > wrongShare && here.off(-ah) < fitsShare && there.off(ah) < fitsShare {
		return there.charge
	}
	return nil
}

// turn is the time from one full charge to the next, with the charge that rides
// took, net of what part charges put back, and what the full one put back, Ah.
type turn struct {
	from, to   time.Time // the end of the one, the start of the other
	charge     *logbook.Charge
	taken, put float64
}

// off is how far both are apart, as a share of the larger, with so much more
// taken.
func (t *turn) off(more float64) float64 {
	taken := t.taken + more
	if most := max(taken, t.put); most > 0 {
		return math.Abs(taken-t.put) / most
	}
	return 1
}

// turns lists the turns in which everything was counted.
func (a *audit) turns() []turn {
	var out []turn
	var from *logbook.Charge
	parts, counted := 0., true
	for _, c := range a.h.Charges {
		counted = counted && c.ChargedAh.OK
		if c.Full != logbook.Yes {
			parts += c.ChargedAh.V
			continue
		}
		if from != nil && counted {
			t := turn{from: from.At, to: startOf(c), charge: c, taken: -parts, put: c.ChargedAh.V}
			if t.count(a.h.Rides) {
				out = append(out, t)
			}
		}
		from, parts, counted = c, 0, true
	}
	return out
}

// count adds what the rides of the turn took; false where one does not say.
func (t *turn) count(rides []*logbook.Ride) bool {
	for _, r := range since(rides, t.from) {
		if !r.At.Before(t.to) {
			break
		}
		if !r.DischargedAh.OK {
			return false
		}
		t.taken += netAh(r)
	}
	return true
}

// turnAt is the turn that a time lies in; nil where there is none.
func turnAt(turns []turn, t time.Time) *turn {
	i, _ := slices.BinarySearchFunc(turns, t, func(x turn, t time.Time) int { return x.to.Compare(t) })
	if i < len(turns) && t.After(turns[i].from) && t.Before(turns[i].to) {
		return &turns[i]
	}
	return nil
}

// fitsOdometer reports whether the odometer of a ride, as it stands now, goes
// between those of a ride before it and one after it.
func (a *audit) fitsOdometer(r *logbook.Ride) bool {
	before := math.NaN() // no ride
	for _, l := range a.legs[a.h.RideBoard(r)] {
		switch {
		case l.ride.ID == r.ID: // where it stands in the log
		case !l.ride.At.Before(r.End):
			odo := leg{r, r.OdometerKm.V}
			return odo.odoBefore() >= before-fitsKm && r.OdometerKm.V <= l.odoBefore()+fitsKm
		default:
			before = l.km
		}
	}
	return false
}

// misdated files a ride whose year is wrong, in place of what was found around it
// where it stands and where it fits: once the date is right, that is to be looked
// at anew. Others would fill the same gap.
func (a *audit) misdated(y yearApart, others []string) {
	r, moved := y.ride, y.moved
	hereFrom, hereTo := a.chargesAround(r.At)
	thereFrom, thereTo := a.chargesAround(moved.At)
	a.drop(func(f Finding) bool {
		at := logbook.AtOf(f.at)
		around := !at.Before(hereFrom) && !at.After(hereTo) || !at.Before(thereFrom) && !at.After(thereTo)
		return around && f.Code != codeDuplicate && f.Code != codeMisdated
	})
	text := fmt.Sprintf("at is %s, where the ride does not go with the records around it; on %s it does: the year may be wrong", a.h.Day(r.At), a.h.Day(moved.At))
	if len(others) > 0 {
		text += ", or that of " + listed(others)
	}
	call := fmt.Sprintf("packwane amend %s at=%s", r.ID, logbook.FormatTime(moved.At))
	if !r.End.IsZero() {
		call += " end=" + logbook.FormatTime(moved.End)
	}
	a.add(r, "at", codeMisdated, say(text), say("if so, "+call))
}

// chargesAround are the ends of the last charge before a time and of the first one
// after it; the time itself where there is none.
func (a *audit) chargesAround(t time.Time) (from, to time.Time) {
	from, to = t, t
	for _, c := range a.h.Charges {
		if startOf(c).After(t) {
			return from, c.At
		}
		from = c.At
	}
	return from, to
}

// drop takes findings back that another explains.
func (a *audit) drop(explained func(Finding) bool) {
	a.out = slices.DeleteFunc(a.out, explained)
	clear(a.seen)
	for i, f := range a.out {
		a.seen[keyOf(f.at, f.Field)] = i
	}
}
