package report

import (
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// levelCrossed dates when the middle of the state of health comes down to a
// level, percent; ok is false where it does not, or cannot be known.
func (d *duty) levelCrossed(pct float64) (at time.Time, e *Estimate, ok bool) {
	if !d.known.Capacity {
		return at, nil, false
	}
	e = estimate(d.snapshot().SohPct)
	_, days := d.fit.EndOfLife(pct / 100)
	at, ok = dayAt(model.Quantile(days, .5))
	if e == nil {
		return at, nil, false
	}
	if e.Value <= pct {
		if !ok || at.After(d.now) {
			at = d.now
		}
		return at, e, true
	}
	if at.Before(d.now) {
		at = d.now.AddDate(0, 0, 1)
	}
	return at, e, ok
}

// healthWords says where the state of health stands against a level.
func (d *duty) healthWords(pct float64, at time.Time, e *Estimate) phrase {
	p := say("the state of health is ", about(e, units.Pct))
	if at.After(d.now) {
		p = say(p, " and is expected to come down to ", exact(pct, units.Pct), " on "+d.dayOf(at))
	} else {
		p = say(p, ": its middle is at or below ", exact(pct, units.Pct))
	}
	if !d.known.AsNew {
		p = say(p, "; the capacity as new was not measured, it is taken from the rating")
	}
	return p
}

func healthBelow80(d *duty) []found {
	at, e, ok := d.levelCrossed(inspectSohPct)
	if !ok {
		return nil
	}
	return []found{{
		due: d.goesOn(at, soonInspectedDays), why: d.healthWords(inspectSohPct, at, e), records: d.told(), figures: []Figure{figure("soh_pct", e), bare("level_pct", inspectSohPct)},
		anchor: d.lifeAnchor(d.goesOn(at, soonInspectedDays).After(at)),
	}}
}

// lifeAnchor tells a life of the pack from the next and, where a reminder
// comes again after an inspection, that from the one before.
func (d *duty) lifeAnchor(again bool) string {
	a := ""
	for _, s := range d.pack {
		if s.What == "cells_replaced" || again && s.What == "inspection" {
			a = s.ID
		}
	}
	return a
}

// resistanceAboveFade holds the growth of the resistance against what the lost
// capacity explains, draw by draw. The model doubts a rise that neither age
// nor fade explains; where the checks agree on one, they are believed.
func resistanceAboveFade(d *duty) []found {
	if !d.known.Growth || len(d.checks) == 0 {
		return nil
	}
	s := d.snapshot()
	growth := s.GrowthPct
	if rise := d.checksRise(); rise > 1 {
		growth = make(model.Draws, len(s.GrowthPct))
		for i, g := range s.GrowthPct {
			growth[i] = (100+g)*rise - 100
		}
	}
	e := estimate(growth)
	if e == nil {
		return nil
	}
	began := d.highSince()
	f := found{records: idsOf(d.checks[max(0, len(d.checks)-3):]), figures: []Figure{figure("resistance_growth_pct", e)}}
	if d.known.Capacity {
		excess := make(model.Draws, len(growth))
		for i := range excess {
			excess[i] = growth[i] - growthPerFade*max(100-s.SohPct[i], 0)
		}
		above, soh := estimate(excess), estimate(s.SohPct)
		if above == nil || soh == nil || above.Value <= growthExcessPct {
			return nil
		}
		f.why = say("the resistance has grown by ", about(e, units.Pct), ", far more than a state of health of ", about(soh, units.Pct), " explains: joints, plugs and weak cells show so")
		f.figures = append(f.figures, figure("soh_pct", soh), figure("growth_above_fade_pct", above))
	} else {
		if e.Value <= growthAlonePct {
			return nil
		}
		f.why = say("the resistance has grown by ", about(e, units.Pct), "; the log does not tell how much of that the fade explains")
	}
	f.due = d.goesOn(began, soonInspectedDays)
	f.anchor = d.lifeAnchor(f.due.After(began))
	return []found{f}
}

// checksRise is by how much, as a factor, the last checks lie above what the
// model says of now: the lower of the last two over the higher of the first
// two, against the growth that the model believes, so that temperature and
// charge level cancel. With fewer than four checks of the method the last two
// are held against the model alone; 1 where there are not two.
func (d *duty) checksRise() float64 {
	var like []*logbook.Check
	last := d.checks[len(d.checks)-1]
	for _, c := range d.checks {
		if c.Method == last.Method && model.MeasuredMohm(c) > 0 {
			like = append(like, c)
		}
	}
	// what was measured over what the pack of now would show there
	over := func(c *logbook.Check) float64 {
		return model.MeasuredMohm(c) / model.Quantile(d.fit.PredictCheck(c), .5)
	}
	n := len(like)
	if n < 2 {
		return 1
	}
	rise := min(over(like[n-1]), over(like[n-2]))
	if n < 4 {
		return rise
	}
	grown := rise / max(over(like[0]), over(like[1]))
	return grown / (1 + model.Quantile(d.snapshot().GrowthPct, .5)/100)
}

// highSince is the time of the first of the unbroken run of checks at the end
// that read about as high as the latest; there is at least one check.
func (d *duty) highSince() time.Time {
	last := d.checks[len(d.checks)-1]
	at := last.At
	for _, c := range slices.Backward(d.checks) {
		if c.Method == last.Method && model.MeasuredMohm(c) < .9*model.MeasuredMohm(last) {
			break
		}
		at = c.At
	}
	return at
}

// restVolt is one reading of the pack's volts at rest.
type restVolt struct {
	at, end time.Time // of the record
	id      string
	v       logbook.Num // of a cell, before the pack was used; the lowest group where the groups were read
}

// restVolts lists rides, charges and checks in order, with the volts at rest
// before each.
func (d *duty) restVolts() []restVolt {
	if d.atRest != nil {
		return d.atRest
	}
	out := make([]restVolt, 0, len(d.rides)+len(d.charges)+len(d.checks))
	for _, r := range d.rides {
		out = append(out, restVolt{r.At, logbook.EndOf(r), r.ID, d.cellV(r.StartRestV)})
	}
	for _, c := range d.charges {
		out = append(out, restVolt{startOf(c), c.At, c.ID, d.cellV(c.StartRestV)})
	}
	for _, c := range d.checks {
		out = append(out, restVolt{c.At, c.At, c.ID, d.checkV(c)})
	}
	slices.SortStableFunc(out, func(a, b restVolt) int { return a.at.Compare(b.at) })
	d.atRest = out
	return out
}

// startOf is when a charge began, its end where that is all that is known.
func startOf(c *logbook.Charge) time.Time {
	if c.Start.IsZero() {
		return c.At
	}
	return c.Start
}

// checkV is the lowest group of a check, else its mean cell.
func (d *duty) checkV(c *logbook.Check) logbook.Num {
	if len(c.GroupV) == 0 {
		return d.cellV(c.RestV)
	}
	low := c.GroupV[0]
	for _, v := range c.GroupV {
		low = min(low, v)
	}
	return logbook.Some(low)
}

// storedTooLow finds the latest long rest after which a cell lay lower than it
// may under load.
func storedTooLow(d *duty) []found {
	safe := d.chem.LimitV
	var out []found
	end := time.Time{}
	for _, v := range d.restVolts() {
		long := !end.IsZero() && !v.at.Before(end.AddDate(0, 0, deepRestDays)) || d.storageBetween(end, v.at)
		end = later(end, v.end)
		if !v.v.OK || v.v.V >= safe || v.v.V == 0 || !long || d.inspected(v.at) {
			continue
		}
		more := ""
		if v.v.V < copperV {
			more = "Below 2 V copper can dissolve in the cells and short them later: such a pack is rather to be recycled than charged."
		}
		out = []found{{
			due: v.at, raised: v.at, records: []string{v.id}, anchor: v.id, figures: []Figure{bare("cell_v", v.v.V), bare("safe_v", safe)}, more: more,
			why: say("after a long rest a cell was at ", exact(v.v.V, units.Volt), " on "+d.dayOf(v.at)+" ("+v.id+"), below the ", exact(safe, units.Volt), " at which riding stops"),
		}}
	}
	return out
}

// copperV is the volts of a cell below which the copper of its foil can
// dissolve: UL Research Institutes describe it for extreme overdischarge; the
// level is from memory.
const copperV = 2.0

// storageBetween reports whether the pack was put away between two times.
func (d *duty) storageBetween(from, to time.Time) bool {
	for _, s := range d.pack {
		if s.What == "storage" && !s.At.Before(from) && !s.At.After(to) && s.At.Before(to) {
			return true
		}
	}
	return false
}

func cellsWorkedOn(d *duty) []found {
	var work *logbook.Service
	for _, s := range d.pack {
		if s.What == "repair" || s.What == "cells_replaced" {
			work = s
		}
	}
	if work == nil || d.inspected(work.At) {
		return nil
	}
	what := "the pack was repaired"
	if work.What == "cells_replaced" {
		what = "cells were replaced"
	}
	return []found{{
		due: work.At, raised: work.At, records: []string{work.ID}, anchor: work.ID,
		why: say(what + " on " + d.dayOf(work.At) + " (" + work.ID + ") and it was not inspected since"),
	}}
}
