package cli

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

func newOutlook(a *app) *cobra.Command {
	months := report.DefaultOutlookMonths
	c := &cobra.Command{
		Use: "outlook [PACK]", Short: "Show how range and health will go on", GroupID: groupAnswers,
		Long: `Shows, month by month from now on, how far a full charge will go if the pack is
used as lately: at reference conditions, and in the usual weather of the month.
Both with the bounds that hold 90 % of what the log leaves believable.`,
		Example: `  packwane outlook kite-a
  packwane outlook kite-a --months 36 --units imperial`,
		Args: between(0, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			if err := checkMonths(months); err != nil {
				return err
			}
			q, err := a.about(args)
			if err != nil {
				return err
			}
			fit := q.fit()
			o := report.OutlookOf(q.history, fit, months)
			if a.json {
				return a.printJSON(o)
			}
			return a.showOutlook(q, fit, o, a.streams.OutTerminal)
		},
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
	c.Flags().IntVar(&months, "months", months, "how far to look ahead")
	return c
}

const mostMonths = 360

// checkMonths refuses a number of months that no outlook reaches.
func checkMonths(n int) error {
	if n < 0 || n > mostMonths {
		return wrong("--months %d: want a whole number from 0 to %d", n, mostMonths)
	}
	return nil
}

// showOutlook prints an outlook: for people the range in each month, or the
// capacity and resistance where there is no range; in a pipe everything.
func (a *app) showOutlook(q *question, fit *model.Fit, o *report.Outlook, aligned bool) error {
	if !aligned {
		return a.pipeOutlook(q, o)
	}
	if err := a.title(q, q.history.Pack.ID+", if it is used as lately"); err != nil {
		return err
	}
	if err := a.warnRider(q, fit); err != nil {
		return err
	}
	return a.outlookBody(q, fit, o)
}

// outlookBody prints an outlook for people, without its title.
func (a *app) outlookBody(q *question, fit *model.Fit, o *report.Outlook) error {
	last := &o.Points[len(o.Points)-1]
	shown := report.OutlookFigures()[:3]
	if last.RangeKm == nil {
		shown = report.OutlookFigures()[2:5]
	}
	if err := a.outlookTable(q, o, shown); err != nil {
		return err
	}
	if err := a.outlookUnknown(q, o); err != nil {
		return err
	}
	return a.outlookWords(q, o, report.LimitOf(q.history, fit))
}

// outlookUnknown says which figures are unknown, and why.
func (a *app) outlookUnknown(q *question, o *report.Outlook) error {
	f := newFigures(q.who.System, o.Warnings)
	for _, c := range report.OutlookFigures() {
		if c.Of(&o.Points[0]) == nil && len(c.Why) > 0 {
			f.estimate(c.Name, nil, c.Unit, c.Why...)
		}
	}
	if len(f.rows) == 0 {
		return nil
	}
	f.beside = report.NotesOf(nil, f.system) // the others are no matter of an outlook
	fmt.Fprintln(a.streams.Out)
	return f.writeAligned(a)
}

// outlookColumn is a column as people read it: what each row says, all to the
// same decimals.
type outlookColumn struct {
	f        report.OutlookFigure
	decimals int
	bounds   bool
}

func (c outlookColumn) cells(p *report.OutlookPoint, sys units.System) []string {
	e := c.f.Of(p)
	write := func(v *float64) string {
		if v == nil {
			return "?"
		}
		x, _ := units.In(*v, c.f.Unit, sys)
		return strconv.FormatFloat(x, 'f', c.decimals, 64)
	}
	if !c.bounds {
		return []string{write(&e.Value)}
	}
	return []string{write(&e.Value), write(e.Low) + " to " + write(e.High)}
}

// outlookColumns leaves out what is unknown and finds the decimals that the
// widest interval of a column supports. Two have room for their bounds.
func outlookColumns(o *report.Outlook, shown []report.OutlookFigure, sys units.System) []outlookColumn {
	var out []outlookColumn
	for _, f := range shown {
		c := outlookColumn{f: f, decimals: 6, bounds: len(out) < 2}
		for i := range o.Points {
			e := f.Of(&o.Points[i])
			if e == nil {
				c.decimals = -1
				break
			}
			r := e.Rounded(f.Unit, sys)
			_, after, _ := strings.Cut(r.Value, ".")
			c.decimals = min(c.decimals, len(after))
		}
		if c.decimals >= 0 {
			out = append(out, c)
		}
	}
	return out
}

// mostStrip is the widest strip.
const mostStrip = 24

// outlookTable prints one row a month (or a quarter, half year, year where
// there are many), with a strip of the last column that has bounds.
func (a *app) outlookTable(q *question, o *report.Outlook, shown []report.OutlookFigure) error {
	sys := q.who.System
	cols := outlookColumns(o, shown, sys)
	if len(cols) == 0 {
		return nil
	}
	heads := []string{"date"}
	for _, c := range cols {
		heads = append(heads, ">"+c.f.Name)
		if c.bounds {
			heads = append(heads, units.Symbol(c.f.Unit, sys)+", 90 %")
		} else {
			heads[len(heads)-1] += " " + units.Symbol(c.f.Unit, sys)
		}
	}
	drawn := cols[min(1, len(cols)-1)].f
	t := newTable(append(heads, drawn.Name)...)
	points := o.Every(monthStep(len(o.Points))).Points
	for i := range points {
		row := []string{points[i].Date.String()}
		for _, c := range cols {
			row = append(row, c.cells(&points[i], sys)...)
		}
		t.add(row...)
	}
	plot := newStrip(min(a.streams.width()-t.used(), mostStrip))
	if need := q.history.Pack.NeedRangeKm; need.OK && drawn.Unit == units.Km {
		plot.level = need.V
		plot.see(need.V)
	}
	plot.draw(t, points, drawn.Of)
	fmt.Fprintln(a.streams.Out)
	return t.write(a.streams.Out, true, a.streams.width(), a.ink())
}

// used is how many columns all but the last cell of a row take.
func (t *table) used() int {
	wide := t.widths(1 << 20)
	n := 0
	for _, w := range wide[:len(wide)-1] {
		n += w + len(gutter)
	}
	return n
}

// draw fills the last cell of each row with the picture of its estimate.
func (s *strip) draw(t *table, points []report.OutlookPoint, of func(*report.OutlookPoint) *report.Estimate) {
	for i := range points {
		low, high := of(&points[i]).Span()
		s.see(low)
		s.see(high)
	}
	last := len(t.heads) - 1
	for i := range points {
		e := of(&points[i])
		low, high := e.Span()
		t.rows[i][last] = s.line(low, e.Value, high)
	}
}

// monthStep is the number of months between two rows for people.
func monthStep(points int) int {
	for _, step := range []int{1, 3, 6} {
		if points/step <= 25 {
			return step
		}
	}
	return 12
}

// outlookWords says which month is the shortest, and whether it will do.
func (a *app) outlookWords(q *question, o *report.Outlook, limit report.Limit) error {
	sys := q.who.System
	shortest := o.ShortestWords(q.history.Pack.NeedRangeKm, sys, " (│)")
	if shortest == "" {
		return nil
	}
	words := "Season: in the usual weather of the month. " + shortest + " From full to " + limit.Name(sys) + " under load. "
	if limit.Stated {
		words += "Never ride on below that."
	} else {
		words += limit.Caution(sys, q.toState())
	}
	return a.paragraph(words)
}

// pipeOutlook prints every column with its bounds, parted by tabs.
func (a *app) pipeOutlook(q *question, o *report.Outlook) error {
	heads := []string{"date"}
	for _, f := range report.OutlookFigures() {
		name := f.Name
		if s := units.Symbol(f.Unit, q.who.System); s != "" {
			name += " " + s
		}
		heads = append(heads, name, "low", "high")
	}
	t := newTable(heads...)
	for i := range o.Points {
		row := []string{o.Points[i].Date.String()}
		for _, f := range report.OutlookFigures() {
			r := units.Rounded{}
			if e := f.Of(&o.Points[i]); e != nil {
				r = e.Rounded(f.Unit, q.who.System)
			}
			row = append(row, r.Value, r.Low, r.High)
		}
		t.add(row...)
	}
	return t.write(a.streams.Out, false, 0, palette{})
}
