package charts

import "testing"

// TestAltText: the words beside each kind of picture hold its values, and a picture's own words go before.
func TestAltText(t *testing.T) {
	fig := Figure{X: Axis{Calendar: true}, Y: Axis{Label: "Capacity", Unit: "Ah"}, Levels: []Level{{8.75, "retire below 70 %"}}, Events: []Event{{onDay(10), "today"}},
		Points: []Points{{Name: "measured", Marks: []Mark{{X: onDay(0), Y: 12.41}, {X: onDay(5), Y: 12.2}, {X: onDay(7), Y: 2, Doubted: true}}}},
		Lines:  []Line{{Name: "fitted", Through: []XY{{X: onDay(0), Y: 12.5}, {X: onDay(10), Y: 12}}}},
		Bands:  []Band{{Spans: []Span{{X: onDay(10), Low: 11.8, High: 12.2}}}}}
	own := fig
	own.Alt = "Capacity falls slowly"
	for name, c := range map[string]struct {
		p    Picture
		want string
	}{
		"figure": {fig, "Capacity (Ah) over time. measured: 3 from 2025-03-04 to 2025-03-11, between 2.00 Ah and 12.4 Ah, 1 doubted. " +
			"fitted: from 12.5 Ah at 2025-03-04 to 12.0 Ah at 2025-03-14. band: 11.8 Ah to 12.2 Ah at 2025-03-14. retire below 70 %: 8.75 Ah. today: 2025-03-14."},
		"own words": {own, "Capacity falls slowly"},
		"empty":     {Figure{Hint: "Log a full charge."}, "Nothing measured yet. Log a full charge."},
		"waterfall": {Waterfall{Axis: Axis{Label: "Range", Unit: "km"}, From: Total{"as new", 35, true}, To: Total{"ride", 33, true},
			Steps: []Step{{Name: "cold", Value: -2, Interval: true, Low: -3, High: -1}, {Name: "climb", Value: 0.01, Interval: true, Low: -0.4, High: 0.4, Unresolved: true}}},
			"Range (km). as new: 35.0 km. cold: −2.0 (−3.0 to −1.0). climb: too small to tell, ± 0.4. ride: 33.0 km."},
		"bars":  {Bars{Axis: Axis{Label: "Range", Unit: "km"}, Items: []Item{{Name: "Heron", Value: 31, Interval: true, Low: 29.5, High: 32}, {Name: "Knot", Value: 28}}}, "Range (km). Heron: 31.0 (29.5 to 32.0) km. Knot: 28.0 km."},
		"trace": {Trace{Panels: []Panel{{Label: "Voltage", Unit: "V", Through: []XY{{X: onDay(0), Y: 41}, {X: onDay(0.5), Y: 35}}}}, Segments: []Segment{{onDay(0), onDay(0.5), Ride, ""}}}, "From 2025-03-04 00:00 to 2025-03-04 12:00. Voltage between 35.0 V and 41.0 V. ride segments: 1."},
		"sheet": {Sheet{Note: "As of today", Pictures: []Picture{own, nil}}, "As of today. Capacity falls slowly."},
	} {
		if got := c.p.AltText(); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, c.want)
		}
	}
}
