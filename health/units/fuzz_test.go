package units

import (
	"math"
	"regexp"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"
)

// What Parse takes is finite and not a negative zero; its echo reads as the
// very same value and is its own echo; what is refused is refused on one line.
func FuzzParse(f *testing.F) {
	for _, text := range []string{"9.5 mi", "2,1 bar", "1h10m", "1:10:05", "\u22125 \u2109", "1\u202f234,5 km", "1.234,5", "85 mΩ", "nnw", "1e308 kWh", "9.5 ± 1", "NaN", "400 years"} {
		for u := range symbols {
			f.Add(text, uint8(u), u%2 == 0)
		}
	}
	f.Fuzz(func(t *testing.T, text string, u uint8, imperial bool) {
		unit, sys := Unit(u), Metric
		if imperial {
			sys = Imperial
		}
		v, as, err := ParseIn(text, unit, sys)
		if err != nil {
			oneLine(t, err)
			return
		}
		if !finite(v) || v == 0 && math.Signbit(v) {
			t.Fatalf("%q reads as %v", text, v)
		}
		again, echo, err := ParseIn(as.String(), unit, sys)
		if err != nil || again != v || echo.String() != as.String() {
			t.Fatalf("%q reads as %v; its echo %q as %v (%q), %v", text, v, as, again, echo, err)
		}
	})
}

func oneLine(t *testing.T, err error) {
	t.Helper()
	for _, r := range err.Error() {
		if unicode.IsControl(r) {
			t.Fatalf("the error is not one printable line: %q", err)
		}
	}
	if !utf8.ValidString(err.Error()) {
		t.Fatalf("the error is not UTF-8: %q", err)
	}
}

// Format's text reads as the value within the rounding that Format states, and
// that reading has the same text.
func FuzzFormat(f *testing.F) {
	for _, v := range []float64{0, 23.5, -17.7777777777778, 0.00012345, 59.99999, 599.9, 2879.99, 99999.5, 9.9995, 1e-9, -9.999999974752427e-07, 9.99999999999999e11, 9.99999999942999e11, 1.666666666666665e10, 1e15, -1e300, math.MaxFloat64, 5e-324} {
		for u := range symbols {
			f.Add(v, uint8(u), u%2 == 0)
		}
	}
	f.Fuzz(func(t *testing.T, v float64, u uint8, imperial bool) {
		unit, sys := Unit(u), Metric
		if imperial {
			sys = Imperial
		}
		text := Format(v, unit, sys)
		x, _ := In(v, unit, sys)
		if !finite(v) {
			if text != "unknown" {
				t.Fatalf("%v: %q", v, text)
			}
			return
		}
		if !finite(x) || math.Abs(x) > 1e300 || math.Abs(v) > 1e300 {
			return // beyond what any unit can hold there and back
		}
		got, _, err := Parse(text, unit)
		if err != nil {
			t.Fatalf("%v is written %q: %v", v, text, err)
		}
		y, _ := In(got, unit, sys)
		if tolerance := roundingOf(x, unit); math.Abs(y-x) > tolerance {
			t.Fatalf("%v is written %q, which reads as %v: off by more than %v", v, text, got, tolerance)
		}
		if again := Format(got, unit, sys); again != text {
			t.Fatalf("%v is written %q, which reads as %v and is written %q", v, text, got, again)
		}
	})
}

// roundingOf returns half of the last place that Format keeps of x.
func roundingOf(x float64, u Unit) float64 {
	a := math.Abs(x)
	least := 0.5
	if u == Min && x >= 0 {
		switch {
		case a*60 < 1:
			return roundingOf(x*60, Second) / 60
		case a < 10:
			return 0.5/60 + 1e-9
		case a < 2880:
			return 0.5 + 1e-9
		case a*60 < everydayMost:
			return 30 + 1e-9
		}
	}
	if a < everydayMost && a >= 1e3 {
		return least + a*1e-13
	}
	if a == 0 {
		return 1e-9
	}
	return 0.51*math.Pow(10, math.Floor(math.Log10(a))-3) + a*1e-13 + 1e-13*460
}

// The bounds of an estimate stay in order, and the middle between them.
func FuzzRound(f *testing.F) {
	f.Add(15.29, 14.75, 15.85, uint8(Km), true)
	f.Add(1234.0, 984.0, 1490.0, uint8(Wh), false)
	f.Add(0.0, -1e-9, 1e-9, uint8(Celsius), true)
	f.Fuzz(func(t *testing.T, v, low, high float64, u uint8, imperial bool) {
		if !(low <= v && v <= high) || math.Abs(low) > 1e200 || math.Abs(high) > 1e200 {
			return
		}
		sys := Metric
		if imperial {
			sys = Imperial
		}
		r := Round(v, low, high, Unit(u), sys)
		var read [3]float64
		for i, text := range []string{r.Low, r.Value, r.High} {
			n, err := parseNumber(text)
			if err != nil {
				t.Fatalf("%v (%v to %v) is written %v", v, low, high, r)
			}
			if text[0] == '-' && n == 0 {
				t.Fatalf("a negative zero in %v", r)
			}
			read[i] = n
		}
		if read[0] > read[1] || read[1] > read[2] {
			t.Fatalf("%v (%v to %v) is written out of order: %v", v, low, high, r)
		}
	})
}

// What ParseTime takes reads the same as RFC 3339, and as FormatTime writes it,
// cut to the minute; ParseDate gives midnights UTC that read the same.
func FuzzParseTime(f *testing.F) {
	for _, text := range []string{"2026-05-03T18:30:00+02:00", "3 May 18:30", "yesterday 18:30", "sunday 9:00", "2 h ago", "in 2 weeks", "6 pm", "2026-10-25 02:30", "2026-03-29 02:30", "29 feb 2024", "3/5/2026", "now", "tomorrow 0:00 z"} {
		f.Add(text, int64(1_780_000_000))
		f.Add(text, int64(1_792_890_000))
	}
	berlin := zone(f, "Europe/Berlin")
	f.Fuzz(func(t *testing.T, text string, seconds int64) {
		if seconds < 0 || seconds > 7e9 {
			return
		}
		now := time.Unix(seconds, 0).In(berlin)
		if day, err := ParseDate(text, now); err == nil {
			again, err := ParseDate(day.Format(time.DateOnly), now)
			if err != nil || !again.Equal(day) || day.Location() != time.UTC {
				t.Fatalf("%q is the date %v, which reads as %v, %v", text, day, again, err)
			}
		}
		got, err := ParseTime(text, now)
		if err != nil {
			oneLine(t, err)
			return
		}
		again, err := ParseTime(got.Format(time.RFC3339Nano), now)
		if err != nil || !again.Equal(got) {
			t.Fatalf("%q reads as %v, which reads as %v, %v", text, got, again, err)
		}
		if y := got.In(berlin).Year(); y < FirstYear || y > LastYear {
			return // FormatTime's zone may lead out of the years
		}
		back, err := ParseTime(FormatTime(got, now), now)
		if err != nil || !back.Equal(got.Truncate(time.Minute)) {
			t.Fatalf("%q reads as %v; %q as %v, %v", text, got, FormatTime(got, now), back, err)
		}
	})
}

// rfc3339 is the grammar of RFC 3339, 5.6; the standard library also takes hours
// of one digit, decimal commas and offsets of 60 minutes.
var rfc3339 = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,18})?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9])$`)

// What ParseTime takes of RFC 3339 agrees with the standard library's reading.
func FuzzParseRFC3339(f *testing.F) {
	f.Add("2026-05-03T18:30:00+02:00")
	f.Add("2026-05-03T18:30:00.123456789Z")
	f.Fuzz(func(t *testing.T, text string) {
		want, err := time.Parse(time.RFC3339, text)
		if err != nil || !rfc3339.MatchString(text) || want.Year() < FirstYear || want.Year() > LastYear {
			return
		}
		got, err := ParseTime(text, time.Unix(1_780_000_000, 0))
		if err != nil || !got.Equal(want) {
			t.Fatalf("%q: %v, %v; want %v", text, got, err, want)
		}
	})
}

// No list makes Spark panic; it draws one sign a value.
func FuzzSpark(f *testing.F) {
	f.Add(1.0, 2.0, math.NaN(), 4)
	f.Fuzz(func(t *testing.T, a, b, c float64, width int) {
		list := Shrink([]float64{a, b, c, a, c}, width%7)
		if got := Spark(list); utf8.RuneCountInString(got) != len(list) {
			t.Fatalf("%v: %q", list, got)
		}
	})
}
