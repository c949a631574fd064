package report

import (
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// eventRule finds what happened to the pack, or to the board while the pack
// was in it, and was not inspected since.
func eventRule(what, words string) func(*duty) []found {
	return func(d *duty) []found {
		var open []*logbook.Service
		for _, s := range d.h.Services {
			if s.What == what && d.concerns(s) && !d.passed(s.At, s.Board) {
				open = append(open, s)
			}
		}
		if len(open) == 0 {
			return nil
		}
		last := open[len(open)-1]
		return []found{{
			due: open[0].At, raised: last.At, anchor: open[0].ID, records: idsOf(open),
			why: say(words+" on "+d.dayOf(open[0].At)+" ("+listed(idsOf(open))+") and no inspection has passed since", of(last)),
		}}
	}
}

// lostAtOnce finds where the capacity fell at once.
func lostAtOnce(d *duty) []found {
	if d.fit == nil {
		return nil
	}
	step, is := d.fit.Step()
	if !is || d.passed(step.Ride.At, "") {
		return nil
	}
	left := estimate(step.LeftPct)
	if left == nil || left.Value > mostLeftPct {
		return nil
	}
	return []found{{
		due: step.Ride.At, raised: step.Ride.At, anchor: step.Ride.ID, records: []string{step.Ride.ID}, figures: []Figure{figure("capacity_left_pct", left)},
		why: say("from about "+d.dayOf(step.Ride.At)+" on ("+step.Ride.ID+") the pack holds at once only ", about(left, units.Pct), " of what it did; cells may have come off, or one group fail"),
	}}
}

// mostLeftPct is what may be left of the capacity where a loss is told of.
const mostLeftPct = 90

// of names the board of an event that was not logged of the pack.
func of(s *logbook.Service) string {
	if s.Board == "" {
		return ""
	}
	return "; it was logged of the board " + s.Board + ", which this pack was in"
}

// dayOf writes the calendar day of an instant.
func (d *duty) dayOf(t time.Time) string { return d.h.Day(t) }

// inBoardDays is how long before an event on a board a ride tells which pack
// was in it. Common practice, no source.
const inBoardDays = 2

// concerns reports whether an event befell the pack: its own, or that of the
// board that it was in. Where no ride shortly before the event tells which
// pack that was, it is every pack that the board is the usual one of.
func (d *duty) concerns(s *logbook.Service) bool {
	if s.Board == "" {
		return s.Pack == d.h.Pack.ID
	}
	var mine, others time.Time
	for _, r := range d.h.Rides {
		if d.h.RideBoard(r) == s.Board && !r.At.After(s.At) {
			mine = r.At
		}
	}
	for _, r := range d.h.OtherRides {
		if (r.Board == "" || r.Board == s.Board) && !r.At.After(s.At) {
			others = r.At
		}
	}
	if last := later(mine, others); last.Before(s.At.AddDate(0, 0, -inBoardDays)) {
		return d.h.Pack.Board == s.Board
	}
	return !mine.Before(others)
}

// openings lists the rides of each life of the pack that ended because
// protection opened, without those that an inspection answered.
func (d *duty) openings() [][]*logbook.Ride {
	var lives [][]*logbook.Ride
	var now []*logbook.Ride
	next := 0
	replaced := []time.Time{}
	for _, s := range d.pack {
		if s.What == "cells_replaced" {
			replaced = append(replaced, s.At)
		}
	}
	for _, r := range d.h.Rides {
		for next < len(replaced) && !r.At.Before(replaced[next]) {
			lives, now, next = append(lives, now), nil, next+1
		}
		if r.Stop == "cutoff" && !d.passed(logbook.EndOf(r), "") {
			now = append(now, r)
		}
	}
	lives = append(lives, now)
	if next < len(replaced) {
		lives = append(lives, nil) // a life without a ride yet
	}
	return lives
}

func openedAgain(d *duty) []found {
	for _, rides := range d.openings() {
		if len(rides) < 2 {
			continue
		}
		ids := idsOf(rides)
		return []found{{
			due: logbook.EndOf(rides[1]), raised: logbook.EndOf(rides[len(rides)-1]), records: ids, anchor: rides[0].ID,
			why: say("the pack's protection opened " + timesWord(len(rides)) + " (" + listed(ids) + ") and no inspection has passed since"),
		}}
	}
	return nil
}

func timesWord(n int) string {
	if n == 2 {
		return "twice"
	}
	return units.Format(float64(n), units.Count, units.Metric) + " times"
}

func openedMidCharge(d *duty) []found {
	for _, rides := range d.openings() {
		for _, r := range rides {
			share, ok := d.leastCharge(r)
			if !ok || share < midCharge {
				continue
			}
			return []found{{
				due: logbook.EndOf(r), raised: logbook.EndOf(r), records: []string{r.ID}, anchor: r.ID, figures: []Figure{bare("least_charge_pct", 100*share)},
				why: say("the pack's protection opened on "+d.dayOf(r.At)+" ("+r.ID+") though at least ", exact(100*share, units.Pct), " of its charge was left, and no inspection has passed since"),
			}}
		}
	}
	return nil
}

func openedLow(d *duty) []found {
	lives := d.openings()
	rides := lives[len(lives)-1]
	if len(rides) != 1 || d.inspected(logbook.EndOf(rides[0])) {
		return nil
	}
	r := rides[0]
	how := ", at a charge that the log does not tell"
	if share, ok := d.leastCharge(r); ok {
		if share >= midCharge {
			return nil
		}
		how = ", at low charge"
	}
	return []found{{
		due: logbook.EndOf(r), raised: logbook.EndOf(r), records: []string{r.ID}, anchor: r.ID,
		why: say("the pack's protection opened on " + d.dayOf(r.At) + " (" + r.ID + ")" + how),
	}}
}

// voltSlack is how far the volts of a cell at rest may be from the mean curve
// of its chemistry, the voltmeter's error included: from the spread of the
// measured cells that the curve is the mean of, with half a percent of the
// volts for the meter (common practice, no source).
var voltSlack = map[string]float64{"lmo": .08, "lco": .06, "lfp": .031}

// leastCharge is the least charge (a share) that can have been left in the
// pack when a ride ended, with room for the errors of curve and meters; ok is
// false where the log does not tell. Volts read soon after a ride lie lower
// than they settle, which is on the safe side here.
func (d *duty) leastCharge(r *logbook.Ride) (share float64, ok bool) {
	if v := d.cellV(r.EndRestV); v.OK {
		slack, ok := voltSlack[d.h.Pack.Chemistry]
		if !ok {
			slack = .06
		}
		return min(max(d.chem.MeanCurve().Soc(v.V-slack), 0), 1), true
	}
	used, ok := d.usedSinceFull(r)
	if !ok {
		return 0, false
	}
	capacity, slack := 0., .1
	switch p := d.h.Pack; {
	case d.known.Capacity:
		capacity = model.Quantile(d.snapshot().CapacityAh, .05)
	case p.CellCapacityAh.OK && p.Parallel.OK:
		capacity, slack = p.CellCapacityAh.V*p.Parallel.V, .35
	default:
		return 0, false
	}
	return min(max(1-used/capacity-slack, 0), 1), true
}

// usedSinceFull is the net charge taken out from the last full charge to the
// end of the ride, Ah; ok is false where a record on the way does not say.
func (d *duty) usedSinceFull(r *logbook.Ride) (ah float64, ok bool) {
	var from time.Time
	for _, c := range d.h.Charges {
		if c.Full == logbook.Yes && !c.At.After(r.At) {
			from = c.At
		}
	}
	if from.IsZero() {
		return 0, false
	}
	for _, c := range since(d.h.Charges, from) {
		if c.At.After(from) && !c.At.After(r.At) {
			return 0, false // a part charge, whose losses are not known
		}
	}
	for _, o := range since(d.h.Rides, from) {
		if o.At.After(r.At) {
			break
		}
		if !o.DischargedAh.OK {
			return 0, false
		}
		ah += o.DischargedAh.V - o.RegenAh.Or(0)
	}
	return ah, true
}
