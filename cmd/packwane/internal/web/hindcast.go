package web

import (
	"fmt"
	"math"
	"time"

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
			f.given("Within the 90 % bounds", math.Round(1000**h.Coverage)/10, units.Pct, "of "+plural(len(h.Forecasts), "forecast")+"; 90 % would be right", false),
			f.given("Off by, in the middle", twoFigures(*h.MedianErrorPct), units.Pct, "", false),
		}}
		for _, b := range h.Baselines {
			g.Rows = append(g.Rows, f.given(sentenceCase(b.Method)+", without a model", twoFigures(b.MedianErrorPct), units.Pct, plural(b.Forecasts, "forecast"), false))
		}
		d.Blocks = append(d.Blocks, g, v.forecasts(h))
	}
	d.Blocks = append(d.Blocks, f.rest())
	return documentOf("/more", d), nil
}

// twoFigures is what a share of misses is worth.
func twoFigures(v float64) float64 {
	if v == 0 {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	return math.Round(v/p) * p
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
		u := forecastUnit(x.Quantity)
		hit := "within"
		if x.Came < bound(x.Forecast.Low, math.Inf(-1)) || x.Came > bound(x.Forecast.High, math.Inf(1)) {
			hit = "outside"
		}
		t.Rows = append(t.Rows, row{Cells: []string{day(x.For), day(x.MadeAt), interval(&x.Forecast, u, v.who.System), units.Format(x.Came, u, v.who.System), hit}, Path: address("/record", "id", x.Record)})
	}
	return t
}

// day is the date of a time in a report.
func day(text string) string {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return text
	}
	return units.FormatDate(t)
}

func forecastUnit(quantity string) units.Unit {
	switch quantity {
	case "distance_km":
		return units.Km
	case "discharged_ah":
		return units.Ah
	}
	return units.Mohm
}
