package cli

import (
	"fmt"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

func newHindcast(a *app) *cobra.Command {
	return &cobra.Command{
		Use: "hindcast [PACK]", Short: "Show how good the forecasts would have been", GroupID: groupAnswers,
		Long: `Goes back to earlier dates, looks only at what was logged by then, forecasts the
range tests and resistance checks that came later, and holds what came against
it. Nine in ten should lie within the 90 % bounds.`,
		Example: `  packwane hindcast kite-a
  packwane hindcast kite-a --json`,
		Args: between(0, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			q, err := a.about(args)
			if err != nil {
				return err
			}
			h := report.HindcastOf(q.history, fitHistory)
			switch {
			case a.json:
				return a.printJSON(h)
			case !a.streams.OutTerminal:
				return a.pipeHindcast(q, h)
			}
			return a.showHindcast(q, h)
		},
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
}

// showHindcast prints how the forecasts of each date did, and the misses.
func (a *app) showHindcast(q *question, h *report.Hindcast) error {
	if err := a.title(q, q.history.Pack.ID+", forecasts made at earlier dates against what came"); err != nil {
		return err
	}
	out := a.streams.Out
	if len(h.Forecasts) > 0 {
		f := newFigures(q.who.System, nil)
		n := prose.Plural(len(h.Forecasts), "forecast")
		f.head("Within the 90 % bounds")
		f.given(report.Given{Label: n, Value: math.Round(1000**h.Coverage) / 10, Unit: units.Pct, Remark: "90 % would be right"})
		f.head("Off by, in the middle")
		f.given(report.Given{Label: n, Value: report.TwoFigures(*h.MedianErrorPct), Unit: units.Pct})
		for _, b := range h.Baselines {
			f.given(report.Given{Label: b.Method, Value: report.TwoFigures(b.MedianErrorPct), Unit: units.Pct, Remark: "without a model, " + prose.Plural(b.Forecasts, "forecast")})
		}
		if err := f.writeAligned(a); err != nil {
			return err
		}
		fmt.Fprintln(out)
		if err := a.hindcastDates(h); err != nil {
			return err
		}
		if err := a.hindcastMisses(q, h); err != nil {
			return err
		}
	}
	writeNotes(out, h.Warnings, a.streams.width())
	return nil
}

// hindcastDates prints one row for each date at which forecasts were made.
func (a *app) hindcastDates(h *report.Hindcast) error {
	t := newTable("forecast on", "until", ">forecasts", ">within", ">off by")
	for from := 0; from < len(h.Forecasts); {
		to := from
		var errs []float64
		within, until := 0, ""
		for ; to < len(h.Forecasts) && h.Forecasts[to].MadeAt == h.Forecasts[from].MadeAt; to++ {
			f := h.Forecasts[to]
			errs = append(errs, f.ErrorPct())
			if f.Within() {
				within++
			}
			until = max(until, f.For)
		}
		t.add(report.Day(h.Forecasts[from].MadeAt), report.Day(until), itoa(to-from), itoa(within), units.Format(report.TwoFigures(model.Quantile(errs, .5)), units.Pct, units.Metric))
		from = to
	}
	return t.write(a.streams.Out, true, a.streams.width(), a.ink())
}

// mostMisses is how many misses are listed for people.
const mostMisses = 12

// hindcastMisses lists what came outside the bounds, the latest.
func (a *app) hindcastMisses(q *question, h *report.Hindcast) error {
	t := newTable("outside", "forecast on", ">came", "forecast")
	var rows [][]string
	for _, f := range h.Forecasts {
		if !f.Within() {
			u := f.Unit()
			rows = append(rows, []string{report.Day(f.For), report.Day(f.MadeAt), units.Format(f.Came, u, q.who.System), f.Forecast.In(u, q.who.System)})
		}
	}
	if len(rows) == 0 {
		return nil
	}
	left := len(rows) - mostMisses
	for _, row := range rows[max(0, left):] {
		t.add(row...)
	}
	fmt.Fprintln(a.streams.Out)
	err := t.write(a.streams.Out, true, a.streams.width(), a.ink())
	if left > 0 {
		fmt.Fprintf(a.streams.Out, "%s earlier not shown: in a pipe, or with --json, all are\n", prose.Plural(left, "one"))
	}
	return err
}

// pipeHindcast prints every forecast, parted by tabs.
func (a *app) pipeHindcast(q *question, h *report.Hindcast) error {
	t := newTable("made at", "for", "quantity", "forecast", "low", "high", "came", "unit", "within")
	for _, f := range h.Forecasts {
		u := f.Unit()
		r := f.Forecast.Rounded(u, q.who.System)
		came, symbol := units.In(f.Came, u, q.who.System)
		within := "no"
		if f.Within() {
			within = "yes"
		}
		t.add(f.MadeAt, f.For, f.Quantity, r.Value, r.Low, r.High, strconv.FormatFloat(came, 'g', 7, 64), symbol, within)
	}
	return t.write(a.streams.Out, false, 0, palette{})
}
