package report

import (
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// balanceHold asks for an hour on the charger after many part charges, or
// where the groups drift apart.
func balanceHold(d *duty) []found {
	if _, away := d.stored(); away || d.h.Pack.Series.V == 1 {
		return nil
	}
	held := d.lastHold(d.now)
	var parts []*logbook.Charge
	for _, c := range d.charges {
		if c.Full == logbook.No && c.At.After(held) {
			parts = append(parts, c)
		}
	}
	if len(parts) >= partCharges {
		due := parts[partCharges-1].At
		return []found{{
			due: due, raised: due, records: idsOf(parts[len(parts)-partCharges:]), anchor: parts[0].ID, figures: []Figure{bare("part_charges", float64(len(parts)))},
			why: say(units.Format(float64(len(parts)), units.Count, units.Metric) + " part charges " + d.sinceHold(held)),
		}}
	}
	last, used, ok := d.grown()
	if !ok || last.mv < spreadBalanceMv*last.scale || !held.Before(last.at) {
		return nil
	}
	return []found{{
		due: last.at, raised: last.at, records: []string{d.spreads[0].id, last.id}, anchor: d.firstAbove(spreadBalanceMv), figures: []Figure{bare("cell_spread_mv", last.mv), bare("earlier_spread_mv", used)},
		why: say("the series groups used to lie ", exact(used, units.Millivolt), " apart at rest and now ", exact(last.mv, units.Millivolt), " ("+last.id+")"),
	}}
}

func (d *duty) sinceHold(held time.Time) string {
	if held.IsZero() {
		return "and no charge that was held for balancing is logged"
	}
	return "since the last charge that was held for balancing (" + d.dayOf(held) + ")"
}

// theBoard is the board whose service is listed under this pack: its usual
// one, else the one that it was last ridden on; nil where there is none.
func (d *duty) theBoard() *logbook.Board {
	id := d.h.Pack.Board
	if id == "" && len(d.h.Rides) > 0 {
		id = d.h.RideBoard(d.h.Rides[len(d.h.Rides)-1])
	}
	return d.h.Boards[id]
}

// serviced returns the latest service of the board; nil where there is none.
func (d *duty) serviced(board string) (last *logbook.Service) {
	for _, s := range d.h.Services {
		if s.Board == board && (s.What == "inspection" || s.What == "repair") && s.Passed != logbook.No {
			last = s
		}
	}
	return last
}

func boardServiceDays(d *duty) []found {
	b := d.theBoard()
	if b == nil || !b.ServiceEveryDays.OK {
		return nil
	}
	days := int(b.ServiceEveryDays.V)
	f := found{board: b.ID, anchor: "first", figures: []Figure{bare("service_every_days", b.ServiceEveryDays.V)}}
	if last := d.serviced(b.ID); last != nil {
		f.due, f.anchor, f.records = last.At.AddDate(0, 0, days), last.ID, []string{last.ID}
		f.why = say("the board " + b.ID + " was last serviced on " + d.dayOf(last.At) + " (" + last.ID + ") and is to be serviced every " + units.Format(b.ServiceEveryDays.V, units.Days, units.Metric))
		return []found{f}
	}
	first := d.firstOn(b.ID)
	if first.IsZero() {
		return nil
	}
	f.due = first.AddDate(0, 0, days)
	f.why = say("the log has the board " + b.ID + " ridden from " + d.dayOf(first) + " on and never serviced; it is to be serviced every " + units.Format(b.ServiceEveryDays.V, units.Days, units.Metric))
	return []found{f}
}

// firstOn is the time of the first ride on a board, with any pack.
func (d *duty) firstOn(board string) time.Time {
	if legs := d.legs(board); len(legs) > 0 {
		return legs[0].ride.At
	}
	return time.Time{}
}

// The rate of riding is taken over so many days, at least so many.
const (
	rateDays      = 120.
	rateLeastDays = 14.
)

// boardServiceKm holds the kilometres since the last service against the
// owner's interval.
func boardServiceKm(d *duty) []found {
	b := d.theBoard()
	if b == nil || !b.ServiceEveryKm.OK {
		return nil
	}
	legs := d.legs(b.ID)
	if len(legs) == 0 {
		return nil
	}
	every := b.ServiceEveryKm.V
	f := found{board: b.ID, anchor: "first"}
	from, since := 0.0, ""
	if last := d.serviced(b.ID); last != nil {
		from, f.anchor, f.records = kmBy(legs, last.At), last.ID, []string{last.ID}
		since = "since its service of " + d.dayOf(last.At) + " (" + last.ID + ")"
	} else if from = legs[0].odoBefore(); from <= every {
		from, since = 0, "without a logged service" // within its first interval
	} else {
		since = "since the log begins, without a logged service"
	}
	gone := legs[len(legs)-1].km - from
	f.figures = []Figure{bare("km_since_service", gone), bare("service_every_km", every)}
	f.records = append(f.records, legs[len(legs)-1].ride.ID)
	f.why = say("the board "+b.ID+" has gone ", exact(gone, units.Km), " "+since+"; it is to be serviced every ", exact(every, units.Km))
	if gone >= every {
		for _, l := range legs { // the ride that went past it
			if l.km-from >= every {
				f.due, f.raised = logbook.EndOf(l.ride), logbook.EndOf(l.ride)
				return []found{f}
			}
		}
	}
	rate := d.kmPerDay(legs)
	if rate <= 0 || (every-gone)/rate > 3650 {
		return nil
	}
	f.due = d.now.AddDate(0, 0, max(1, int((every-gone)/rate)))
	return []found{f}
}

// kmPerDay is how far the board goes in a day lately.
func (d *duty) kmPerDay(legs []leg) float64 {
	days := min(rateDays, max(rateLeastDays, d.now.Sub(legs[0].ride.At).Hours()/24))
	from := d.now.Add(-time.Duration(days * 24 * float64(time.Hour)))
	start := legs[0].odoBefore()
	if !legs[0].ride.At.After(from) {
		start = kmBy(legs, from)
	}
	return (legs[len(legs)-1].km - start) / days
}
