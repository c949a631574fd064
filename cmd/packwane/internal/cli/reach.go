package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

// reaching is what a rider says of where they stand.
type reaching struct {
	restV, rested, usedAh, usedWh, out, climb, temp, wind, speed, tyre, rider, risk *quantity
	board                                                                           string
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
	ask.restV = a.quantityFlag(c, "rest-v", typed.AskRestVolts, "volts of the pack at rest, now")
	ask.rested = a.quantityFlag(c, "rested-min", typed.AskRested, "minutes since the load (else long)")
	ask.usedAh = a.quantityFlag(c, "used-ah", typed.AskUsedAh, "used since full, what came back taken off")
	ask.usedWh = a.quantityFlag(c, "used-wh", typed.AskUsedWh, "used since full, what came back taken off")
	ask.out = a.quantityFlag(c, "out-km", typed.AskOut, "ridden from home, the way back as long")
	ask.climb = a.quantityFlag(c, "climb-m", typed.AskClimb, "still to climb; none of it is counted to come back")
	ask.temp = a.quantityFlag(c, "temp-c", typed.AskAir, "air (else the season's)")
	ask.wind = a.quantityFlag(c, "headwind-kmh", typed.AskHeadwind, "wind along the way out, + against")
	ask.speed = a.quantityFlag(c, "speed-kmh", typed.AskSpeed, "moving speed")
	ask.tyre = a.quantityFlag(c, "tyre-kpa", typed.AskTyre, "tyre pressure")
	ask.rider = a.quantityFlag(c, "rider-kg", typed.AskRider, "rider with gear")
	ask.risk = a.quantityFlag(c, "risk", typed.AskRisk, "how often home may not be reached, percent (5)")
	c.Flags().StringVar(&ask.board, "board", "", "on this `BOARD` (else the pack's usual one)")
	c.RegisterFlagCompletionFunc("board", a.completeFlag(logbook.KindBoard))
	c.Flags().BoolVar(&ask.tape, "tape", false, "print volts against kilometres, for the board")
	return c
}

func (ask *reaching) standing() model.Standing {
	return model.Standing{
		RestV: ask.restV.num, RestedMin: ask.rested.num, UsedAh: ask.usedAh.num, UsedWh: ask.usedWh.num, OutKm: ask.out.num, ClimbM: ask.climb.num.Or(0), Risk: ask.risk.num.Or(report.DefaultRiskPct) / 100,
		Way: model.Way{AirC: ask.temp.num, HeadwindKmh: ask.wind.num, SpeedKmh: ask.speed.num, TyreKpa: ask.tyre.num, RiderKg: ask.rider.num, Board: ask.board},
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
	if want := report.OneCell(s.RestV, q.history.Pack); want != "" {
		return wrong("--rest-v %s: %s", units.Format(s.RestV.V, units.Volt, units.Metric), want)
	}
	if s.Way.Board, err = riddenBoard(ask.board, q.history); err != nil {
		return err
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
		r.Warnings = report.WithoutBars(r.Warnings) // said above all else
		if asked {
			if err := a.title(q, r.Conditions.Words(q.who.System)); err != nil {
				return err
			}
		}
		if err := a.warnRider(q, fit); err != nil {
			return err
		}
	}
	if asked {
		if err := a.showReach(q, fit, r, a.streams.OutTerminal); err != nil {
			return err
		}
	}
	if ask.tape {
		return a.showTape(q, r, asked)
	}
	return nil
}

// reachLabels are the labels of figures that a heading explains.
var reachLabels = map[string]string{"remaining_km": "on average", "this_ride_km": "on one ride"}

// showReach prints what is left, in words first.
func (a *app) showReach(q *question, fit *model.Fit, r *report.Reach, aligned bool) error {
	sys := q.who.System
	f := newFigures(sys, r.Warnings)
	if aligned {
		if err := a.paragraph(r.Words(sys)); err != nil {
			return err
		}
		f.head("Left above " + report.LimitOf(q.history, fit).Name(sys) + " under load")
	}
	f.lines(r.Lines(), reachLabels)
	for i, g := range r.Home(sys) {
		if i == 0 && aligned {
			f.head("Out and back")
		}
		f.given(g)
	}
	if !aligned {
		for _, c := range r.Cautions {
			f.beside.Add(report.Warning{Code: "caution", Text: c})
		}
		return f.writeTabs(a)
	}
	if err := f.writeAligned(a); err != nil {
		return err
	}
	return a.paragraph(strings.Join(r.Cautions, " "))
}

// showTape prints the table for the board.
func (a *app) showTape(q *question, r *report.Reach, more bool) error {
	sys := q.who.System
	if r.Barred() {
		if more {
			return nil
		}
		return a.paragraph(r.Words(sys))
	}
	t := newTable(">V at rest", ">"+units.Symbol(units.Km, sys)+" left", "90 %")
	for _, row := range r.Table {
		left := row.RemainingKm.Rounded(units.Km, sys)
		t.add(fmt.Sprintf("%.1f", row.RestV), left.Value, left.Between())
	}
	if a.streams.OutTerminal {
		if more {
			fmt.Fprintln(a.streams.Out)
		}
		words := clean(q.history.Pack.ID) + ": " + r.Conditions.Words(q.who.System)
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
