package report

import (
	"packwane/health/logbook"
	"packwane/health/units"
)

// The limits of a charge that ended early. Common practice, no source.
const (
	restedAtMostM  = 1440 // min after which standby drain has its share
	tookUpLeast    = .75  // of the Ah ridden since it was full
	tookUpFrom     = .25  // of the rated Ah, so that a short ride decides nothing
	endedWellTwice = 2
)

// chargeTooHot and chargeTooCold look at the charges since the last
// inspection.
func chargeTooHot(d *duty) []found {
	return d.badCharges(func(c *logbook.Charge) (phrase, Figure, bool) {
		air, pack := c.AmbientC, c.PackC
		switch {
		case pack.OK && pack.V > chargeHotC:
			return say("the pack was at ", exact(pack.V, units.Celsius), " while it charged"), bare("pack_c", pack.V), true
		case !pack.OK && air.OK && air.V > chargeHotC:
			return say("the air was at ", exact(air.V, units.Celsius), " while it charged; the pack was not measured"), bare("ambient_c", air.V), true
		case pack.OK && air.OK && pack.V-air.V > chargeRiseC:
			return say("the pack was at ", exact(pack.V, units.Celsius), " in air of ", exact(air.V, units.Celsius), " while it charged"), bare("pack_c", pack.V), true
		}
		return nil, Figure{}, false
	})
}

func chargeTooCold(d *duty) []found {
	return d.badCharges(func(c *logbook.Charge) (phrase, Figure, bool) {
		switch {
		case c.PackC.OK && c.PackC.V < chargeColdC:
			return say("the pack was at ", exact(c.PackC.V, units.Celsius), " while it charged"), bare("pack_c", c.PackC.V), true
		case !c.PackC.OK && c.AmbientC.OK && c.AmbientC.V < chargeColdC && d.now.Before(c.At.AddDate(0, 0, coldAirDays)):
			return say("the air was at ", exact(c.AmbientC.V, units.Celsius), " while it charged; the pack was not measured"), bare("ambient_c", c.AmbientC.V), true
		}
		return nil, Figure{}, false
	})
}

// badCharges makes one reminder of all charges since the last inspection that
// are bad.
func (d *duty) badCharges(bad func(*logbook.Charge) (phrase, Figure, bool)) []found {
	var f found
	for _, c := range d.charges {
		why, figure, is := bad(c)
		if !is || d.inspected(c.At) {
			continue
		}
		if f.anchor == "" {
			f.anchor, f.due = c.ID, c.At
		}
		f.raised, f.records, f.figures = c.At, append(f.records, c.ID), []Figure{figure}
		f.why = say(why, " on "+d.dayOf(c.At)+" ("+listed(f.records)+")")
	}
	if f.anchor == "" {
		return nil
	}
	return []found{f}
}

// chargeEndedEarly finds the latest full charge that ended too early, unless
// later ones ended well.
func chargeEndedEarly(d *duty) []found {
	if len(d.charges) == 0 {
		return nil
	}
	aside := putAside(d.fit)
	var f found
	well := 0
	var before *logbook.Charge // the last charge
	for _, c := range d.charges {
		why, figures, judged := d.judgeEnd(before, c, aside)
		switch {
		case judged && why != nil && !d.inspected(c.At):
			f = found{due: c.At, raised: c.At, records: append(f.records, c.ID), anchor: c.ID, figures: figures}
			f.why, well = say(why, " ("+listed(f.records)+"): a group that is full before the others stops a charge so"), 0
		case judged && why == nil:
			if well++; well >= endedWellTwice {
				f = found{}
			}
		}
		before = c
	}
	if f.anchor == "" {
		return nil
	}
	return []found{f}
}

// judgeEnd says why a full charge seems to have ended early, nil where it
// ended well. before is the charge before, or nil.
func (d *duty) judgeEnd(before, c *logbook.Charge, aside doubted) (why phrase, figures []Figure, judged bool) {
	if c.Full != logbook.Yes {
		return nil, nil, false
	}
	full := d.h.PackAt(c.At).CellFullV
	if v := d.cellV(c.EndRestV); v.OK && full.OK && c.EndRestMin.Or(0) <= restedAtMostM && !aside.of(c, "end_rest_v") {
		judged = true
		if v.V < full.V-d.chem.ShortOfFullV() {
			return say("the charger finished on "+d.dayOf(c.At)+" but the pack rested at ", exact(v.V, units.Volt), " a cell, well below ", exact(full.V, units.Volt)), []Figure{bare("cell_v", v.V), bare("cell_full_v", full.V)}, true
		}
	}
	if used, ok := d.riddenBetween(before, c); ok && c.ChargedAh.OK && !aside.of(c, "charged_ah") {
		judged = true
		if c.ChargedAh.V < tookUpLeast*used {
			return say("the charger finished on "+d.dayOf(c.At)+" after ", exact(c.ChargedAh.V, units.Ah), " although ", exact(used, units.Ah), " had been ridden since the pack was full"), []Figure{bare("charged_ah", c.ChargedAh.V), bare("discharged_ah", used)}, true
		}
	}
	return nil, nil, judged
}

// riddenBetween is the net charge ridden from one full charge to the next; ok
// is false where a ride does not say, or too little was ridden to tell.
func (d *duty) riddenBetween(before, c *logbook.Charge) (ah float64, ok bool) {
	if before == nil || before.Full != logbook.Yes {
		return 0, false
	}
	for _, r := range since(d.rides, before.At) {
		if !r.At.Before(startOf(c)) {
			break
		}
		if !r.DischargedAh.OK || r.Meter != c.Meter {
			return 0, false
		}
		ah += r.DischargedAh.V - r.RegenAh.Or(0)
	}
	p := d.h.Pack
	rated := p.CellCapacityAh.Or(0) * p.Parallel.Or(1)
	return ah, ah > 0 && ah >= tookUpFrom*rated
}
