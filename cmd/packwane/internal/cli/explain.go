package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
)

func newExplain(a *app) *cobra.Command {
	chart := ""
	c := &cobra.Command{
		Use: "explain RIDE", Short: "Show why a ride went no farther", GroupID: groupAnswers,
		Long: `Shows what made a ride shorter or longer than a full charge as new at reference
conditions: ageing, temperature, tyre pressure (and other tyres, where the log
says when they were put on), rider and load, speed, wind, climbing, the route's
surface, and not having started full. Each cause's share is the same in whatever
order they are looked at, and all of them and what stays unexplained add up.
What the record does not tell is assumed, and said, with what that may hide.
"packwane list --kind ride" lists the rides.`,
		Example: `  packwane explain ride-k3f9x2m7qa
  packwane explain ride-k3f9x2m7qa --chart why.svg
  packwane explain ride-k3f9x2m7qa --json`,
		Args:              between(1, 1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.explain(args[0], chart) },
		ValidArgsFunction: a.completeRides,
	}
	c.Flags().StringVar(&chart, "chart", "", "draw it as steps to `FILE` (.svg or .png)")
	return c
}

func (a *app) explain(id, chart string) error {
	if err := checkPicture(chart); err != nil {
		return err
	}
	q, ride, err := a.aboutRide(id)
	if err != nil {
		return err
	}
	x, err := report.ExplainOf(q.history, q.fit(), ride)
	if err != nil {
		return failed("%w", err)
	}
	if !x.Known() {
		return a.showUnexplained(q, x, chart)
	}
	if err := a.picture(chart, pictures.Explained(x, q.who.System), charts.Options{}); err != nil {
		return err
	}
	switch {
	case a.json:
		return a.printJSON(x)
	case !a.streams.OutTerminal:
		return a.pipeExplain(q, x)
	}
	return a.showExplain(q, ride, x)
}

// showUnexplained shows that the log does not tell the shares, and what is
// lacking. There is nothing to draw then.
func (a *app) showUnexplained(q *question, x *report.Explain, chart string) error {
	switch {
	case chart != "":
		return failed("nothing to draw: %s", x.Warnings[0].Text)
	case a.json:
		return a.printJSON(x)
	case !a.streams.OutTerminal:
		return a.pipeExplain(q, x)
	}
	if err := explainFigures(q, x).writeAligned(a); err != nil {
		return err
	}
	return a.notes(x.Warnings)
}

// explainFigures lists an explanation as figures, in the contract's order.
func explainFigures(q *question, x *report.Explain) *figures {
	f := newFigures(q.who.System, x.Warnings)
	f.lines(x.Lines(), map[string]string{"reference_km": "reference"})
	return f
}

func (a *app) pipeExplain(q *question, x *report.Explain) error {
	f := explainFigures(q, x)
	for _, as := range x.Assumptions {
		f.beside.Add(report.Warning{Code: "assumed", Text: as.Words(q.who.System)})
	}
	return f.writeTabs(a)
}

func (a *app) showExplain(q *question, ride *logbook.Ride, x *report.Explain) error {
	at := ride.At.In(a.now.Location())
	if err := a.title(q, "ride "+x.Ride+", "+units.FormatTime(at, a.now)); err != nil {
		return err
	}
	if err := a.paragraph(x.Words(q.who.System)); err != nil {
		return err
	}
	fmt.Fprintln(a.streams.Out)
	if err := a.explainTable(q, x); err != nil {
		return err
	}
	for i, as := range x.Assumptions {
		if i == 0 {
			fmt.Fprintln(a.streams.Out)
		}
		words := as.Words(q.who.System)
		if _, err := fmt.Fprint(a.streams.Out, wrap("Assumed: ", words, a.streams.width())); err != nil {
			return err
		}
	}
	return a.notes(x.Warnings)
}

// explainTable is the waterfall in text: each step with its interval and a bar
// from where it begins to where it ends.
func (a *app) explainTable(q *question, x *report.Explain) error {
	t := newTable("", ">"+units.Symbol(units.Km, q.who.System), "90 %", "")
	w := newSteps(x, q.who.System, a.streams.width()-stepColumns)
	whole := func(name string, e *report.Estimate) {
		t.add(name, w.write(e.Value), span(e, w.write), w.bar(e.Value, e.Value, "◆"))
	}
	whole("as new, at reference", x.ReferenceKm)
	level := x.ReferenceKm.Value
	step := func(name string, e *report.Estimate, resolved bool) {
		from := level
		level += e.Value
		if resolved {
			t.add(name, w.signed(e.Value), span(e, w.signed), w.bar(from, level, "█"))
			return
		}
		t.add(name, "?", "within ±"+w.write(within(e)), w.bar(from, level, "░"))
	}
	for _, c := range x.Causes {
		step(c.Name(), c.Km, c.Resolved)
	}
	step("unexplained", x.UnexplainedKm, x.UnexplainedResolved())
	whole("this ride, to the limit", x.RideKm)
	return t.write(a.streams.Out, true, a.streams.width(), a.ink())
}

// stepColumns is what the names and figures of a waterfall take of a line,
// leastBar the least that its bars are given.
const (
	stepColumns = 54
	leastBar    = 8
)

// steps is the scale of a waterfall in text.
type steps struct {
	sys       units.System
	low, high float64 // km
	columns   int
	decimals  int
}

// newSteps makes a scale that holds every step on the way from the reference to
// the ride.
func newSteps(x *report.Explain, sys units.System, columns int) *steps {
	level := x.ReferenceKm.Value
	w := &steps{sys: sys, low: level, high: level, columns: max(columns, leastBar), decimals: 1}
	see := func(v float64) { w.low, w.high = min(w.low, v), max(w.high, v) }
	for _, c := range x.Causes {
		level += c.Km.Value
		see(level)
	}
	see(x.RideKm.Value)
	if w.high >= 200 {
		w.decimals = 0
	}
	return w
}

// write writes km in the rider's unit.
func (w *steps) write(km float64) string {
	v, _ := units.In(km, units.Km, w.sys)
	return strconv.FormatFloat(v, 'f', w.decimals, 64)
}

func (w *steps) signed(km float64) string {
	sign := "+"
	if km < 0 {
		sign = "−"
	}
	written := w.write(math.Abs(km))
	if strings.Trim(written, "0.") == "" { // nothing has no sign
		return written
	}
	return sign + written
}

func (w *steps) bar(from, to float64, ink string) string {
	return textBar(from, to, w.low, w.high, w.columns, ink)
}

// within is the farther bound's distance from zero.
func within(e *report.Estimate) float64 {
	low, high := e.Span()
	return max(math.Abs(low), math.Abs(high))
}

// span writes both bounds.
func span(e *report.Estimate, write func(float64) string) string {
	if e.Low == nil || e.High == nil {
		return ""
	}
	return write(*e.Low) + " to " + write(*e.High)
}

// textBar is a bar from one value to another on a scale of so many columns.
func textBar(from, to, low, high float64, wide int, ink string) string {
	if from > to {
		from, to = to, from
	}
	at := func(v float64) int {
		if !(high > low) {
			return 0
		}
		return int(math.Round((v - low) / (high - low) * float64(wide-1)))
	}
	i, j := at(from), at(to)
	if ink == "◆" {
		j = i
	}
	return strings.Repeat(" ", i) + strings.Repeat(ink, j-i+1)
}
