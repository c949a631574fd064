package cli

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/report"
	"packwane/health/units"
)

// planning is how a plan is asked for.
type planning struct {
	difference *quantity
	paired     bool
	today      bool
	chart      string
}

func newPlan(a *app) *cobra.Command {
	var ask planning
	c := &cobra.Command{
		Use: "plan PACK [PACK]", Short: "Show how many range tests tell a difference apart, or the sheet for one", GroupID: groupAnswers,
		Long: `Shows how many range tests of each tell a difference of that many kilometres
apart, by how the log's own tests scatter once all known conditions are taken
off: a two-sided test at 5 % that finds the difference nine times of ten. With
--paired both are ridden on the same outing and share its day. One pack alone is
held against itself, as before and after a change.

With --today it prints the sheet for one test today: what to set and record,
from this log's weak spots, when to turn back, and the cautions.`,
		Example: `  packwane plan kite-a kite-b --difference-km 2
  packwane plan kite-a kite-b --difference-km 2 --paired --chart power.svg
  packwane plan kite-a --today > sheet.txt`,
		Args:              between(0, 2),
		RunE:              func(_ *cobra.Command, args []string) error { return a.plan(args, &ask) },
		ValidArgsFunction: a.completePacks,
	}
	ask.difference = a.quantityFlag(c, "difference-km", typed.AskDifference, "the difference to be told apart")
	c.Flags().BoolVar(&ask.paired, "paired", false, "ride both on the same outings")
	c.Flags().BoolVar(&ask.today, "today", false, "print the sheet for a test")
	c.Flags().StringVar(&ask.chart, "chart", "", "draw the power curve to `FILE` (.svg or .png)")
	return c
}

func (a *app) plan(args []string, ask *planning) error {
	if ask.today {
		if len(args) > 1 || ask.paired || ask.difference.num.OK || ask.chart != "" {
			return wrong("--today is the sheet for one pack: want no other pack and no other flag")
		}
		return a.planToday(args)
	}
	switch {
	case len(args) == 0:
		return wrong("too few arguments: want `packwane plan PACK PACK --difference-km D`, or --today")
	case !ask.difference.num.OK:
		return wrong("no difference to tell apart: want --difference-km D, or --today for the sheet of a test")
	}
	if err := checkPicture(ask.chart); err != nil {
		return err
	}
	qs, known, err := a.aboutPacks(args)
	if err != nil {
		return err
	}
	p := report.PlanOf(known, ask.difference.num.V, ask.paired)
	if err := a.picture(ask.chart, pictures.Power(p, qs[0].who.System), charts.Options{}); err != nil {
		return err
	}
	if a.json {
		return a.printJSON(p)
	}
	return a.showPlan(qs[0], p, a.streams.OutTerminal)
}

func (a *app) showPlan(q *question, p *report.Plan, aligned bool) error {
	sys := q.who.System
	f := newFigures(sys, p.Warnings)
	word := p.TestsWord()
	if aligned {
		words := p.Words(sys)
		if p.TestsEach != nil && !p.Paired && len(p.Packs) == 2 {
			words += " With --paired, on the same outings, it takes fewer where the day adds to the scatter."
		}
		if _, err := fmt.Fprint(a.streams.Out, wrap("", words, a.streams.width())); err != nil {
			return err
		}
		f.head("From the log")
	}
	label := "range, on average"
	if len(p.Packs) > 1 {
		label = "mean range of the packs"
	}
	f.estimate(label, p.RangeKm, units.Km)
	f.estimate("one test scatters by", p.RepeatabilityKm, units.Km).remark = p.UsedWords()
	if p.TestsEach != nil {
		l := f.said(word, itoa(*p.TestsEach))
		l.Low, l.High = orInt(p.TestsEachLow), orInt(p.TestsEachHigh)
	} else if p.RepeatabilityKm != nil {
		f.said(word, "too many")
	}
	if aligned && len(p.DetectableKm) > 0 {
		f.head("What so many " + word + " tell apart, and how often they find " + units.Format(p.DifferenceKm, units.Km, sys))
	}
	for _, d := range p.DetectableKm {
		label := itoa(d.Tests)
		if !aligned {
			label = "found with " + label + " " + word
		}
		x, symbol := units.In(d.Km, units.Km, sys)
		l := f.said(label, fmt.Sprintf("%.2f", x))
		l.Symbol = symbol
		if aligned {
			l.remark = powerBar(p, d.Tests)
		}
	}
	return a.writeFigures(f, aligned)
}

func orInt(n *int) string {
	if n == nil {
		return ""
	}
	return itoa(*n)
}

// powerBar shows how often so many tests find the difference that was asked.
func powerBar(p *report.Plan, tests int) string {
	pct := p.PowerAt(tests)
	return strings.Repeat("▪", int(math.Round(pct/10))) + fmt.Sprintf(" %.0f %%", pct)
}
