package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// comparing is how a comparison is asked for.
type comparing struct {
	rides                          []string
	speed, temp, rider, wind, tyre *quantity
	route, board, chart            string
}

func newCompare(a *app) *cobra.Command {
	var ask comparing
	c := &cobra.Command{
		Use: "compare PACK PACK... | --ride RIDE --ride RIDE...", Short: "Show which goes farther, brought to the same conditions", GroupID: groupAnswers,
		Long: `Brings packs with their boards, or single rides, to the same speed, rider,
temperature and wind, each board at its own tyre pressure: the first one's
reference conditions unless flags say otherwise. Shows each range, the
differences, how likely the one goes farther on average, and whether the log
can tell them apart. Rides of one session share their day, which cancels. It
says where an answer leans on the model beyond what was ever ridden.`,
		Example: `  packwane compare kite-a kite-b
  packwane compare kite-a wren-a --speed-kmh 22 --temp-c 8
  packwane compare --ride ride-k3f9x2m7qa --ride ride-7h2m1c9d0p --chart two.svg`,
		Args:              between(0, -1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.compare(args, &ask) },
		ValidArgsFunction: a.completePacks,
	}
	f := c.Flags()
	f.StringArrayVar(&ask.rides, "ride", nil, "compare single rides: a `RIDE`, given twice or more")
	ask.speed = a.quantityFlag(c, "speed-kmh", typed.AskSpeed, "moving speed")
	ask.temp = a.quantityFlag(c, "temp-c", typed.AskAir, "air and pack")
	ask.rider = a.quantityFlag(c, "rider-kg", typed.AskRider, "rider with gear")
	ask.wind = a.quantityFlag(c, "headwind-kmh", typed.AskHeadwind, "wind along the way, + against")
	ask.tyre = a.quantityFlag(c, "tyre-kpa", typed.AskTyre, "all tyres at this pressure (else each at its own)")
	f.StringVar(&ask.route, "route", "", "the surface of a `ROUTE` that was logged")
	f.StringVar(&ask.board, "board", "", "all packs on this `BOARD` (else each on its usual one)")
	c.RegisterFlagCompletionFunc("board", a.completeFlag(logbook.KindBoard))
	f.StringVar(&ask.chart, "chart", "", "draw it to `FILE` (.svg or .png)")
	c.RegisterFlagCompletionFunc("ride", a.completeRides)
	return c
}

// completePacks completes any number of packs.
func (a *app) completePacks(_ *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	return a.ids(logbook.KindPack), noFiles
}

func (ask *comparing) overrides() report.Overrides {
	return report.Overrides{SpeedKmh: ask.speed.num, TempC: ask.temp.num, RiderKg: ask.rider.num, HeadwindKmh: ask.wind.num, TyreKpa: ask.tyre.num, Route: ask.route, Board: ask.board}
}

func (a *app) compare(packs []string, ask *comparing) error {
	switch {
	case len(packs) > 0 && len(ask.rides) > 0:
		return wrong("packs and --ride at once: want either packs or rides")
	case len(ask.rides) == 0 && len(packs) < 2:
		return wrong("too few to compare: want two packs or more, or --ride given twice or more")
	case len(ask.rides) > 0 && ask.board != "":
		return wrong("--board %s: each ride was on a board of its own; --board is for packs", ask.board)
	case len(ask.rides) == 1:
		return wrong("--ride is given once: want two rides or more")
	}
	if err := checkPicture(ask.chart); err != nil {
		return err
	}
	q, c, err := a.compared(packs, ask)
	if err != nil {
		return err
	}
	if err := a.picture(ask.chart, pictures.Compared(c, q.who.System), charts.Options{}); err != nil {
		return err
	}
	if a.json {
		return a.printJSON(c)
	}
	return a.showCompare(q, c, a.streams.OutTerminal)
}

// compared works out the comparison; the question is that of the first.
func (a *app) compared(packs []string, ask *comparing) (*question, *report.Compare, error) {
	if len(ask.rides) == 0 {
		qs, known, err := a.aboutPacks(packs)
		if err != nil {
			return nil, nil, err
		}
		if err := routeKnown(ask.route, known); err != nil {
			return nil, nil, err
		}
		for _, k := range known {
			if ask.board, err = riddenBoard(ask.board, k.History); err != nil {
				return nil, nil, err
			}
		}
		return qs[0], report.ComparePacks(known, ask.overrides()), nil
	}
	var first *question
	var rides []report.RideOf
	seen := map[string]report.Known{}
	for i, id := range ask.rides {
		for _, other := range ask.rides[:i] {
			if other == id {
				return nil, nil, wrong("--ride %q is given twice: want different rides", id)
			}
		}
		q, r, err := a.aboutRide(id)
		if err != nil {
			return nil, nil, err
		}
		if first == nil {
			first = q
		}
		key := q.history.Pack.ID + q.history.AsOf.String()
		if _, ok := seen[key]; !ok {
			seen[key] = report.Known{History: q.history, Fit: q.fit()}
		}
		rides = append(rides, report.RideOf{Known: seen[key], Ride: r})
	}
	return first, report.CompareRides(rides, ask.overrides()), nil
}

// riddenBoard returns the id of the board that is meant, by its id or its name, and refuses
// one on which the pack was never ridden; "" is its usual one.
func riddenBoard(word string, h *logbook.History) (string, error) {
	if word == "" {
		return "", nil
	}
	ridden := report.RiddenBoards(h)
	for _, id := range ridden {
		b := h.BoardAt(id, h.AsOf)
		if id == word || strings.EqualFold(id, word) || strings.EqualFold(b.Name, word) {
			return id, nil
		}
	}
	if len(ridden) == 0 {
		return "", wrong("--board %s: pack %s has no ride on any board yet, so nothing tells how far it goes on one", word, h.Pack.ID)
	}
	return "", wrong("--board %s: pack %s was ridden on %s alone, and nothing tells how far it goes elsewhere", word, h.Pack.ID, prose.List(ridden, "and"))
}

// routeKnown refuses a route that no log names.
func routeKnown(route string, known []report.Known) error {
	if route == "" {
		return nil
	}
	for _, k := range known {
		for _, r := range k.History.Rides {
			if r.Route == route {
				return nil
			}
		}
	}
	return wrong("--route %q: no ride of these packs names it", route)
}

// showCompare prints a comparison: the verdicts in words, then the figures.
func (a *app) showCompare(q *question, c *report.Compare, aligned bool) error {
	notes := c.Warnings
	if aligned { // those are said above all else
		notes = report.WithoutBars(notes)
	}
	f := newFigures(q.who.System, notes)
	for _, e := range c.Entries {
		name := entryID(e)
		if aligned {
			f.head(e.Name)
			name = ""
		}
		for _, x := range e.Lines() {
			if name != "" {
				x.Label = name + " " + x.Label
			}
			f.line(x)
		}
	}
	for _, p := range c.Pairs {
		label := p.A + " less " + p.B
		if aligned {
			f.head(label)
			label = "difference"
		}
		l := f.estimate(label, p.DifferenceKm, units.Km)
		if p.Paired {
			l.remark = "same outing"
		}
		if p.Chance() == "" {
			continue
		}
		chance := p.A + " farther than " + p.B
		if aligned {
			chance = "the first goes farther"
		}
		f.said(chance, p.Chance()).Symbol = "%"
	}
	if !aligned {
		return f.writeTabs(a)
	}
	if _, err := fmt.Fprint(a.streams.Out, wrap("", c.Conditions.Words(q.who.System), a.streams.width())); err != nil {
		return err
	}
	for _, w := range c.Warnings {
		if w.Bars() {
			if err := a.alarm("DO NOT RIDE", w.TextIn(q.who.System)); err != nil {
				return err
			}
		}
	}
	for _, p := range c.Pairs {
		words := p.Words(p.A, p.B, q.who.System)
		if p.Verdict == report.VerdictAlike {
			words += " `packwane plan` says how many tests would tell."
		}
		if err := a.paragraph(words); err != nil {
			return err
		}
	}
	return f.writeAligned(a)
}

func entryID(e report.Entry) string {
	if e.Ride != "" {
		return e.Ride
	}
	return e.Pack
}
