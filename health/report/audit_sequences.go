package report

import (
	"slices"

	"packwane/health/logbook"
	"packwane/health/model"
)

// What a full pack may be charged with, as a share of its capacity, though nobody rode it,
// at once and for each day; and what an empty one may be ridden. Where a sequence that
// cannot be makes up more than mostHabit of its kind the rider leaves such records out as a
// rule. Common practice, no source.
const (
	idleShare, idleShareDay = .2, .004
	emptyRide               = .15
	mostHabit               = .3
	wallShare               = .87 // of a charger's energy that reaches the pack
)

// sequences looks for what cannot have followed on each other: a full pack that takes up a
// charge though nobody rode it, an empty one that is ridden though nobody charged it.
func (a *audit) sequences() {
	if a.fit == nil || !a.fit.Known().Capacity {
		return
	}
	now := a.fit.At(a.h.AsOf)
	ah, wh, km := model.Quantile(now.CapacityAh, .5), model.Quantile(now.CapacityWh, .5), model.Quantile(now.RangeKm, .5)
	lossDay := idleShareDay
	if a.fit.Known().SelfDischarge {
		lossDay = max(lossDay, 1.5*model.Quantile(a.fit.SelfDischargePctMonth(), .5)/100/monthDays)
	}
	var events []logbook.Record
	for _, r := range a.h.Records() {
		if k := r.Kind(); (k == logbook.KindRide || k == logbook.KindCharge) && logbook.PackOf(r) == a.h.Pack.ID && !a.doubled(r) {
			events = append(events, r)
		}
	}
	var idle, empty [][2]logbook.Record
	full, flat := 0, 0
	for i := 1; i < len(events); i++ {
		switch before := events[i-1].(type) {
		case *logbook.Charge:
			if before.Full != logbook.Yes {
				continue
			}
			full++
			if c, ok := events[i].(*logbook.Charge); ok {
				days := startOf(c).Sub(before.At).Hours() / 24
				if chargedShare(c, ah, wh) > idleShare+lossDay*max(days, 0) {
					idle = append(idle, [2]logbook.Record{before, c})
				}
			}
		case *logbook.Ride:
			if before.Stop != "limit" && before.Stop != "cutoff" {
				continue
			}
			flat++
			if r, ok := events[i].(*logbook.Ride); ok && riddenShare(r, ah, wh, km) > emptyRide {
				empty = append(empty, [2]logbook.Record{before, r})
			}
		}
	}
	if float64(len(idle)) <= max(mostHabit*float64(full), 1) {
		for _, p := range idle {
			a.ridden(p[0].(*logbook.Charge), p[1].(*logbook.Charge))
		}
	}
	if float64(len(empty)) <= max(mostHabit*float64(flat), 1) && len(a.h.Charges) > 0 {
		for _, p := range empty {
			a.charged(p[0].(*logbook.Ride), p[1].(*logbook.Ride))
		}
	}
}

// doubled reports whether a record was told to be there twice.
func (a *audit) doubled(r logbook.Record) bool {
	return slices.ContainsFunc(a.out, func(f Finding) bool { return f.Code == codeDuplicate && f.at == r })
}

// chargedShare is what a charge put back of a full one; 0 where it does not say.
func chargedShare(c *logbook.Charge, ah, wh float64) float64 {
	switch {
	case c.ChargedAh.OK && ah > 0:
		return c.ChargedAh.V / ah
	case c.ChargedWh.OK && wh > 0 && c.MeterSide == "ac":
		return c.ChargedWh.V * wallShare / wh
	case c.ChargedWh.OK && wh > 0:
		return c.ChargedWh.V / wh
	}
	return 0
}

// riddenShare is what a ride took of a full charge; 0 where nothing tells.
func riddenShare(r *logbook.Ride, ah, wh, km float64) float64 {
	switch {
	case r.DischargedAh.OK && ah > 0:
		return netAh(r) / ah
	case r.DischargedWh.OK && wh > 0:
		return (r.DischargedWh.V - r.RegenWh.Or(0)) / wh
	case r.DistanceKm.OK && km > 0 && r.DescentM.V <= r.ClimbM.V: // downhill nobody knows
		return r.DistanceKm.V / km
	}
	return 0
}

// ridden files that a ride is missing between two charges.
func (a *audit) ridden(before, c *logbook.Charge) {
	field := "charged_ah"
	if !c.ChargedAh.OK {
		field = "charged_wh"
	}
	if a.toldAny(c) {
		return
	}
	f, _ := logbook.FieldNamed(logbook.KindCharge, field)
	text := say(named(field), " is ", exact(f.Number(c).V, f.Unit), " though no ride is logged since the pack was full ("+before.ID+")")
	advice := "log the ride that is missing as far as you know it"
	for _, r := range a.h.OtherRides {
		if r.At.After(before.At) && r.At.Before(startOf(c)) {
			advice += "; if it is " + r.ID + ", which is logged for " + r.Pack + ", put it on this pack: packwane amend " + r.ID + " pack=" + a.h.Pack.ID
			break
		}
	}
	a.add(c, field, codeNoRide, text, say(advice))
}

// charged files that a charge is missing between two rides.
func (a *audit) charged(before, r *logbook.Ride) {
	if a.toldAny(r) {
		return
	}
	advice := "log the charge that is missing as far as you know it"
	if len(a.h.OtherRides) > 0 {
		advice += "; if another pack was ridden, name it: packwane amend " + r.ID + " pack=NAME"
	}
	a.add(r, "at", codeNoCharge, say("at is "+a.h.Day(r.At)+": the pack was at its limit before ("+before.ID+"), and no charge is logged since"), say(advice))
}

// toldAny reports whether anything was said of a record.
func (a *audit) toldAny(r logbook.Record) bool {
	return slices.ContainsFunc(a.out, func(f Finding) bool { return f.at == r })
}
