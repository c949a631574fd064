package cli

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

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
conditions: ageing, temperature, tyre pressure, rider and load, speed, wind,
climbing, the route's surface, and not having started full. Each cause's share
is the same in whatever order they are looked at, and all of them and what
stays unexplained add up. What the record does not tell is assumed, and said,
with what that may hide. "packwane list --kind ride" lists the rides.`,
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
	if err := a.picture(chart, pictures.Explained(x, q.who.System)); err != nil {
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
	f.estimate("reference", x.ReferenceKm, units.Km).piped = "full charge as new at reference conditions"
	for _, c := range x.Causes {
		l := f.estimate(c.Name(), c.Km, units.Km)
		if x.Known() && !c.Resolved {
			l.remark = "too small to tell"
		}
	}
	f.estimate("unexplained", x.UnexplainedKm, units.Km)
	f.estimate("this ride, to the limit", x.RideKm, units.Km)
	return f
}

func (a *app) pipeExplain(q *question, x *report.Explain) error {
	f := explainFigures(q, x)
	for _, as := range x.Assumptions {
		f.warnings = append(f.warnings, report.Warning{Code: "assumed", Text: as.Words(q.who.System)})
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
	sys := q.who.System
	t := newTable("", ">"+units.Symbol(units.Km, sys), "90 %", "")
	level, low, high := x.ReferenceKm.Value, x.ReferenceKm.Value, x.ReferenceKm.Value
	see := func(v float64) { low, high = math.Min(low, v), math.Max(high, v) }
	for _, c := range x.Causes {
		level += c.Km.Value
		see(level)
	}
	see(x.RideKm.Value)
	wide := a.streams.width() - 54
	mark := func(from, to float64, ink string) string { return textBar(from, to, low, high, max(wide, 8), ink) }
	places := 1
	if high >= 200 {
		places = 0
	}
	write := func(v float64) string {
		in, _ := units.In(v, units.Km, sys)
		return fmt.Sprintf("%.*f", places, in+0)
	}
	signed := func(v float64) string {
		if s := write(math.Abs(v)); v < 0 {
			return "−" + s
		} else {
			return "+" + s
		}
	}
	t.add("as new, at reference", write(x.ReferenceKm.Value), span(x.ReferenceKm, write), mark(level-level+x.ReferenceKm.Value, x.ReferenceKm.Value, "◆"))
	level = x.ReferenceKm.Value
	step := func(name string, e *report.Estimate, resolved bool) {
		from := level
		level += e.Value
		if resolved {
			t.add(name, signed(e.Value), span(e, signed), mark(from, level, "█"))
			return
		}
		t.add(name, "?", "within ±"+write(within(e)), mark(from, level, "░"))
	}
	for _, c := range x.Causes {
		step(c.Name(), c.Km, c.Resolved)
	}
	u := report.Cause{Km: x.UnexplainedKm}
	step("unexplained", u.Km, x.UnexplainedResolved())
	t.add("this ride, to the limit", write(x.RideKm.Value), span(x.RideKm, write), mark(x.RideKm.Value, x.RideKm.Value, "◆"))
	return t.write(a.streams.Out, true, a.streams.width(), a.ink())
}

// within is the farther bound's distance from zero.
func within(e *report.Estimate) float64 {
	return math.Max(math.Abs(or(e.Low, e.Value)), math.Abs(or(e.High, e.Value)))
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
