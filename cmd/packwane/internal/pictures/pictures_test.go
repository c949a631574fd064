package pictures

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwane/charts"
	"packwane/health/report"
	"packwane/health/units"
)

var now = time.Date(2026, time.May, 3, 12, 0, 0, 0, time.UTC)

func estimate(v, half float64) report.Estimate {
	low, high := v-half, v+half
	return report.Estimate{Value: v, Low: &low, High: &high, Confidence: .9}
}

// invented makes the pictures of an invented pack with so many tests, one a
// day, and an outlook of a year.
func invented(tests int) Of {
	c := &report.Course{Pack: "heron", Name: `Heron & "Co" <1>`, AsOf: now, RetireSohPct: 70, RefTempC: 25}
	o := Of{Course: c, Consumption: &report.Consumption{}, Losses: &report.Losses{From: now}, Zone: time.UTC}
	if tests == 0 {
		return o
	}
	need, retire := 18.0, 8.3
	trip, rest := estimate(93, 1), estimate(2.5, .8)
	*o.Losses = report.Losses{From: now.AddDate(0, 0, -tests), RoundTripPct: &trip, RestPctMonth: &rest}
	c.NeedRangeKm, c.RetireAh = &need, &retire
	for i := range tests {
		at := now.AddDate(0, 0, i-tests)
		fade := 1 - .0002*float64(i)
		wave := math.Sin(float64(i))
		c.Capacities = append(c.Capacities, report.Measured{Record: fmt.Sprint("ride-", i), At: at, Value: 11.8*fade + .05*wave, Doubted: i%50 == 49})
		c.Ranges = append(c.Ranges, report.Measured{At: at, Value: 26*fade + .6*wave})
		c.Resistances = append(c.Resistances, report.Measured{At: at, Value: 90/fade + wave})
		c.CapacityAh = append(c.CapacityAh, report.CoursePoint{At: at, Estimate: estimate(11.8*fade, .1)})
		c.Resistance = append(c.Resistance, report.CoursePoint{At: at, Estimate: estimate(90/fade, 3)})
		o.Losses.RoundTrips = append(o.Losses.RoundTrips, report.Measured{At: at, Value: 93 + wave, Doubted: i%50 == 49})
		o.Losses.Rests = append(o.Losses.Rests, report.RestLoss{Measured: report.Measured{At: at, Value: 2.5 + wave}, Low: 1 + wave, High: 4 + wave})
		air := 12 + 10*wave
		o.Consumption.Rides = append(o.Consumption.Rides, report.ConsumptionRide{AirC: air, WhPerKm: 16 - .06*air})
	}
	for month := range 13 {
		at := now.AddDate(0, month, 0)
		m := float64(month)
		c.CapacityAh = append(c.CapacityAh, report.CoursePoint{At: at, Ahead: month > 0, Estimate: estimate(11.6-.05*m, .1+.02*m)})
		c.RangeKm = append(c.RangeKm, report.CoursePoint{At: at, Ahead: month > 0, Estimate: estimate(25-.1*m, .5)})
		c.SeasonKm = append(c.SeasonKm, report.CoursePoint{At: at, Ahead: month > 0, Estimate: estimate(22+2*math.Sin(m/2), .8)})
		air := -5 + 3*m
		o.Consumption.Curve = append(o.Consumption.Curve, report.ConsumptionPoint{AirC: air, Estimate: estimate(16-.06*air, .3)})
	}
	for i, what := range []string{"impact", "water", "cells_replaced", "repair", "storage", "balance", "warning_sign"} {
		at := now.AddDate(0, 0, -10-20*i)
		e := report.Event{Record: what, What: what, At: at}
		if what == "storage" {
			e.Until = at.AddDate(0, 0, 15)
		}
		c.Events = append(c.Events, e)
	}
	return o
}

// TestEveryPicture renders every kind for no test, one and a thousand, in every
// size and theme: each is whole, and names its pack.
func TestEveryPicture(t *testing.T) {
	sizes := []charts.Size{charts.Screen(), charts.Phone(), charts.Print()}
	for _, tests := range []int{0, 1, 1000} {
		for i, kind := range Kinds {
			o := invented(tests)
			p := o.Picture(kind)
			if !strings.Contains(p.AltTitle(), "Heron") {
				t.Errorf("%s, %d tests: the title is %q", kind, tests, p.AltTitle())
			}
			for j, size := range sizes {
				opt := charts.Options{Size: size}
				if (i+j)%2 == 1 && !size.Paper {
					opt.Theme = charts.Dark
				}
				var b bytes.Buffer
				if err := charts.WriteSVG(&b, p, opt); err != nil {
					t.Fatalf("%s, %d tests, %s: %v", kind, tests, size.Name, err)
				}
				text := b.String()
				checkXML(t, kind, text)
				if nothing := strings.Contains(text, "Nothing measured yet"); nothing != (tests == 0) {
					t.Errorf("%s, %d tests: says that nothing is measured: %v", kind, tests, nothing)
				}
			}
		}
	}
	var b bytes.Buffer
	if err := charts.WritePNG(&b, invented(60).Picture(Sheet), charts.Options{Size: charts.Phone()}); err != nil {
		t.Fatal(err)
	}
	if _, err := png.Decode(&b); err != nil {
		t.Error(err)
	}
}

func checkXML(t *testing.T, name, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Errorf("%s: %v", name, err)
			return
		}
	}
}

// TestUnits: axes and levels are in the units of the reader (1 mi = 1.609344 km,
// NIST SP 811).
func TestUnits(t *testing.T) {
	o := invented(30)
	o.System = units.Imperial
	f := o.figure(Range)
	if f.Y.Unit != "mi" || math.Abs(f.Levels[0].Y-18/1.609344) > 1e-9 || !strings.Contains(f.Levels[0].Label, "11.18 mi") {
		t.Errorf("axis %+v, level %+v", f.Y, f.Levels)
	}
	if got, want := f.Points[0].Marks[0].Y, o.Course.Ranges[0].Value/1.609344; math.Abs(got-want) > 1e-9 {
		t.Errorf("a test of %v is drawn at %v", want, got)
	}
	if f := o.figure(Consumption); f.X.Unit != "°F" || f.Y.Unit != "Wh/mi" {
		t.Errorf("axes %+v, %+v", f.X, f.Y)
	}
}

// TestBenchSheet: a pack without a road has neither range nor consumption.
func TestBenchSheet(t *testing.T) {
	o := invented(20)
	if n := len(o.sheet().Pictures); n != 6 {
		t.Errorf("%d pictures on a sheet", n)
	}
	o.Course.Bench = true
	if n := len(o.sheet().Pictures); n != 4 {
		t.Errorf("%d pictures on the sheet of a pack on the bench", n)
	}
}

// TestLives: the lines of two lives are parted, and what lies ahead joins what
// was seen.
func TestLives(t *testing.T) {
	o := invented(20)
	o.Course.Earlier = []*report.Course{{CapacityAh: []report.CoursePoint{
		{At: now.AddDate(-2, 0, 0), Estimate: estimate(11, .1)}, {At: now.AddDate(-1, 0, 0), Ahead: true, Estimate: estimate(9, .1)},
	}, Ranges: []report.Measured{{At: now.AddDate(-2, 0, 0), Value: 24}}}}
	f := o.figure(Capacity)
	seen, ahead := f.Lines[0], f.Lines[1]
	if !seen.Through[1].Break || seen.Through[2].Break {
		t.Errorf("seen: %+v", seen.Through[:3])
	}
	if !ahead.Dashed || seen.Dashed || !ahead.Through[0].Break || !ahead.Through[2].Break || ahead.Through[3].Break {
		t.Errorf("ahead: %+v", ahead.Through[:4])
	}
	if last := seen.Through[len(seen.Through)-1]; last.X != ahead.Through[2].X || last.Y != ahead.Through[2].Y {
		t.Errorf("what is seen ends at %+v, what is ahead begins at %+v", last, ahead.Through[2])
	}
	if n := len(o.figure(Range).Points[0].Marks); n != 21 {
		t.Errorf("%d range tests over two lives", n)
	}
}

// TestEvents: the weightiest are shown, storage is a shade.
func TestEvents(t *testing.T) {
	f := invented(200).figure(Capacity)
	if len(f.Shades) != 1 {
		t.Errorf("shades %+v", f.Shades)
	}
	var labels []string
	for _, e := range f.Events {
		labels = append(labels, e.Label)
	}
	if got := strings.Join(labels, ","); got != "cells replaced,warning sign,water,impact,3 May 2026" {
		t.Errorf("events %s", got)
	}
}

// TestHoldAxis: a doubted point far off does not press the rest flat; one near
// by, and one that nobody doubts, are shown.
func TestHoldAxis(t *testing.T) {
	for _, tc := range []struct {
		name string
		mark charts.Mark
		held bool
	}{
		{"near", charts.Mark{X: 1, Y: 9.9, Doubted: true}, false},
		{"far below", charts.Mark{X: 1, Y: 1, Doubted: true}, true},
		{"far above", charts.Mark{X: 1, Y: 100, Doubted: true}, true},
		{"far but believed", charts.Mark{X: 1, Y: 100}, false},
	} {
		f := charts.Figure{Points: []charts.Points{{Marks: []charts.Mark{{X: 0, Y: 10}, {X: 1, Y: 12}, {X: 2, Y: 11}, tc.mark}}}}
		holdAxis(&f)
		l := f.Y.Limits
		if held := l != (charts.Limits{}); held != tc.held {
			t.Errorf("%s: limits %+v", tc.name, l)
		}
		if tc.held && (l.Low > 10 || l.Low < 9 || l.High < 12 || l.High > 13) {
			t.Errorf("%s: limits %+v", tc.name, l)
		}
	}
	f := charts.Figure{Points: []charts.Points{{Marks: []charts.Mark{{X: 0, Y: 5, Doubted: true}}}}}
	holdAxis(&f)
	if f.Y.Limits != (charts.Limits{}) {
		t.Errorf("a doubted point alone: %+v", f.Y.Limits)
	}
}

func TestUnknownKind(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	invented(1).Picture("pie")
}

// TestSheetSaysItsNote: the words under the title of a sheet stand there whole
// in every size.
func TestSheetSaysItsNote(t *testing.T) {
	line := regexp.MustCompile(`<text[^>]*>([^<]*)<`)
	for _, size := range []charts.Size{charts.Screen(), charts.Phone(), charts.Print()} {
		var b bytes.Buffer
		if err := charts.WriteSVG(&b, invented(3).sheet(), charts.Options{Size: size}); err != nil {
			t.Fatal(err)
		}
		var lines []string
		for _, m := range line.FindAllStringSubmatch(b.String(), -1) {
			lines = append(lines, m[1])
		}
		if got, want := strings.Join(lines, " "), "As of 3 May 2026. "+sheetNote; !strings.Contains(got, want) {
			t.Errorf("%s: %q does not stand in %q", size.Name, want, got[:300])
		}
	}
}
