package report

import (
	"math"
	"time"

	"packwane/health/units"
)

// selfDischarge asks the groups first: what one loses beyond the others at
// rest is lost in its cells, whatever the electronics draw from all of them.
func selfDischarge(d *duty) []found {
	if f := d.leakingGroup(); f != nil {
		return f
	}
	return selfDischargeHigh(d)
}

// leakingGroup holds pairs of checks that nothing was ridden or charged
// between against each other, group by group.
func (d *duty) leakingGroup() (out []found) {
	curve := d.chem.MeanCurve()
	for i, b := range d.checks {
		if i == 0 || len(b.GroupV) < 3 || d.inspected(b.At) {
			continue
		}
		a := d.checks[i-1]
		days := b.At.Sub(a.At).Hours() / 24
		if len(a.GroupV) != len(b.GroupV) || days < groupRestDays || d.usedBetween(a.At, b.At) {
			continue
		}
		var loss []float64 // percent a month
		tells := true
		for g := range b.GroupV {
			_, slope := curve.OCV(curve.Soc(b.GroupV[g]))
			tells = tells && slope > leastSlopeV
			loss = append(loss, 100*(curve.Soc(a.GroupV[g])-curve.Soc(b.GroupV[g]))*monthDays/days)
		}
		worst := 0
		for g := range loss {
			if loss[g] > loss[worst] {
				worst = g
			}
		}
		beyond := loss[worst] - middle(loss)
		if !tells || beyond <= selfDischargeLimit {
			continue
		}
		out = []found{{
			due: b.At, raised: b.At, records: []string{a.ID, b.ID}, anchor: b.ID, figures: []Figure{bare("group", float64(worst+1)), bare("self_discharge_pct_month", beyond)},
			why: say("between "+d.dayOf(a.At)+" ("+a.ID+") and "+d.dayOf(b.At)+" ("+b.ID+") series group ", exact(float64(worst+1), units.Count), " lost ", exact(math.Round(10*beyond)/10, units.Pct), " of its charge a month more than the others, at rest"),
		}}
	}
	return out
}

const monthDays = 365.25 / 12

// leastSlopeV is the slope of the open-circuit curve, V from empty to full,
// below which volts do not tell the charge: the plateau of lfp.
const leastSlopeV = .25

// usedBetween reports whether the pack was ridden, charged or balanced between
// two times.
func (d *duty) usedBetween(a, b time.Time) bool {
	if rides := since(d.rides, a); len(rides) > 0 && rides[0].At.Before(b) {
		return true
	}
	for _, c := range since(d.charges, a) {
		if startOf(c).Before(b) {
			return true
		}
	}
	return balancedBetween(d.h, a, b)
}

// selfDischargeHigh reads the cells' self-discharge off the model.
func selfDischargeHigh(d *duty) []found {
	if !d.known.CellLoss {
		return nil
	}
	e := estimate(d.fit.CellLossPctMonth())
	if e == nil || e.Value <= selfDischargeLimit {
		return nil
	}
	began, records := d.longRests()
	due := d.goesOn(began, soonInspectedDays)
	return []found{{
		due: due, records: records, figures: []Figure{figure("cell_loss_pct_month", e)}, anchor: d.lifeAnchor(due.After(began)),
		why: say("the cells lose ", about(e, units.Pct), " of their charge a month of themselves, above ", exact(selfDischargeLimit, units.Pct)),
	}}
}

// longRests lists the records that bound the latest long rests, and says when
// the last of them ended: at the latest record where there was none.
func (d *duty) longRests() (ended time.Time, records []string) {
	ended = d.lastRecord()
	last, before := time.Time{}, ""
	for _, v := range d.restVolts() {
		if before != "" && v.at.Sub(last).Hours() >= 24*deepRestDays/2 {
			records = append(records, before, v.id)
			ended = v.at
		}
		last, before = v.end, v.id
	}
	return ended, records[max(0, len(records)-4):]
}
