package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

func newHealth(a *app) *cobra.Command {
	return &cobra.Command{
		Use: "health [PACK]", Short: "Show how far a full charge goes now, and how the pack is", GroupID: groupAnswers,
		Long: `Shows what a full charge gives now and how far it goes at reference conditions,
how far the pack has aged, and when it will be due to retire. Every figure is
the middle of what the log leaves believable and the bounds that hold 90 % of
it. What the log cannot tell is unknown, with a note on what to record.

PACK may be left out where there is only one, or where the one last logged for
is meant.`,
		Example: `  packwane health kite-a
  packwane health kite-a --as-of 2026-05-03 --json`,
		Args: between(0, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			q, err := a.about(args)
			if err != nil {
				return err
			}
			fit := q.fit()
			r := report.HealthOf(q.history, fit)
			if a.json {
				return a.printJSON(r)
			}
			return a.showHealth(q, fit, r, a.streams.OutTerminal)
		},
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
}

// showHealth prints the health of a pack, the kilometres first.
func (a *app) showHealth(q *question, fit *model.Fit, r *report.Health, aligned bool) error {
	notes := r.Warnings
	if aligned { // said above all else
		notes = report.WithoutBars(notes)
	}
	f := newFigures(q.who.System, notes)
	limit := report.LimitOf(q.history, fit)
	healthRange(f, q.history.Pack, r, limit.Name(f.system))
	f.head("The pack")
	f.lines(r.PackLines(), healthLabels)
	if aligned {
		course := report.CourseOf(q.history, fit, 0, nil)
		f.drawCourse("capacity so far", units.Ah, course.CapacityAh)
	}
	healthLife(f, r)
	if aligned {
		if err := a.title(q, packWords(q.history)); err != nil {
			return err
		}
		if err := a.warnRider(q, fit); err != nil {
			return err
		}
	}
	if err := a.writeFigures(f, aligned); err != nil || !aligned {
		return err
	}
	_, err := fmt.Fprint(a.streams.Out, "\n", wrap("", "Bounds hold 90 % of what the log leaves believable. "+limit.Caution(f.system, q.toState()), a.streams.width()))
	return err
}

// healthLabels are the labels of figures that a heading or the row above explains.
var healthLabels = map[string]string{"capacity_wh": "", "resistance_growth_pct": "  more than as new"}

func healthRange(f *figures, p *logbook.Pack, r *report.Health, limit string) {
	f.head("How far from full to " + limit + " under load")
	for _, x := range r.RangeLines() {
		if x.Key == "range_km" {
			x.Label = "on average"
		}
		f.line(x)
		if x.Key == "next_test_km" && p.NeedRangeKm.OK {
			met, missed := r.RangeKm.Meets(p.NeedRangeKm.V)
			f.given(report.Given{Label: "needed", Value: p.NeedRangeKm.V, Unit: units.Km, Remark: met, Alarm: missed})
		}
	}
}

// toState says how a limit that is not in the log gets there.
func (q *question) toState() string {
	pack := q.history.Pack.ID
	if slices.ContainsFunc(q.history.Setups, func(s *logbook.Setup) bool { return s.LimitV.OK && q.history.ForPack(s) }) {
		return "set it with `packwane log setup " + pack + " limit=...`"
	}
	return "set it with `packwane amend " + pack + " limit=...`"
}

func healthLife(f *figures, r *report.Health) {
	f.head("Its life")
	f.lines(r.LifeLines(), nil)
	e := r.EndOfLife
	if e == nil {
		return
	}
	label := e.Label(f.system)
	f.add(figureLine{label: label, Rounded: e.Rounded(), texts: f.beside.Beside(e.Why()...)})
	if e.EquivalentFullCycles != nil {
		cycles := report.Line{Key: "cycles", Label: label + ", in cycles", Estimate: e.EquivalentFullCycles, Unit: units.Count, Per: "cycles"}
		f.lines([]report.Line{cycles}, map[string]string{cycles.Key: ""})
	}
}

// packWords says what a pack is and what the log holds of it.
func packWords(h *logbook.History) string {
	return strings.Join(append([]string{h.Pack.ID}, typed.PackParts(h)...), ", ")
}
