package charts

import (
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"
)

func labelsOf(ts []tick) string {
	var out []string
	for _, k := range ts {
		label := k.label
		if k.context != "" {
			label += "/" + k.context
		}
		out = append(out, label)
	}
	return strings.Join(out, " ")
}

func TestNumberTicks(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		most      int
		want      string
	}{
		{0, 10, 6, "0 2 4 6 8 10"},
		{-0.31, 0.32, 5, "−0.2 0.0 0.2"},
		{9.7, 12.9, 7, "10.0 10.5 11.0 11.5 12.0 12.5"},
		{0, 52000, 4, "0 20\u2009000 40\u2009000"},
		{-12, -3, 5, "−12 −10 −8 −6 −4"},
		{1e-4, 5e-4, 5, "0.0001 0.0002 0.0003 0.0004 0.0005"},
	} {
		if got := labelsOf(numberTicks(c.low, c.high, c.most)); got != c.want {
			t.Errorf("%v to %v: %s, want %s", c.low, c.high, got, c.want)
		}
	}
}

// TestNumberTicksAnywhere: on any axis the ticks are on it, increase, bear different labels, and are two to `most`.
func TestNumberTicksAnywhere(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 20000 {
		low := (r.Float64() - 0.5) * math.Pow(10, float64(r.Intn(13)-3))
		high := low + math.Abs(low)*math.Pow(10, -6*r.Float64()) + math.Pow(10, float64(r.Intn(12)-7))
		most := 4 + r.Intn(8)
		ts := numberTicks(low, high, most)
		if len(ts) < 2 || len(ts) > most {
			t.Fatalf("%v to %v: %d ticks of at most %d", low, high, len(ts), most)
		}
		for i, k := range ts {
			slack := 1e-9 * (high - low)
			if k.v < low-slack || k.v > high+slack || i > 0 && (k.v <= ts[i-1].v || k.label == ts[i-1].label) {
				t.Fatalf("%v to %v: %s", low, high, labelsOf(ts))
			}
		}
	}
}

// TestCalendarLabels pins the labels of a few stretches; 2024 is a leap year, and clocks in Germany went forward at
// 02:00 on 2025-03-30 (Directive 2000/84/EC: the last Sunday in March).
func TestCalendarLabels(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no time zone data here")
	}
	day := func(y int, m time.Month, d, h int, z *time.Location) float64 {
		return At(time.Date(y, m, d, h, 0, 0, 0, z))
	}
	for _, c := range []struct {
		low, high float64
		most      int
		zone      *time.Location
		want      string
	}{
		{day(2025, 3, 30, 0, berlin), day(2025, 3, 30, 12, berlin), 8, berlin, "00:00/30 Mar 2025 04:00 06:00 08:00 10:00 12:00"},
		{day(2025, 10, 25, 18, berlin), day(2025, 10, 26, 18, berlin), 6, berlin, "18:00/25 Oct 2025 00:00/26 Oct 2025 06:00 12:00 18:00"},
		{day(2024, 2, 26, 0, time.UTC), day(2024, 3, 3, 0, time.UTC), 8, time.UTC, "26 Feb/2024 27 Feb 28 Feb 29 Feb 1 Mar 2 Mar 3 Mar"},
		{day(2024, 12, 20, 0, time.UTC), day(2025, 1, 20, 0, time.UTC), 6, time.UTC, "23 Dec/2024 30 Dec 6 Jan/2025 13 Jan 20 Jan"},
		{day(2024, 11, 15, 0, time.UTC), day(2025, 3, 15, 0, time.UTC), 6, time.UTC, "Dec/2024 Jan/2025 Feb Mar"},
		{day(2019, 5, 1, 0, time.UTC), day(2029, 5, 1, 0, time.UTC), 6, time.UTC, "2020 2022 2024 2026 2028"},
	} {
		s := scale{c.low, c.high, 0, 900}
		if got := labelsOf(calendarTicks(s, c.zone, c.most, 10, func(string) float64 { return 40 })); got != c.want {
			t.Errorf("%v to %v: %s\nwant %s", timeOf(c.low, c.zone), timeOf(c.high, c.zone), got, c.want)
		}
	}
}

func TestTimeRoundTrip(t *testing.T) {
	for _, at := range []time.Time{day0, day0.Add(123456789 * time.Millisecond), time.Date(1969, 12, 31, 23, 59, 58, 5e8, time.UTC)} {
		if got := timeOf(At(at), time.UTC); got.Sub(at).Abs() > time.Microsecond {
			t.Errorf("%v comes back as %v", at, got)
		}
	}
}

// TestYReach: what must be on the axis is, what is hopelessly wide is cut and said to be.
func TestYReach(t *testing.T) {
	line := func(ys ...float64) []Line {
		var l Line
		for i, y := range ys {
			l.Through = append(l.Through, XY{X: float64(i), Y: y})
		}
		return []Line{l}
	}
	band := func(low, high float64) []Band { return []Band{{Spans: []Span{{X: 0, Low: low, High: high}}}} }
	for name, c := range map[string]struct {
		f         Figure
		holds     []float64
		low, high float64 // the axis goes no farther
		cut       bool
	}{
		"line and band":   {Figure{Lines: line(10, 8), Bands: band(7, 11)}, []float64{7, 11}, 6.5, 11.5, false},
		"absurd band":     {Figure{Lines: line(10, 8), Bands: band(-900, 4000)}, []float64{8, 10}, 4, 14, true},
		"retire level":    {Figure{Lines: line(100, 97), Levels: []Level{{Y: 70}}}, []float64{70, 100}, 65, 105, false},
		"constant":        {Figure{Lines: line(41.7, 41.7)}, []float64{41.7}, 39, 44, false},
		"all zero":        {Figure{Lines: line(0, 0)}, []float64{0}, -1, 1, false},
		"near zero":       {Figure{Lines: line(0.1, 5)}, []float64{0.1, 5}, 0, 6, false},
		"from zero":       {Figure{Lines: line(20, 25), Y: Axis{FromZero: true}}, []float64{0, 25}, 0, 30, false},
		"band alone":      {Figure{Bands: band(4, 6)}, []float64{4, 6}, 3, 7, false},
		"doubted far off": {Figure{Points: []Points{{Marks: []Mark{{Y: 10}, {X: 1, Y: 11}, {X: 2, Y: 2300, Doubted: true}}}}}, []float64{10, 11}, 5, 15, true},
		"doubted alone":   {Figure{Points: []Points{{Marks: []Mark{{Y: 10, Doubted: true}}}}}, []float64{10}, 9, 11, false},
		"fixed":           {Figure{Lines: line(10, 8), Y: Axis{Limits: Limits{0, 5}}}, []float64{0, 5}, 0, 5, false},
	} {
		l, cut := c.f.clean().yReach()
		for _, v := range c.holds {
			if v < l.Low || v > l.High {
				t.Errorf("%s: %v is not on the axis from %v to %v", name, v, l.Low, l.High)
			}
		}
		if l.Low < c.low || l.High > c.high || cut != c.cut {
			t.Errorf("%s: axis from %v to %v, cut %v; want within %v to %v, cut %v", name, l.Low, l.High, cut, c.low, c.high, c.cut)
		}
	}
}
