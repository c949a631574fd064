package charts_test

import (
	"fmt"
	"io"
	"os"
	"time"

	"packwane/charts"
)

// All figures in the examples are invented.

func date(y int, m time.Month, d int) float64 {
	return charts.At(time.Date(y, m, d, 0, 0, 0, 0, time.UTC))
}

// A capacity over time: measured points with error bars, the fitted line with its band, a forecast, the level at
// which the pack is retired, and today.
func ExampleFigure() {
	f := charts.Figure{
		Title: "Capacity of Heron",
		X:     charts.Axis{Calendar: true},
		Y:     charts.Axis{Label: "Capacity", Unit: "Ah"},
		Points: []charts.Points{{Name: "measured", Marks: []charts.Mark{
			{X: date(2025, 3, 4), Y: 12.5, Bar: true, Low: 12.3, High: 12.7},
			{X: date(2025, 9, 1), Y: 11.1, Doubted: true},
			{X: date(2026, 1, 20), Y: 11.6, Bar: true, Low: 11.4, High: 11.8},
		}}},
		// A band without a name shares the legend entry of the line in its colour.
		Bands: []charts.Band{{Spans: []charts.Span{{X: date(2025, 3, 4), Low: 12.3, High: 12.7}, {X: date(2026, 2, 1), Low: 11.5, High: 11.7}, {X: date(2027, 2, 1), Low: 10.4, High: 11.3}}}},
		Lines: []charts.Line{
			{Name: "fitted, 90 % band", Through: []charts.XY{{X: date(2025, 3, 4), Y: 12.5}, {X: date(2026, 2, 1), Y: 11.6}}},
			{Name: "forecast", Dashed: true, Through: []charts.XY{{X: date(2026, 2, 1), Y: 11.6}, {X: date(2027, 2, 1), Y: 10.9}}},
		},
		Levels: []charts.Level{{Y: 8.8, Label: "retire below 70 %"}},
		Events: []charts.Event{{X: date(2026, 2, 1), Label: "today"}},
	}
	fmt.Println(charts.WritePNG(io.Discard, f, charts.Options{Theme: charts.Dark, Size: charts.Phone()}))
	fmt.Println(charts.Figure{Title: f.Title, Hint: "Log a full charge and a ride to the limit."}.AltText())
	// Output:
	// <nil>
	// Nothing measured yet. Log a full charge and a ride to the limit.
}

// Why a ride was shorter than a full charge as new would have carried.
func ExampleWaterfall() {
	w := charts.Waterfall{
		Title: "Why this ride was shorter",
		Axis:  charts.Axis{Label: "Range", Unit: "km"},
		From:  charts.Total{Name: "as new, reference", Value: 35.2, OK: true},
		To:    charts.Total{Name: "this ride", Value: 33.1, OK: true},
		Steps: []charts.Step{
			{Name: "temperature", Value: -1.7, Interval: true, Low: -2.2, High: -1.1},
			{Name: "climb", Value: -0.1, Interval: true, Low: -0.4, High: 0.2, Unresolved: true},
			{Name: "unexplained", Value: -0.3},
		},
	}
	fmt.Println(w.AltText())
	// Output:
	// Range (km). as new, reference: 35.2 km. temperature: −1.7 (−2.2 to −1.1). climb: too small to tell, ± 0.4. unexplained: −0.3. this ride: 33.1 km.
}

// Two boards compared; with Dots the axis need not begin at zero.
func ExampleBars() {
	b := charts.Bars{
		Title: "Range at one speed and temperature", Dots: true,
		Axis: charts.Axis{Label: "Range", Unit: "km"},
		Items: []charts.Item{
			{Name: "Heron", Value: 31.2, Interval: true, Low: 29.8, High: 32.6},
			{Name: "Plover", Colour: 1, Value: 33.0, Interval: true, Low: 31.1, High: 34.8},
		},
	}
	fmt.Println(b.AltText())
	// Output:
	// Range (km). Heron: 31.2 (29.8 to 32.6) km. Plover: 33.0 (31.1 to 34.8) km.
}

// A trace: each channel has a panel of its own above the same time.
func ExampleTrace() {
	start := time.Date(2026, 2, 1, 8, 0, 0, 0, time.UTC)
	var volts, amps []charts.XY
	for s := range 3600 {
		x := charts.At(start) + float64(s)
		volts = append(volts, charts.XY{X: x, Y: 36 + float64(s)/900})
		amps = append(amps, charts.XY{X: x, Y: 4})
	}
	t := charts.Trace{
		Title: "1 February",
		Panels: []charts.Panel{
			{Label: "Voltage", Unit: "V", Through: volts, Levels: []charts.Level{{Y: 32, Label: "limit under load"}}},
			{Label: "Current, + is charging", Unit: "A", Colour: 1, FromZero: true, Through: amps},
		},
		Segments: []charts.Segment{{Start: charts.At(start), End: charts.At(start.Add(time.Hour)), Kind: charts.Charge, Label: "charge 4.0 Ah"}},
	}
	fmt.Println(t.AltText())
	// Output:
	// From 2026-02-01 08:00 to 2026-02-01 08:59. Voltage between 36.0 V and 40.0 V. Current, + is charging between 4.00 A and 4.00 A. charge segments: 1.
}

// Several pictures on one page of paper.
func ExampleSheet() {
	s := charts.Sheet{
		Title: "Heron", Note: "As of 2026-02-01. Intervals hold 90 %.",
		Pictures: []charts.Picture{charts.Figure{Title: "Capacity"}, charts.Waterfall{Title: "Why"}, charts.Bars{Title: "Boards"}},
	}
	fmt.Println(charts.WriteSVG(io.Discard, s, charts.Options{Size: charts.Print()}))
	fmt.Println(charts.WriteSVG(os.Stdout, s, charts.Options{Size: charts.Print(), Theme: charts.Dark}))
	// Output:
	// <nil>
	// charts: print is for white paper: use the light theme
}
