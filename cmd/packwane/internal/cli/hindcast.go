package cli

import (
	"fmt"
	"math"
	"time"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/model"
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
		n := plural(len(h.Forecasts), "forecast")
		f.head("Within the 90 % bounds")
		f.given(n, math.Round(1000**h.Coverage)/10, units.Pct, "90 % would be right", false)
		f.head("Off by, in the middle")
		f.given(n, round2(*h.MedianErrorPct), units.Pct, "", false)
		for _, b := range h.Baselines {
			f.given(b.Method, round2(b.MedianErrorPct), units.Pct, "without a model, "+plural(b.Forecasts, "forecast"), false)
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

// round2 keeps two figures, which is what a share of misses is worth.
func round2(v float64) float64 {
	if v == 0 {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	return math.Round(v/p) * p
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
			errs = append(errs, 100*math.Abs(f.Forecast.Value/f.Came-1))
			if hit(f) {
				within++
			}
			until = max(until, f.For)
		}
		t.add(day(h.Forecasts[from].MadeAt), day(until), itoa(to-from), itoa(within), units.Format(round2(model.Quantile(errs, .5)), units.Pct, units.Metric))
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
		if !hit(f) {
			u := quantityUnit(f.Quantity)
			rows = append(rows, []string{day(f.For), day(f.MadeAt), units.Format(f.Came, u, q.who.System), interval(&f.Forecast, u, q.who.System)})
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
		fmt.Fprintf(a.streams.Out, "%s earlier not shown: in a pipe, or with --json, all are\n", plural(left, "one"))
	}
	return err
}

func interval(e *report.Estimate, u units.Unit, sys units.System) string {
	return units.FormatInterval(e.Value, or(e.Low, math.Inf(-1)), or(e.High, math.Inf(1)), u, sys)
}

func hit(f report.Forecast) bool {
	return or(f.Forecast.Low, math.Inf(-1)) <= f.Came && f.Came <= or(f.Forecast.High, math.Inf(1))
}

// day is the date of a time in a report.
func day(text string) string {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return text
	}
	return units.FormatDate(t)
}

// quantityUnit is the unit of a quantity that is forecast.
func quantityUnit(quantity string) units.Unit {
	switch quantity {
	case "distance_km":
		return units.Km
	case "discharged_ah":
		return units.Ah
	}
	return units.Mohm
}

// pipeHindcast prints every forecast, parted by tabs.
func (a *app) pipeHindcast(q *question, h *report.Hindcast) error {
	t := newTable("made at", "for", "quantity", "forecast", "low", "high", "came", "unit", "within")
	for _, f := range h.Forecasts {
		u := quantityUnit(f.Quantity)
		r := units.Round(f.Forecast.Value, or(f.Forecast.Low, math.Inf(-1)), or(f.Forecast.High, math.Inf(1)), u, q.who.System)
		came, symbol := units.In(f.Came, u, q.who.System)
		within := "no"
		if hit(f) {
			within = "yes"
		}
		t.add(f.MadeAt, f.For, f.Quantity, r.Value, r.Low, r.High, logbook.FormatNumber(came), symbol, within)
	}
	return t.write(a.streams.Out, false, 0, palette{})
}
