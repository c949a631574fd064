package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

// reaching is what a rider says of where they stand.
type reaching struct {
	restV, rested, usedAh, usedWh, out, climb, temp, wind, speed, tyre, rider, risk *quantity
	tape                                                                            bool
}

func newReach(a *app) *cobra.Command {
	var ask reaching
	c := &cobra.Command{
		Use: "reach [PACK]", Short: "Show how far from here, and where to turn back", GroupID: groupAnswers,
		Long: `Shows what is left above the low-voltage limit from a voltage at rest, from what
was used since full, or from both, and, for a ride out and back, how much
farther out one may go so that home is reached above the limit with 95 %
certainty (--risk 5). Say how long the pack has rested: a minute after load it
still reads low. With --out-km and what was used, today's consumption is learned
from the way out. The wind is against on the way out and along on the way back.

What is not given is as at reference conditions; the temperature is the
season's. Energy below the limit is never counted.

With --tape it prints a table of volts against kilometres for the board.`,
		Example: `  packwane reach kite-a --rest-v 38.4 --rested-min 1 --temp-c 8
  packwane reach kite-a --used-wh 190 --out-km 13.5 --headwind-kmh 10
  packwane reach kite-a --tape --temp-c 5`,
		Args:              between(0, 1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.reach(args, &ask) },
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
	ask.restV = quantityFlag(c, "rest-v", units.Volt, .5, 1000, "volts of the pack at rest, now")
	ask.rested = quantityFlag(c, "rested-min", units.Min, 0, 100000, "minutes since the load (else long)")
	ask.usedAh = quantityFlag(c, "used-ah", units.Ah, 0, 10000, "used since full, what came back taken off")
	ask.usedWh = quantityFlag(c, "used-wh", units.Wh, 0, 100000, "used since full, what came back taken off")
	ask.out = quantityFlag(c, "out-km", units.Km, 0, 1000, "ridden from home, the way back as long")
	ask.climb = quantityFlag(c, "climb-m", units.Metre, 0, 5000, "still to climb; none of it is counted to come back")
	ask.temp = quantityFlag(c, "temp-c", units.Celsius, -30, 50, "air (else the season's)")
	ask.wind = quantityFlag(c, "headwind-kmh", units.Kmh, -80, 80, "wind along the way out, + against")
	ask.speed = quantityFlag(c, "speed-kmh", units.Kmh, 3, 100, "moving speed")
	ask.tyre = quantityFlag(c, "tyre-kpa", units.Kpa, 50, 1200, "tyre pressure")
	ask.rider = quantityFlag(c, "rider-kg", units.Kg, 15, 250, "rider with gear")
	ask.risk = quantityFlag(c, "risk", units.Pct, .1, 50, "how often home may not be reached, percent (5)")
	c.Flags().BoolVar(&ask.tape, "tape", false, "print volts against kilometres, for the board")
	return c
}

func (ask *reaching) standing() model.Standing {
	return model.Standing{
		RestV: ask.restV.num, RestedMin: ask.rested.num, UsedAh: ask.usedAh.num, UsedWh: ask.usedWh.num, OutKm: ask.out.num, ClimbM: ask.climb.num.Or(0), Risk: ask.risk.num.Or(5) / 100,
		Way: model.Way{AirC: ask.temp.num, HeadwindKmh: ask.wind.num, SpeedKmh: ask.speed.num, TyreKpa: ask.tyre.num, RiderKg: ask.rider.num},
	}
}

func (a *app) reach(args []string, ask *reaching) error {
	s := ask.standing()
	asked := s.RestV.OK || s.UsedAh.OK || s.UsedWh.OK
	if !asked && !ask.tape {
		return wrong("nothing says what is left: want --rest-v, --used-ah or --used-wh (or --tape for the table)")
	}
	q, err := a.about(args)
	if err != nil {
		return err
	}
	if p := q.history.Pack; s.RestV.OK && p.Series.OK {
		if cell := s.RestV.V / p.Series.V; cell < 1.5 || cell > 4.6 {
			return wrong("--rest-v %s: want the volts of the pack of %s cells in series, not of one cell", units.Format(s.RestV.V, units.Volt, units.Metric), logbook.FormatNumber(p.Series.V))
		}
	}
	fit := q.fit()
	r := report.ReachOf(q.history, fit, s)
	if ask.tape {
		r.Tape(q.history, fit, s)
	}
	if a.json {
		return a.printJSON(r)
	}
	if a.streams.OutTerminal {
		r.Warnings = slices.DeleteFunc(r.Warnings, func(w report.Warning) bool { return w.Code == "stop_riding" }) // said above all else
		if asked {
			if err := a.title(q, a.reachConditions(q, r)); err != nil {
				return err
			}
		}
		if err := a.warnRider(q, fit); err != nil {
			return err
		}
	}
	if asked {
		if err := a.showReach(q, r, a.streams.OutTerminal); err != nil {
			return err
		}
	}
	if ask.tape {
		return a.showTape(q, r, asked)
	}
	return nil
}

func (a *app) reachConditions(q *question, r *report.Reach) string {
	sys, c := q.who.System, r.Conditions
	parts := []string{units.Format(c.SpeedKmh, units.Kmh, sys), units.Format(math.Round(c.TempC), units.Celsius, sys), "a rider of " + units.Format(c.RiderKg, units.Kg, sys)}
	switch {
	case c.HeadwindKmh > 0:
		parts = append(parts, units.Format(c.HeadwindKmh, units.Kmh, sys)+" of wind against on the way out")
	case c.HeadwindKmh < 0:
		parts = append(parts, units.Format(-c.HeadwindKmh, units.Kmh, sys)+" of wind behind on the way out")
	default:
		parts = append(parts, "no wind")
	}
	if c.ClimbM > 0 {
		parts = append(parts, units.Format(c.ClimbM, units.Metre, sys)+" still to climb")
	}
	return strings.Join(parts, ", ")
}

// showReach prints what is left, in words first.
func (a *app) showReach(q *question, r *report.Reach, aligned bool) error {
	sys := q.who.System
	f := newFigures(sys, r.Warnings)
	if aligned {
		if err := a.paragraph(reachWords(r, sys)); err != nil {
			return err
		}
		limit := units.Format(r.LimitV, units.Volt, sys)
		if !q.history.Pack.LimitV.OK {
			limit = "an assumed " + limit
		}
		f.head("Left above " + limit + " under load")
	}
	f.estimate("charge", r.LevelPct, units.Pct, "capacity_unknown", "series_unknown", "voltage_tells_little")
	f.estimate("energy", r.RemainingWh, units.Wh, "capacity_unknown")
	f.estimate("on average", r.RemainingKm, units.Km, "range_unknown", "no_road_rides", "capacity_unknown").piped = "kilometres left, on average"
	f.estimate("on one ride", r.ThisRideKm, units.Km).piped = "kilometres left, on one ride"
	if r.DayPct != nil {
		f.estimate("today takes more by", r.DayPct, units.Pct)
	}
	if r.TurnBackKm != nil {
		if aligned {
			f.head("Out and back")
		}
		f.given("turn back after", roundDown(*r.TurnBackKm), units.Km, "farther out", *r.TurnBackKm == 0 && r.OutKm > 0)
		if r.TurnBackV != nil {
			f.given("or at rest volts of", math.Round(*r.TurnBackV*10)/10, units.Volt, "", false)
		}
		if r.HomePct != nil {
			f.given("home, turning now", math.Round(*r.HomePct), units.Pct, "reached above the limit", *r.HomePct < 100-r.RiskPct)
		}
	}
	if !aligned {
		for _, c := range r.Cautions {
			f.warnings = append(f.warnings, report.Warning{Code: "caution", Text: c})
		}
		return f.writeTabs(a)
	}
	if err := f.writeAligned(a); err != nil {
		return err
	}
	return a.paragraph(strings.Join(r.Cautions, " "))
}

// roundDown drops what a rider cannot hold to.
func roundDown(km float64) float64 { return math.Floor(km*10) / 10 }

func reachWords(r *report.Reach, sys units.System) string {
	if r.RemainingKm == nil {
		return "How far that goes, the log does not tell yet."
	}
	words := "About " + interval(r.RemainingKm, units.Km, sys) + " are left"
	if r.TurnBackKm == nil {
		return words + "."
	}
	sure := fmt.Sprintf("%.3g %%", 100-r.RiskPct)
	switch {
	case *r.TurnBackKm > 0:
		words += ". Out and back, turn after " + units.Format(roundDown(*r.TurnBackKm), units.Km, sys) + " more"
		if r.TurnBackV != nil {
			words += ", or at " + units.Format(math.Round(*r.TurnBackV*10)/10, units.Volt, sys) + " at rest"
		}
		words += ": home is then reached above the limit with " + sure
	case r.OutKm > 0:
		words += ". Turn back now: home is not reached above the limit with " + sure
	default:
		words += ". Do not set out"
	}
	return words + "."
}

// showTape prints the table for the board.
func (a *app) showTape(q *question, r *report.Reach, more bool) error {
	sys := q.who.System
	t := newTable(">V at rest", ">"+units.Symbol(units.Km, sys)+" left", "90 %")
	for _, row := range r.Table {
		value, bounds := "", ""
		if e := row.RemainingKm; e != nil {
			w := units.Round(e.Value, or(e.Low, e.Value), or(e.High, e.Value), units.Km, sys)
			value, bounds = w.Value, w.Low+" to "+w.High
		}
		t.add(fmt.Sprintf("%.1f", row.RestV), value, bounds)
	}
	if a.streams.OutTerminal {
		if more {
			fmt.Fprintln(a.streams.Out)
		}
		words := clean(q.history.Pack.ID) + ": " + a.reachConditions(q, r)
		if r.Conditions.RestedMin != nil {
			words += ", read " + units.Format(*r.Conditions.RestedMin, units.Min, sys) + " after the load"
		} else {
			words += ", read after a long rest (a minute after load it reads lower: --rested-min 1)"
		}
		if _, err := fmt.Fprint(a.streams.Out, wrap("", words+".", a.streams.width()), "\n"); err != nil {
			return err
		}
	}
	if err := t.write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink()); err != nil {
		return err
	}
	if !a.streams.OutTerminal || more {
		return nil
	}
	return a.paragraph(strings.Join(r.Cautions[:2], " "))
}
