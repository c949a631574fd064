package report

import (
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

func inspectionFailed(d *duty) []found {
	var failed *logbook.Service
	for _, s := range d.pack {
		switch {
		case s.What == "inspection" && s.Passed == logbook.No:
			failed = s
		case s.What == "inspection" && s.Passed == logbook.Yes, s.What == "cells_replaced":
			failed = nil
		}
	}
	if failed == nil {
		return nil
	}
	return []found{{
		due: failed.At, raised: failed.At, records: []string{failed.ID}, anchor: failed.ID,
		why: say("the inspection of " + d.dayOf(failed.At) + " (" + failed.ID + ") did not pass"),
	}}
}

func atRetireLevel(d *duty) []found {
	level := d.h.Pack.RetireSohPct.Or(logbook.DefaultRetireSohPct)
	at, e, ok := d.levelCrossed(level)
	if !ok {
		return nil
	}
	return []found{{
		due: at, why: d.healthWords(level, at, e), records: d.told(), figures: []Figure{figure("soh_pct", e), bare("retire_soh_pct", level)}, anchor: d.lifeAnchor(false),
	}}
}

// needNotMet looks for the first day of the coming year on which the middle of
// the range at that day's usual temperature is below the owner's need.
func needNotMet(d *duty) []found {
	need := d.h.Pack.NeedRangeKm
	if !need.OK || need.V == 0 || !d.rangeKnown() {
		return nil
	}
	mid := func(t time.Time) float64 { return model.Quantile(d.fit.SeasonRangeKm(t), .5) }
	below := func(t time.Time) bool { return mid(t) < need.V }
	day := func(n int) time.Time { return d.now.AddDate(0, 0, n) }
	const month = 28
	first := 0
	for first <= 13*month && !below(day(first)) {
		first += month
	}
	coldest := d.coldest()
	if first > 13*month {
		if !below(coldest) {
			return nil
		}
		first = int(coldest.Sub(d.now).Hours() / 24)
	}
	lo, hi := first-month, first // above, below
	if first == 0 {              // it has come: since when?
		for lo = -7; lo > -26*7 && below(day(lo)) && day(lo).After(d.bornAt()); lo -= 7 {
			hi = lo
		}
	}
	for hi-lo > 1 {
		if m := (lo + hi) / 2; below(day(m)) {
			hi = m
		} else {
			lo = m
		}
	}
	cold := estimate(d.fit.SeasonRangeKm(coldest))
	if cold == nil {
		return nil
	}
	air, _ := d.fit.UsualAirC(coldest)
	why := say("in the coldest month (", degrees(air), ") the range is ", about(cold, units.Km), " and the need is ", exact(need.V, units.Km))
	if s := d.snapshot(); model.Quantile(ratio(s.RangeKm, s.SohPct), .5)*100 < need.V {
		why = say(why, "; it did not reach that even as new")
	}
	return []found{{
		due: day(hi), records: d.told(), figures: []Figure{figure("season_range_km", cold), bare("need_range_km", need.V)}, why: why, anchor: d.lifeAnchor(false),
	}}
}

func ratio(a, b model.Draws) model.Draws {
	out := make(model.Draws, len(a))
	for i := range a {
		out[i] = a[i] / b[i]
	}
	return out
}

// rangeKnown reports whether the model can tell the range.
func (d *duty) rangeKnown() bool { return d.known.Capacity && d.known.Road && !d.fit.Bench() }

// coldest is the coldest time of the coming year, by the usual temperatures of
// its weeks.
func (d *duty) coldest() time.Time {
	at := d.now
	least, _ := d.fit.UsualAirC(at)
	for n := 1; n <= 52; n++ {
		t := d.now.AddDate(0, 0, 7*n)
		if c, _ := d.fit.UsualAirC(t); c < least {
			at, least = t, c
		}
	}
	return at
}

// bornAt is the earliest time that this life of the pack is known to have
// begun by.
func (d *duty) bornAt() time.Time {
	switch {
	case !d.life.IsZero():
		return d.life
	case !d.h.Pack.InService.IsZero():
		return d.h.Pack.InService
	}
	return d.firstRecord()
}
