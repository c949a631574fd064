package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Errors of a charge worked out from what was not counted, as standard
// deviations of logarithms. Common practice, no source.
const (
	fromWhErr  = .03  // of Ah from Wh
	chargeLoss = .003 // of the charge that goes in, which does not come out (as the model's prior)
	otherMeter = .03  // between two meters, as the model takes it
)

// showCharge holds what a charge put back against what was ridden since the
// pack was full.
func (l *learning) showCharge(c *logbook.Charge) {
	l.out.Hold = l.holdOf(c)
	full, taken := l.ridden(c)
	switch {
	case !c.ChargedAh.OK && !c.ChargedWh.OK:
		if full {
			l.out.notes = append(l.out.notes, say("what it put back is not recorded"))
		}
		return
	case !full:
		l.out.notes = append(l.out.notes, say("no full charge is logged before it: nothing to hold against what it put back yet"))
		return
	case taken == nil:
		l.out.notes = append(l.out.notes, say("what the rides since the last full charge took is not recorded: nothing to hold against what it put back"))
		return
	case c.Full != logbook.Yes:
		l.partCharge(c, taken)
		return
	case !c.ChargedAh.OK && c.MeterSide == "ac":
		l.wallCharge(c, taken)
		return
	}
	l.fullCharge(c, taken)
}

// ridden is the charge that rides took since the last full charge, Ah, less
// what part charges put back; full is false where there was none, and the draws
// are nil where a ride or charge does not tell.
func (l *learning) ridden(c *logbook.Charge) (full bool, ah model.Draws) {
	var from *logbook.Charge
	for _, o := range l.duty.charges {
		if o == c {
			break
		}
		if o.Full == logbook.Yes {
			from = o
		}
	}
	if from == nil {
		return false, nil
	}
	known := l.past.Known()
	for _, r := range since(l.duty.rides, from.At) {
		if !r.At.Before(startOf(c)) {
			break
		}
		d := l.rideAh(r, c, known)
		if d == nil {
			return true, nil
		}
		ah = plus(ah, d, 1)
	}
	for _, o := range since(l.duty.charges, from.At) {
		if o == from || o == c || o.At.After(startOf(c)) || ah == nil {
			continue
		}
		if !o.ChargedAh.OK {
			return true, nil
		}
		ah = plus(ah, constant(len(ah), o.ChargedAh.V), -1)
	}
	return true, ah
}

// rideAh is what one ride took, Ah as the meter of charge c counts.
func (l *learning) rideAh(r *logbook.Ride, c *logbook.Charge, known model.Known) model.Draws {
	p := l.past.Predict(r)
	n := len(p.DischargedAh)
	sd := countError
	if r.Meter != c.Meter {
		sd = math.Hypot(sd, otherMeter)
	}
	volts := l.nominalV()
	switch {
	case r.DischargedAh.OK:
		return spreadBy(constant(n, netAh(r)), sd, r.ID)
	case r.DischargedWh.OK && volts > 0:
		return spreadBy(constant(n, netWh(r)/volts), math.Hypot(sd, fromWhErr), r.ID)
	case r.Stop == "limit" && known.Capacity && startedFull(l.with)[r]:
		return p.DischargedAh
	case r.DistanceKm.OK && known.Road && !l.past.Bench() && volts > 0:
		d := model.Draws{}
		for _, wh := range p.WhPerKm {
			d = append(d, wh*r.DistanceKm.V/volts)
		}
		return spreadBy(d, math.Hypot(sd, fromWhErr), r.ID)
	}
	return nil
}

func (l *learning) nominalV() float64 {
	p := l.with.Pack
	cell := p.CellNominalV.Or(l.duty.chem.NominalV)
	return p.Series.Or(0) * cell
}

func constant(n int, v float64) model.Draws {
	d := make(model.Draws, n)
	for i := range d {
		d[i] = v
	}
	return d
}

func plus(a, b model.Draws, sign float64) model.Draws {
	if a == nil {
		a = make(model.Draws, len(b))
	}
	for i := range a {
		a[i] += sign * b[i]
	}
	return a
}

// fullCharge compares a charge that the charger finished.
func (l *learning) fullCharge(c *logbook.Charge, taken model.Draws) {
	sd := countError
	if c.ErrorPct.OK {
		sd = c.ErrorPct.V / 100
	}
	quantity, came, unit, scale := "charged_ah", c.ChargedAh.V, units.Ah, 1+chargeLoss
	if !c.ChargedAh.OK {
		quantity, came, unit, scale = "charged_wh", c.ChargedWh.V, units.Wh, l.nominalV()*1.03
		sd = math.Hypot(sd, fromWhErr)
	}
	d := model.Draws{}
	for _, ah := range taken {
		d = append(d, max(ah, 0)*scale)
	}
	s := l.shown(quantity, came, spreadBy(d, sd, c.ID), "more", "less")
	if s.Expected == nil {
		return
	}
	s.why = say(s.verdictWords(), ": it put back ", exact(came, unit), ", ", about(s.Expected, unit), " expected from what was ridden since the last full charge")
	switch s.Verdict {
	case "less":
		s.why = say(s.why, "; a charge that ends early, or a figure amiss")
	case "more":
		s.why = say(s.why, "; a ride that is not logged, or a figure amiss")
	}
	l.put(s)
}

// partCharge says how much is still to go.
func (l *learning) partCharge(c *logbook.Charge, taken model.Draws) {
	used := model.Quantile(taken, .5)
	if !c.ChargedAh.OK || used <= 0 {
		return
	}
	l.out.notes = append(l.out.notes, say("a part charge: it put back ", exact(c.ChargedAh.V, units.Ah), " of some ", exact(tidy(used), units.Ah), " ridden since the pack was full"))
}

// wallCharge says what of the energy from the wall was ridden.
func (l *learning) wallCharge(c *logbook.Charge, taken model.Draws) {
	wh := model.Quantile(taken, .5) * l.nominalV()
	if wh <= 0 || c.ChargedWh.V <= 0 {
		return
	}
	l.out.notes = append(l.out.notes, say("some ", exact(math.Round(wh), units.Wh), " were ridden for ", exact(c.ChargedWh.V, units.Wh), " from the wall (", exact(math.Round(100*wh/c.ChargedWh.V), units.Pct), "); charger and pack keep the rest as heat"))
}

// holdOf says whether balancing is due after a charge.
func (l *learning) holdOf(c *logbook.Charge) *Advice {
	a := Advice{}
	due := false
	for _, r := range l.due {
		due = due || r.Rule == ruleBalanceHold
	}
	switch {
	case l.barred():
		return nil
	case due:
		a = advice("hold_due", "a balancing hold is due: after the charger has finished keep it on for ", exact(holdMin, units.Min), ", not alone and away from what burns")
	case c.Full == logbook.Yes && c.HoldMin.OK && c.HoldMin.V >= holdMin:
		a = advice("held", "held for ", exact(c.HoldMin.V, units.Min), ": the groups could balance")
	case l.with.Pack.Series.V == 1:
		return nil
	default:
		a = advice("hold_not_due", "no balancing hold is due")
	}
	return &a
}
