package charts

import (
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// All figures in the gallery are invented: they show what the pictures look like, nothing else.

var day0 = time.Date(2025, time.March, 4, 0, 0, 0, 0, time.UTC)

func onDay(d float64) float64 { return At(day0) + d*86400 }

// fade is an invented capacity in Ah after d days.
func fade(d float64) float64 { return 12.6 - 0.042*math.Sqrt(d) - 0.0011*d }

// capacityFigure has n measured points over two years, a fitted line with its band, and a forecast.
func capacityFigure(n int, seed int64) Figure {
	rng := rand.New(rand.NewSource(seed))
	f := Figure{
		Title: "Capacity of the invented pack Heron",
		Hint:  "Log a charge that ran until the charger finished, and a ride down to the limit.",
		X:     Axis{Calendar: true}, Y: Axis{Label: "Capacity", Unit: "Ah"},
		Levels: []Level{{Y: 8.8, Label: "retire below 70 %"}},
		Events: []Event{{X: onDay(640), Label: "today"}},
	}
	measured := Points{Name: "measured, ± meter"}
	for i := range n {
		d := 640 * (float64(i) + rng.Float64()) / float64(n)
		v := fade(d) + rng.NormFloat64()*0.09
		m := Mark{X: onDay(d), Y: v, Bar: true, Low: v - 0.18, High: v + 0.18}
		if i%17 == 9 {
			m.Doubted, m.Y = true, v-0.9
			m.Low, m.High = m.Y-0.18, m.Y+0.18
		}
		measured.Marks = append(measured.Marks, m)
	}
	if n > 0 {
		f.Points = []Points{measured}
	}
	seen, ahead := Line{Name: "fitted, 90 % band"}, Line{Name: "forecast", Dashed: true}
	var band Band
	for d := 0.0; d <= 1000; d += 20 {
		half := 0.07 + 0.0006*math.Max(0, d-640)
		band.Spans = append(band.Spans, Span{X: onDay(d), Low: fade(d) - half, High: fade(d) + half})
		if d <= 640 {
			seen.Through = append(seen.Through, XY{X: onDay(d), Y: fade(d)})
		}
		if d >= 640 {
			ahead.Through = append(ahead.Through, XY{X: onDay(d), Y: fade(d)})
		}
	}
	if n > 0 {
		f.Lines, f.Bands = []Line{seen, ahead}, []Band{band}
	}
	return f
}

func rangeFigure() Figure {
	f := Figure{Title: "Range ahead, at reference conditions and in the month's usual weather",
		X: Axis{Calendar: true}, Y: Axis{Label: "Range", Unit: "km"},
		Levels: []Level{{Y: 24, Label: "needed: 24 km"}},
		Events: []Event{{X: onDay(0), Label: "today"}, {X: onDay(410), Label: "retest due"}},
		Shades: []Shade{{onDay(240), onDay(360), "below 5 °C"}, {onDay(605), onDay(725), "below 5 °C"}},
	}
	ref, season := Line{Name: "at reference"}, Line{Name: "at the month's temperature", Colour: 1}
	rb, sb := Band{}, Band{Colour: 1}
	for m := range 25 {
		d := float64(m) * 30.4
		r := 36 - 0.22*float64(m)
		s := r - 3.2 - 3.4*math.Cos((d+60)/365.25*2*math.Pi)
		w := 0.8 + 0.09*float64(m)
		ref.Through = append(ref.Through, XY{X: onDay(d), Y: r})
		season.Through = append(season.Through, XY{X: onDay(d), Y: s})
		rb.Spans = append(rb.Spans, Span{X: onDay(d), Low: r - w, High: r + w})
		sb.Spans = append(sb.Spans, Span{X: onDay(d), Low: s - w*1.3, High: s + w*1.3})
	}
	f.Lines, f.Bands = []Line{ref, season}, []Band{rb, sb}
	return f
}

func temperatureFigure() Figure {
	rng := rand.New(rand.NewSource(3))
	f := Figure{Title: "Consumption over air temperature", X: Axis{Label: "Air temperature", Unit: "°C"}, Y: Axis{Label: "Consumption", Unit: "Wh/km"}}
	for k, name := range []string{"Heron", "Plover", "Dunlin", "Knot", "Stint", "Ruff"} {
		p := Points{Name: name, Colour: k}
		l := Line{Name: name + ", fitted", Colour: k}
		for range 14 {
			t := -6 + rng.Float64()*38
			p.Marks = append(p.Marks, Mark{X: t, Y: 12.5 + 1.3*float64(k) + 0.006*(t-25)*(t-25) + rng.NormFloat64()*0.3})
		}
		for t := -8.0; t <= 34; t++ {
			l.Through = append(l.Through, XY{X: t, Y: 12.5 + 1.3*float64(k) + 0.006*(t-25)*(t-25)})
		}
		f.Points, f.Lines = append(f.Points, p), append(f.Lines, l)
	}
	f.Notes = []Note{{X: 2, Y: 19.9, Text: "wet road, half a gale"}}
	return f
}

func causes() Waterfall {
	return Waterfall{Title: "Why this ride was shorter", Axis: Axis{Label: "Range", Unit: "km"},
		From: Total{"as new, reference", 35.2, true}, To: Total{"this ride", 28.9, true},
		Steps: []Step{
			{Name: "ageing", Value: -2.4, Interval: true, Low: -2.9, High: -1.9},
			{Name: "temperature", Value: -1.7, Interval: true, Low: -2.2, High: -1.1},
			{Name: "tyre pressure", Value: -1.2, Interval: true, Low: -1.8, High: -0.7},
			{Name: "rider mass", Value: 0.1, Interval: true, Low: -0.3, High: 0.4, Unresolved: true},
			{Name: "speed", Value: 0.9, Interval: true, Low: 0.4, High: 1.5},
			{Name: "wind", Value: -1.5, Interval: true, Low: -3.1, High: 0.2},
			{Name: "climb", Value: -0.2, Interval: true, Low: -0.5, High: 0.1, Unresolved: true},
			{Name: "route", Value: -0.4, Interval: true, Low: -0.9, High: -0.1},
			{Name: "start charge", Value: 0.3, Interval: true, Low: 0.1, High: 0.5},
			{Name: "unexplained", Value: -0.2},
		}}
}

func boards(dots bool) Bars {
	b := Bars{Title: "Range at one speed and temperature", Axis: Axis{Label: "Range", Unit: "km"}, Dots: dots}
	for i, name := range []string{"Heron", "Plover with the long name", "Dunlin", "Knot"} {
		v := 31 + 2.3*float64(i%3)
		b.Items = append(b.Items, Item{Name: name, Colour: i, Value: v, Interval: true, Low: v - 1.4, High: v + 1.1 + float64(i)})
	}
	return b
}

func dayTrace() Trace {
	rng := rand.New(rand.NewSource(4))
	var volts, amps []XY
	t := Trace{Title: "An invented day of the pack Heron"}
	soc, at := 0.35, onDay(0.25)
	run := func(k SegmentKind, hours float64, amp func(s float64) float64, label string) {
		start := at
		for s := 0.0; s < hours*3600; s += 2 {
			a := amp(s)
			soc += a * 2 / 3600 / 12.5
			apart := len(volts) > 0 && at-volts[len(volts)-1].X > 1800
			volts = append(volts, XY{X: at, Y: 33 + 8.4*soc + 0.11*a + rng.NormFloat64()*0.01, Break: apart})
			amps = append(amps, XY{X: at, Y: a, Break: apart})
			at += 2
		}
		t.Segments = append(t.Segments, Segment{start, at, k, label})
	}
	run(Charge, 2.1, func(s float64) float64 { return math.Min(4, 4*math.Exp((6000-s)/1500)) }, "charge 7.9 Ah")
	run(Rest, 1.2, func(float64) float64 { return 0 }, "")
	ride := func(s float64) float64 {
		if math.Mod(s, 97) < 5 {
			return 9 * rng.Float64()
		}
		return -9 - 6*math.Sin(s/40) - 20*math.Pow(rng.Float64(), 8)
	}
	run(Ride, 0.4, ride, "ride 3.6 Ah")
	run(Rest, 0.1, func(float64) float64 { return 0 }, "")
	run(Ride, 0.35, ride, "")
	at += 7200
	run(Charge, 2.5, func(s float64) float64 { return math.Min(4, 4*math.Exp((6000-s)/1500)) }, "charge 6.1 Ah")
	t.Panels = []Panel{
		{Label: "Voltage", Unit: "V", Through: volts, Levels: []Level{{Y: 32, Label: "limit under load"}}},
		{Label: "Current, + is charging", Unit: "A", Colour: 1, Through: amps},
	}
	return t
}

func resistanceFigure() Figure {
	f := Figure{Title: "Resistance", X: Axis{Calendar: true}, Y: Axis{Label: "Resistance", Unit: "mΩ"}}
	f.Points = []Points{{Name: "steps", Colour: 1}}
	f.Lines = []Line{{Name: "fitted", Colour: 1}}
	f.Bands = []Band{{Colour: 1}}
	rng := rand.New(rand.NewSource(11))
	for d := 0.0; d <= 640; d += 32 {
		v := 92 + 0.045*d
		f.Points[0].Marks = append(f.Points[0].Marks, Mark{X: onDay(d), Y: v + rng.NormFloat64()*4})
		f.Lines[0].Through = append(f.Lines[0].Through, XY{X: onDay(d), Y: v})
		f.Bands[0].Spans = append(f.Bands[0].Spans, Span{X: onDay(d), Low: v - 3, High: v + 3})
	}
	return f
}

func wholeSheet() Sheet {
	return Sheet{Title: "The invented pack Heron", Note: "As of 2026-12-04. Intervals hold 90 %. All figures are invented.",
		Pictures: []Picture{capacityFigure(34, 1), resistanceFigure(), rangeFigure(), temperatureFigure(), causes(), boards(true), boards(false), dayTrace()}}
}

func gallery() map[string]Picture {
	one := capacityFigure(12, 5)
	one.Points[0].Marks = one.Points[0].Marks[:1]
	one.Lines, one.Bands, one.Levels, one.Events = nil, nil, nil, nil
	constant := Figure{Title: "A constant", X: Axis{Calendar: true}, Y: Axis{Label: "Rest voltage", Unit: "V"}}
	constant.Lines = []Line{{Name: "rest voltage"}}
	for d := range 40 {
		constant.Lines[0].Through = append(constant.Lines[0].Through, XY{X: onDay(float64(d)), Y: 41.7, Break: d == 20})
	}
	wide := capacityFigure(30, 6)
	for i := range wide.Bands[0].Spans {
		wide.Bands[0].Spans[i].Low, wide.Bands[0].Spans[i].High = -400, 900
	}
	many := capacityFigure(12, 8)
	for i := range 9 {
		many.Events = append(many.Events, Event{X: onDay(300 + 12*float64(i)), Label: fmt.Sprintf("cells replaced, group %d", i)})
	}
	rude := capacityFigure(12, 9)
	rude.Title = "A&B <b>\"'</b>\x1b[31mred\x1b[0m\x00\n木 ]]> &lt; " + rude.Title + " and a very long title that goes on and on so that it must be wrapped and in the end be cut"
	rude.Y.Unit, rude.Levels[0].Label = "<Ah> & \"more\"", "level <&> '\"'"
	return map[string]Picture{
		"capacity":      capacityFigure(34, 1),
		"capacity-1":    one,
		"capacity-1fit": func() Figure { f := capacityFigure(12, 5); f.Points[0].Marks = f.Points[0].Marks[:1]; return f }(),
		"capacity-0":    Figure{Title: "Capacity", Hint: capacityFigure(0, 1).Hint, X: Axis{Calendar: true}, Y: Axis{Label: "Capacity", Unit: "Ah"}},
		"capacity-1000": capacityFigure(1000, 2),
		"capacity-50k":  capacityFigure(50000, 2),
		"constant":      constant,
		"wide-band":     wide,
		"many-events":   many,
		"rude":          rude,
		"range":         rangeFigure(),
		"temperature":   temperatureFigure(),
		"resistance":    resistanceFigure(),
		"waterfall":     causes(),
		"waterfall-0":   Waterfall{Title: "Why this ride was shorter", Hint: "Log a ride that began full."},
		"bars":          boards(false),
		"dots":          boards(true),
		"trace":         dayTrace(),
		"sheet":         wholeSheet(),
		"sheet-3":       Sheet{Title: "Three", Pictures: wholeSheet().Pictures[:3]},
		"sheet-0":       Sheet{Title: "Nothing"},
	}
}

// TestLook writes the whole gallery into the folder named in the environment, for a person to look at.
func TestLook(t *testing.T) {
	dir := os.Getenv("PACKWANE_CHARTS_LOOK")
	if dir == "" {
		t.Skip("PACKWANE_CHARTS_LOOK is not set")
	}
	for name, p := range gallery() {
		for _, size := range []Size{Screen(), Phone(), Print()} {
			for _, theme := range []Theme{Light, Dark} {
				if size.Paper && theme == Dark {
					continue
				}
				base := filepath.Join(dir, fmt.Sprintf("%s-%s-%s", name, size.Name, theme))
				for _, kind := range []string{".png", ".svg"} {
					w, err := os.Create(base + kind)
					if err != nil {
						t.Fatal(err)
					}
					write := WritePNG
					if kind == ".svg" {
						write = WriteSVG
					}
					if err := write(w, p, Options{Theme: theme, Size: size}); err != nil {
						t.Errorf("%s: %v", name, err)
					}
					if err := w.Close(); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
}
