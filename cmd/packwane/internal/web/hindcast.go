package web

import (
	"fmt"
	"math"

	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /hindcast", title: "Were the forecasts right?", menu: menuAnswers, about: "earlier forecasts held against what came", ofPack: true, serve: (*visit).hindcast})

func (v *visit) hindcast() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	h := a.hindcast()
	d := v.documentAbout(l, a, "Were the forecasts right?")
	d.Grave = nil // it leads to no ride
	d.Lead = "Forecasts that the log would have made at earlier dates, held against what was measured later."
	f := v.figures(h.Warnings)
	if len(h.Forecasts) > 0 {
		g := figureGroup{Rows: []*figure{
			f.given(report.Given{Label: "Within the 90 % bounds", Value: math.Round(1000**h.Coverage) / 10, Unit: units.Pct, Remark: "of " + prose.Plural(len(h.Forecasts), "forecast") + "; 90 % would be right"}),
			f.given(report.Given{Label: "Off by, in the middle", Value: report.TwoFigures(*h.MedianErrorPct), Unit: units.Pct}),
		}}
		for _, b := range h.Baselines {
			g.Rows = append(g.Rows, f.given(report.Given{Label: prose.Capital(b.Method) + ", without a model", Value: report.TwoFigures(b.MedianErrorPct), Unit: units.Pct, Remark: prose.Plural(b.Forecasts, "forecast")}))
		}
		d.Blocks = append(d.Blocks, g, v.forecasts(h))
	}
	d.Blocks = append(d.Blocks, f.rest())
	return documentOf("/more", d), nil
}

// mostForecasts is how many forecasts are listed, the latest.
const mostForecasts = 60

func (v *visit) forecasts(h *report.Hindcast) tableBlock {
	t := tableBlock{Caption: "Each forecast and what came", Heads: []string{"measured", "forecast on", "forecast", "came", "bounds"}}
	list := h.Forecasts
	if left := len(list) - mostForecasts; left > 0 {
		list, t.Note = list[left:], fmt.Sprintf("%d earlier ones are not shown.", left)
	}
	for _, x := range list {
		u, where := x.Unit(), "outside"
		if x.Within() {
			where = "within"
		}
		t.Rows = append(t.Rows, row{Cells: []string{report.Day(x.For), report.Day(x.MadeAt), x.Forecast.In(u, v.who.System), units.Format(x.Came, u, v.who.System), where}, Path: address("/record", "id", x.Record)})
	}
	return t
}
