package cli

import (
	"fmt"
	"math"
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

// outlookFigure is a column of an outlook. codes name the warnings that say why
// it is unknown.
type outlookFigure struct {
	name  string
	unit  units.Unit
	of    func(*report.OutlookPoint) *report.Estimate
	codes []string
}

var outlookFigures = []outlookFigure{
	{"range", units.Km, func(p *report.OutlookPoint) *report.Estimate { return p.RangeKm }, []string{"range_unknown", "no_road_rides", "capacity_unknown"}},
	{"season", units.Km, func(p *report.OutlookPoint) *report.Estimate { return p.SeasonRangeKm }, nil},
	{"health", units.Pct, func(p *report.OutlookPoint) *report.Estimate { return p.SohPct }, []string{"capacity_unknown"}},
	{"capacity", units.Wh, func(p *report.OutlookPoint) *report.Estimate { return p.CapacityWh }, []string{"capacity_unknown"}},
	{"resistance", units.Mohm, func(p *report.OutlookPoint) *report.Estimate { return p.ResistanceMohm }, []string{"resistance_unknown"}},
	{"cycles", units.Count, func(p *report.OutlookPoint) *report.Estimate { return p.EquivalentFullCycles }, nil},
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
	shown := outlookFigures[:3]
	if last.RangeKm == nil {
		shown = outlookFigures[2:5]
	}
	if err := a.outlookTable(q, o, shown); err != nil {
		return err
	}
	if err := a.outlookUnknown(q, o); err != nil {
		return err
	}
	return a.outlookWords(q, o, limitOf(q, fit))
}

// outlookUnknown says which figures are unknown, and why.
func (a *app) outlookUnknown(q *question, o *report.Outlook) error {
	f := newFigures(q.who.System, o.Warnings)
	for _, c := range outlookFigures {
		if c.of(&o.Points[0]) == nil && len(c.codes) > 0 {
			f.estimate(c.name, nil, c.unit, c.codes...)
		}
	}
	if len(f.lines) == 0 {
		return nil
	}
	f.warnings = nil
	fmt.Fprintln(a.streams.Out)
	return f.writeAligned(a)
}

// outlookColumn is a column as people read it: what each row says, all to the
// same decimals.
type outlookColumn struct {
	f        outlookFigure
	decimals int
	bounds   bool
}

func (c outlookColumn) cells(p *report.OutlookPoint, sys units.System) []string {
	e := c.f.of(p)
	write := func(v *float64) string {
		if v == nil {
			return "?"
		}
		x, _ := units.In(*v, c.f.unit, sys)
		return strconv.FormatFloat(x, 'f', c.decimals, 64)
	}
	if !c.bounds {
		return []string{write(&e.Value)}
	}
	return []string{write(&e.Value), write(e.Low) + " to " + write(e.High)}
}

// outlookColumns leaves out what is unknown and finds the decimals that the
// widest interval of a column supports. Two have room for their bounds.
func outlookColumns(o *report.Outlook, shown []outlookFigure, sys units.System) []outlookColumn {
	var out []outlookColumn
	for _, f := range shown {
		c := outlookColumn{f: f, decimals: 6, bounds: len(out) < 2}
		for i := range o.Points {
			e := f.of(&o.Points[i])
			if e == nil {
				c.decimals = -1
				break
			}
			r := units.Round(e.Value, or(e.Low, math.Inf(-1)), or(e.High, math.Inf(1)), f.unit, sys)
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
func (a *app) outlookTable(q *question, o *report.Outlook, shown []outlookFigure) error {
	sys := q.who.System
	cols := outlookColumns(o, shown, sys)
	if len(cols) == 0 {
		return nil
	}
	heads := []string{"date"}
	for _, c := range cols {
		heads = append(heads, ">"+c.f.name)
		if c.bounds {
			heads = append(heads, units.Symbol(c.f.unit, sys)+", 90 %")
		} else {
			heads[len(heads)-1] += " " + units.Symbol(c.f.unit, sys)
		}
	}
	drawn := cols[min(1, len(cols)-1)].f
	t := newTable(append(heads, drawn.name)...)
	var points []*report.OutlookPoint
	for i := range o.Points {
		if i%monthStep(len(o.Points)) == 0 || i == len(o.Points)-1 {
			points = append(points, &o.Points[i])
		}
	}
	for _, p := range points {
		row := []string{p.Date.String()}
		for _, c := range cols {
			row = append(row, c.cells(p, sys)...)
		}
		t.add(row...)
	}
	plot := newStrip(min(a.streams.width()-t.used(), mostStrip))
	if need := q.history.Pack.NeedRangeKm; need.OK && drawn.unit == units.Km {
		plot.level = need.V
		plot.see(need.V)
	}
	plot.draw(t, points, drawn.of)
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
func (s *strip) draw(t *table, points []*report.OutlookPoint, of func(*report.OutlookPoint) *report.Estimate) {
	for _, p := range points {
		e := of(p)
		s.see(or(e.Low, e.Value))
		s.see(or(e.High, e.Value))
	}
	last := len(t.heads) - 1
	for i, p := range points {
		e := of(p)
		t.rows[i][last] = s.line(or(e.Low, e.Value), e.Value, or(e.High, e.Value))
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
func (a *app) outlookWords(q *question, o *report.Outlook, limit limitWords) error {
	worst := -1
	for i, p := range o.Points {
		if p.SeasonRangeKm != nil && (worst < 0 || p.SeasonRangeKm.Value < o.Points[worst].SeasonRangeKm.Value) {
			worst = i
		}
	}
	if worst < 0 {
		return nil
	}
	e := o.Points[worst].SeasonRangeKm
	sys := q.who.System
	words := "Season: in the usual weather of the month. Shortest about " + o.Points[worst].Date.Format("2 Jan 2006") + ": " + interval(e, units.Km, sys)
	if need := q.history.Pack.NeedRangeKm; need.OK {
		remark, _ := met(need.V, e)
		words += "; the " + units.Format(need.V, units.Km, sys) + " that you need (│): " + remark
	}
	words += ". From full to " + limit.name + " under load. "
	if limit.stated {
		words += "Never ride on below that."
	} else {
		words += limit.caution
	}
	_, err := fmt.Fprint(a.streams.Out, "\n", wrap("", words, a.streams.width()))
	return err
}

// pipeOutlook prints every column with its bounds, parted by tabs.
func (a *app) pipeOutlook(q *question, o *report.Outlook) error {
	heads := []string{"date"}
	for _, f := range outlookFigures {
		name := f.name
		if s := units.Symbol(f.unit, q.who.System); s != "" {
			name += " " + s
		}
		heads = append(heads, name, "low", "high")
	}
	t := newTable(heads...)
	for i := range o.Points {
		row := []string{o.Points[i].Date.String()}
		for _, f := range outlookFigures {
			r := units.Rounded{}
			if e := f.of(&o.Points[i]); e != nil {
				r = units.Round(e.Value, or(e.Low, math.Inf(-1)), or(e.High, math.Inf(1)), f.unit, q.who.System)
			}
			row = append(row, r.Value, r.Low, r.High)
		}
		t.add(row...)
	}
	return t.write(a.streams.Out, false, 0, palette{})
}
