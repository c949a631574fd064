package charts

import (
	"bytes"
	"image/png"
	"math"
	"math/rand"
	"testing"
	"time"
)

// anyNumber gives ordinary and absurd numbers.
func anyNumber(r *rand.Rand) float64 {
	switch r.Intn(14) {
	case 0:
		return math.NaN()
	case 1:
		return math.Inf(1 - 2*r.Intn(2))
	case 2:
		return (r.Float64() - 0.5) * 1e300
	case 3:
		return (r.Float64() - 0.5) * 2e12
	case 4:
		return (r.Float64() - 0.5) * 1e-300
	case 5:
		return 0
	case 6:
		return (r.Float64() - 0.5) * 1e-7
	case 7:
		return 41.7
	}
	return (r.Float64() - 0.3) * math.Pow(10, float64(r.Intn(7)-2))
}

func anyX(r *rand.Rand, calendar bool, span float64) float64 {
	if calendar && r.Intn(9) > 0 {
		return onDay(r.Float64() * span)
	}
	return anyNumber(r)
}

var anyTexts = []string{"", "Ah", "retire below 70 %", "A&B <b>\"'", "\x1b[31mred", "木板 and Ελληνικά", "a rather long label that will not fit into the narrow pictures of a phone",
	"\x00\x01\u202e", "x\ny\tz", "]]>", "\xff\xfe", "longwordwithoutanyspacesinitatallthatcannotbebrokenintolinesanywhere"}

func anyText(r *rand.Rand) string { return anyTexts[r.Intn(len(anyTexts))] }

// anyFigure gives a figure with random parts, most of them sound.
func anyFigure(r *rand.Rand) Figure {
	calendar := r.Intn(2) == 0
	span := math.Pow(10, r.Float64()*6-2) // days: from a quarter of an hour to a few thousand years
	f := Figure{Title: anyText(r), Hint: anyText(r), X: Axis{Calendar: calendar, Label: anyText(r), Unit: anyText(r), FromZero: r.Intn(5) == 0},
		Y: Axis{Label: anyText(r), Unit: anyText(r), FromZero: r.Intn(3) == 0}}
	if r.Intn(5) == 0 {
		f.Y.Limits = Limits{anyNumber(r), anyNumber(r)}
	}
	if r.Intn(8) == 0 {
		f.X.Limits = Limits{anyX(r, calendar, span), anyX(r, calendar, span)}
	}
	many := func() int { return r.Intn([]int{1, 2, 3, 8, 60}[r.Intn(5)]) }
	for range r.Intn(3) {
		p := Points{Name: anyText(r), Colour: r.Intn(20) - 7}
		for range many() {
			p.Marks = append(p.Marks, Mark{X: anyX(r, calendar, span), Y: anyNumber(r), Bar: r.Intn(2) == 0, Low: anyNumber(r), High: anyNumber(r), Doubted: r.Intn(5) == 0})
		}
		f.Points = append(f.Points, p)
	}
	for range r.Intn(3) {
		l := Line{Name: anyText(r), Colour: r.Intn(20) - 7, Dashed: r.Intn(2) == 0}
		b := Band{Name: anyText(r), Colour: r.Intn(20) - 7}
		for range many() {
			l.Through = append(l.Through, XY{anyX(r, calendar, span), anyNumber(r), r.Intn(7) == 0})
			b.Spans = append(b.Spans, Span{anyX(r, calendar, span), anyNumber(r), anyNumber(r), r.Intn(7) == 0})
		}
		f.Lines, f.Bands = append(f.Lines, l), append(f.Bands, b)
	}
	for range r.Intn(3) {
		f.Levels = append(f.Levels, Level{anyNumber(r), anyText(r)})
		f.Events = append(f.Events, Event{anyX(r, calendar, span), anyText(r)})
		f.Notes = append(f.Notes, Note{anyX(r, calendar, span), anyNumber(r), anyText(r)})
		f.Shades = append(f.Shades, Shade{anyX(r, calendar, span), anyX(r, calendar, span), anyText(r)})
	}
	return f
}

func anyPicture(r *rand.Rand, depth int) Picture {
	switch k := r.Intn(10); {
	case k < 5:
		return anyFigure(r)
	case k == 5:
		w := Waterfall{Title: anyText(r), Axis: Axis{Label: anyText(r), Unit: anyText(r)}, From: Total{anyText(r), anyNumber(r), r.Intn(9) > 0}, To: Total{anyText(r), anyNumber(r), r.Intn(9) > 0}}
		for range r.Intn(14) {
			w.Steps = append(w.Steps, Step{anyText(r), anyNumber(r), r.Intn(2) == 0, anyNumber(r), anyNumber(r), r.Intn(4) == 0})
		}
		return w
	case k == 6:
		b := Bars{Title: anyText(r), Axis: Axis{Label: anyText(r), Unit: anyText(r)}, Dots: r.Intn(2) == 0}
		for range r.Intn(30) {
			b.Items = append(b.Items, Item{anyText(r), r.Intn(20) - 7, anyNumber(r), r.Intn(2) == 0, anyNumber(r), anyNumber(r)})
		}
		return b
	case k < 9 || depth > 0:
		t := Trace{Title: anyText(r), Hint: anyText(r)}
		span := math.Pow(10, r.Float64()*5-3)
		for range r.Intn(4) {
			p := Panel{Label: anyText(r), Unit: anyText(r), Colour: r.Intn(6), Levels: []Level{{anyNumber(r), anyText(r)}}}
			for range r.Intn(50) {
				p.Through = append(p.Through, XY{anyX(r, true, span), anyNumber(r), r.Intn(9) == 0})
			}
			t.Panels = append(t.Panels, p)
		}
		for range r.Intn(9) {
			t.Segments = append(t.Segments, Segment{anyX(r, true, span), anyX(r, true, span), SegmentKind(r.Intn(4)), anyText(r)})
		}
		return t
	}
	s := Sheet{Title: anyText(r), Note: anyText(r)}
	for range r.Intn(6) {
		s.Pictures = append(s.Pictures, anyPicture(r, depth+1))
	}
	return s
}

// TestAnyInput draws random pictures, absurd numbers and texts among them. Whatever comes, the SVG is valid and
// whole, nothing leaves the canvas, no text around a plot meets another or says NaN, and the PNG decodes.
func TestAnyInput(t *testing.T) {
	sizes := []Size{Screen(), Phone(), Print()}
	for seed := range int64(800) {
		r := rand.New(rand.NewSource(seed))
		p := anyPicture(r, 0)
		o := Options{Theme: Light, Size: sizes[r.Intn(3)], Bare: r.Intn(3) == 0}
		got := svgOf(t, p, o)
		got.checkTexts(t)
		for _, text := range got.texts {
			if bytes.Contains([]byte(text.body), []byte("NaN")) || bytes.Contains([]byte(text.body), []byte("Inf")) {
				t.Errorf("text %q", text.body)
			}
		}
		if seed%30 == 0 {
			o.Size.PixelRatio = 0.5
			var buf bytes.Buffer
			if err := WritePNG(&buf, p, o); err != nil {
				t.Error(err)
			} else if _, err := png.Decode(&buf); err != nil {
				t.Error(err)
			}
		}
		if t.Failed() {
			t.Fatalf("seed %d: %T", seed, p)
		}
	}
}

// TestCalendarTicks walks stretches from a minute to a century, in zones with and without summer time: ticks
// increase, lie on the axis, their labels keep apart, and there are neither too few nor too many.
func TestCalendarTicks(t *testing.T) {
	zones := []*time.Location{time.UTC, time.FixedZone("half past", 5*3600+1800)}
	for _, name := range []string{"Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe"} {
		if z, err := time.LoadLocation(name); err == nil {
			zones = append(zones, z)
		}
	}
	f, err := font()
	if err != nil {
		t.Fatal(err)
	}
	width := func(s string) float64 { return textWidth(f, s, 13) }
	for _, zone := range zones {
		for days := 1.0 / 1440; days < 40000; days *= 1.13 {
			for _, room := range []float64{240, 330, 880} {
				for offset := range 3 {
					low := onDay(float64(offset) * 97.31)
					s := scale{low, low + days*86400, 0, room}
					ts := calendarTicks(s, zone, 14, 13, width)
					if len(ts) < 2 && room > 300 || len(ts) > 15 || !labelsFit(s, ts, 13, width) {
						t.Errorf("%v, %.3g days on %v: %d ticks, fit %v", zone, days, room, len(ts), labelsFit(s, ts, 13, width))
					}
					for i, k := range ts {
						if k.v < s.low || k.v > s.high || i > 0 && k.v <= ts[i-1].v || i > 0 && k.label == ts[i-1].label {
							t.Errorf("%v, %.3g days on %v: tick %v %q after %v", zone, days, room, k.v, k.label, ts[max(i-1, 0)])
						}
					}
				}
			}
		}
	}
}
