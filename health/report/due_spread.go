package report

import (
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// spread is one reading of how far the series groups lie apart at rest.
type spread struct {
	at     time.Time
	id     string
	mv     float64
	scale  float64 // by which the levels are raised: near the steep ends of the curve small differences of charge show large
	lowest int     // index of the lowest group; -1 where the groups were not read
	lagMv  float64 // of the lowest group behind the middle of the others
}

// steepScale raises the levels near empty, and for lfp near both ends. Common
// practice, no source.
const steepScale = 2.0

// spreadReadings lists the readings of this life that tell something, in
// order. Between its ends the curve of lfp is so flat that the groups read
// alike whatever they hold: such readings are left out.
func (d *duty) spreadReadings() []spread {
	var out []spread
	for _, c := range d.charges {
		scale := d.spreadScale(soc(c.Full == logbook.Yes), logbook.Num{})
		if c.CellSpreadMv.OK && scale > 0 {
			out = append(out, spread{c.At, c.ID, c.CellSpreadMv.V, scale, -1, 0})
		}
	}
	for _, c := range d.checks {
		mean := d.cellV(c.RestV)
		if len(c.GroupV) > 0 {
			sum := 0.0
			for _, v := range c.GroupV {
				sum += v / float64(len(c.GroupV))
			}
			mean = logbook.Some(sum)
		}
		scale := d.spreadScale(c.SocPct, mean)
		if scale == 0 {
			continue
		}
		switch {
		case len(c.GroupV) > 1:
			s := groupSpread(c.GroupV)
			s.at, s.id, s.scale = c.At, c.ID, scale
			out = append(out, s)
		case c.CellSpreadMv.OK:
			out = append(out, spread{c.At, c.ID, c.CellSpreadMv.V, scale, -1, 0})
		}
	}
	slices.SortStableFunc(out, func(a, b spread) int { return a.at.Compare(b.at) })
	return out
}

func soc(full bool) logbook.Num { return logbook.Num{V: 100, OK: full} }

// spreadScale returns the factor on the levels at a charge level; 0 where a
// reading there tells nothing.
func (d *duty) spreadScale(socPct, cellV logbook.Num) float64 {
	if !socPct.OK && cellV.OK {
		socPct = logbook.Some(100 * d.chem.MeanCurve().Soc(cellV.V))
	}
	if d.chem.Name == "lfp" {
		if socPct.OK && (socPct.V <= 10 || socPct.V >= 95) {
			return steepScale
		}
		return 0
	}
	if socPct.OK && socPct.V < 10 {
		return steepScale
	}
	return 1
}

func groupSpread(v []float64) spread {
	s := spread{lowest: 0}
	high := v[0]
	for i, x := range v {
		if x < v[s.lowest] {
			s.lowest = i
		}
		high = max(high, x)
	}
	s.mv = 1000 * (high - v[s.lowest])
	others := slices.Delete(slices.Clone(v), s.lowest, s.lowest+1)
	slices.Sort(others)
	n := len(others)
	s.lagMv = 1000 * ((others[(n-1)/2]+others[n/2])/2 - v[s.lowest])
	return s
}

// standing is the latest reading, unless an inspection answered for it: one at
// or after it, or one in the year before that saw nearly as much.
func (d *duty) standing() (last spread, ok bool) {
	n := len(d.spreads)
	if n == 0 {
		return last, false
	}
	last = d.spreads[n-1]
	at := d.lastInspection()
	if at.IsZero() || at.AddDate(0, 0, answerDays).Before(last.at) {
		return last, true
	}
	if !at.Before(last.at) {
		return last, false
	}
	for _, s := range slices.Backward(d.spreads) {
		if !s.at.After(at) {
			return last, last.mv/last.scale > 1.3*s.mv/s.scale
		}
	}
	return last, true
}

func groupWeak(d *duty) []found {
	last, ok := d.standing()
	if !ok {
		return nil
	}
	f := found{due: last.at, raised: last.at, records: []string{last.id}, figures: []Figure{bare("cell_spread_mv", last.mv)}}
	f.why = say("the series groups lay ", exact(last.mv, units.Millivolt), " apart at rest on "+d.dayOf(last.at)+" ("+last.id+")")
	switch {
	case last.mv >= spreadInspectMv*last.scale:
	case last.mv >= spreadStubbornMv*last.scale && d.heldBefore(last.at):
		f.why = say(f.why, " although the charge before was held for balancing")
	case d.lagging(&f):
	default:
		return nil
	}
	f.anchor = d.firstAbove(spreadStubbornMv)
	return []found{f}
}

// lagging looks for one group that was the lowest in check after check.
func (d *duty) lagging(f *found) bool {
	var seen []spread
	for _, s := range slices.Backward(d.spreads) {
		if s.lowest < 0 {
			continue
		}
		if len(seen) > 0 && s.lowest != seen[0].lowest {
			break
		}
		if seen = append(seen, s); len(seen) == groupLagChecks {
			break
		}
	}
	if len(seen) < groupLagChecks || seen[0].lagMv < groupLagMv*seen[0].scale {
		return false
	}
	slices.Reverse(seen)
	f.records = nil
	for _, s := range seen {
		f.records = append(f.records, s.id)
	}
	last := seen[len(seen)-1]
	f.figures = append(f.figures, bare("group", float64(last.lowest+1)), bare("group_lag_mv", last.lagMv))
	f.why = say("series group ", exact(float64(last.lowest+1), units.Count), " was the lowest in the last checks ("+listed(f.records)+") and lies ", exact(last.lagMv, units.Millivolt), " behind the others at rest")
	return true
}

// heldBefore reports whether the pack was held on the charger, or balanced,
// in the month before t and after the reading before.
func (d *duty) heldBefore(t time.Time) bool {
	hold := d.lastHold(t)
	return !hold.IsZero() && !hold.Before(t.AddDate(0, -1, 0))
}

// lastHold is when the pack was last balanced by t; zero where the log does
// not tell.
func (d *duty) lastHold(t time.Time) (at time.Time) {
	for _, c := range d.charges {
		if c.Full == logbook.Yes && c.HoldMin.OK && c.HoldMin.V >= holdMin && !c.At.After(t) {
			at = c.At
		}
	}
	for _, s := range d.pack {
		if s.What == "balance" && !s.At.Before(d.life) && !s.At.After(t) {
			at = later(at, s.At)
		}
	}
	return at
}

// firstAbove is the id of the first of the unbroken run of readings at the
// end that lie above a level.
func (d *duty) firstAbove(mv float64) (id string) {
	for _, s := range slices.Backward(d.spreads) {
		if s.mv < mv*s.scale && id != "" {
			break
		}
		id = s.id
	}
	return id
}

// grown compares the latest reading with what used to be.
func (d *duty) grown() (last spread, usedMv float64, ok bool) {
	n := len(d.spreads)
	if n < 2 {
		return last, 0, false
	}
	last = d.spreads[n-1]
	var before, latest []float64
	for i, s := range d.spreads {
		if i < max(n/2, n-3) {
			before = append(before, s.mv/s.scale)
		} else {
			latest = append(latest, s.mv/s.scale)
		}
	}
	if n < 4 { // one reading against one or two
		latest = latest[len(latest)-1:]
		before = before[:0]
		for _, s := range d.spreads[:n-1] {
			before = append(before, s.mv/s.scale)
		}
	}
	used, now := middle(before), middle(latest)
	return last, used * last.scale, now >= 1.5*used && now-used >= spreadBalanceMv*.7
}

func spreadGrows(d *duty) []found {
	last, used, ok := d.grown()
	if _, stands := d.standing(); !ok || !stands || last.mv < spreadStubbornMv*last.scale || groupWeak(d) != nil {
		return nil
	}
	return []found{{
		due: last.at, raised: last.at, records: []string{d.spreads[0].id, last.id}, anchor: d.firstAbove(spreadStubbornMv), figures: []Figure{bare("cell_spread_mv", last.mv), bare("earlier_spread_mv", used)},
		why: say("the series groups used to lie ", exact(used, units.Millivolt), " apart at rest and now ", exact(last.mv, units.Millivolt), " ("+last.id+")"),
	}}
}
