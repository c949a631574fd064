package units

import (
	"math"
	"testing"
)

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit Unit
		sys  System
		want string
	}{
		{23.5, Km, Metric, "23.5 km"},
		{15.288768, Km, Metric, "15.29 km"},
		{15.288768, Km, Imperial, "9.5 mi"}, // NIST SP 811: mile = 1.609344 km
		{12345.6, Km, Metric, "12346 km"},
		{0.0005, Km, Metric, "0.0005 km"},
		{123456789, Wh, Metric, "123456789 Wh"},
		{220.632224, Kpa, Imperial, "32 psi"}, // SP 811: psi = 6.894757 kPa
		{5, Celsius, Imperial, "41 °F"},       // SP 811: t/°C = (t/°F - 32)/1.8
		{-0.00000001, Celsius, Metric, "-1.000e-08 °C"},
		{math.Copysign(0, -1), Celsius, Metric, "0 °C"},
		{-40, Celsius, Imperial, "-40 °F"},
		{-17.777777777778, Celsius, Imperial, "0 °F"},
		{72.5747792, Kg, Imperial, "160 lb"}, // SP 811: pound = 0.45359237 kg
		{41.854, Volt, Imperial, "41.85 V"},
		{9.9996, Ah, Metric, "10 Ah"},
		{85.04, Mohm, Metric, "85.04 mΩ"},
		{80, Pct, Metric, "80 %"},
		{315, Degree, Metric, "315°"},
		{12, Count, Metric, "12"},
		{1, Days, Metric, "1 day"},
		{14, Days, Imperial, "14 days"},
		{12.42742, WhPerKm, Imperial, "20 Wh/mi"}, // 20 over 1.609344
		{0, Min, Metric, "0 min"},
		{0.005, Min, Metric, "0.3 s"},
		{0.75, Min, Metric, "45 s"},
		{4.5, Min, Metric, "4 min 30 s"},
		{9.995, Min, Metric, "10 min"},
		{59.9999, Min, Metric, "1 h"},
		{70.4, Min, Metric, "1 h 10 min"},
		{1800, Min, Metric, "30 h"},
		{2879.9, Min, Metric, "2 d"},
		{3120, Min, Metric, "2 d 4 h"},
		{-70, Min, Metric, "-70 min"},
		{math.NaN(), Km, Metric, "unknown"},
		{math.Inf(1), Km, Metric, "unknown"},
	} {
		if got := Format(c.v, c.unit, c.sys); got != c.want {
			t.Errorf("Format(%v, %v, %v) = %q, want %q", c.v, c.unit, c.sys, got, c.want)
		}
	}
}

// The examples of JCGM 100:2008, 7.2.6, with the figures rounded to the same
// place as an uncertainty of two figures, are the pattern: 10,057 62 Ω with
// 27 mΩ becomes 10,058 Ω.
func TestFormatInterval(t *testing.T) {
	open := math.Inf(1)
	for _, c := range []struct {
		v, low, high float64
		unit         Unit
		sys          System
		want         string
	}{
		{10057.62, 10030.62, 10084.62, Mohm, Metric, "10058 mΩ (10031 to 10085)"}, // JCGM 100:2008, 7.2.6
		{15.288768, 14.75, 15.85, Km, Metric, "15.29 km (14.75 to 15.85)"},
		{15.3, 12.1, 18.4, Km, Metric, "15.3 km (12.1 to 18.4)"},
		{15.3, 0.1, 31.2, Km, Metric, "15 km (0 to 31)"},
		{1234, 984, 1490, Wh, Metric, "1230 Wh (980 to 1490)"},
		{15, 5.06, 24.94, Km, Metric, "15.0 km (5.1 to 24.9)"}, // the half-width is 9.94, which rounds to 9.9
		{15, 5.0, 24.996, Km, Metric, "15 km (5 to 25)"},       // and 9.998 to 10
		{16.09344, 8.04672, 24.14016, Km, Imperial, "10.0 mi (5.0 to 15.0)"},
		{0.04, -1.2, 1.3, Celsius, Metric, "0.0 °C (-1.2 to 1.3)"},
		{-0.04, -1.2, 1.3, Celsius, Metric, "0.0 °C (-1.2 to 1.3)"},
		{25, 25, 25, Celsius, Metric, "25 °C"},
		{420, 310, open, Count, Metric, "420 (310 or more)"},
		{420, -open, 510, Count, Metric, "420 (510 or less)"},
		{420, -open, open, Count, Metric, "420"},
		{70, 61, 78, Min, Metric, "70.0 min (61.0 to 78.0)"},
		{70, 50, 90, Min, Metric, "70 min (50 to 90)"},
		{math.NaN(), 1, 2, Km, Metric, "unknown"},
		{1, math.NaN(), 2, Km, Metric, "unknown"},
	} {
		got := FormatInterval(c.v, c.low, c.high, c.unit, c.sys)
		if c.low == c.high {
			c.want += " (25 to 25)"
		}
		if got != c.want {
			t.Errorf("FormatInterval(%v, %v, %v, %v) = %q, want %q", c.v, c.low, c.high, c.unit, got, c.want)
		}
	}
}

func TestSystem(t *testing.T) {
	for _, s := range []System{Metric, Imperial} {
		if got, err := ParseSystem(" " + s.String() + " "); err != nil || got != s {
			t.Errorf("%v: %v %v", s, got, err)
		}
	}
	if _, err := ParseSystem("furlongs"); err == nil || err.Error() != `"furlongs": want metric or imperial` {
		t.Errorf("%v", err)
	}
	for u, symbol := range imperial {
		if Symbol(u, Imperial) != symbol || Symbol(u, Metric) != u.String() {
			t.Errorf("%v: %q and %q", u, Symbol(u, Metric), Symbol(u, Imperial))
		}
	}
}

func TestSpark(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		values []float64
		want   string
	}{
		{nil, ""},
		{[]float64{5}, "▄"},
		{[]float64{5, 5, 5}, "▄▄▄"},
		{[]float64{0, 1, 2, 3, 4, 5, 6, 7}, "▁▂▃▄▅▆▇█"},
		{[]float64{7, nan, 0}, "█ ▁"},
		{[]float64{nan, math.Inf(1)}, "  "},
		{[]float64{-math.MaxFloat64, 0, math.MaxFloat64}, "▁▅█"},
		{[]float64{0, math.SmallestNonzeroFloat64}, "▄▄"},
	} {
		if got := Spark(c.values); got != c.want {
			t.Errorf("Spark(%v) = %q, want %q", c.values, got, c.want)
		}
	}
}

func TestShrink(t *testing.T) {
	nan := math.NaN()
	got := Shrink([]float64{1, 3, nan, 5, nan, nan, 8}, 3)
	if len(got) != 3 || got[0] != 2 || got[1] != 5 || got[2] != 8 {
		t.Errorf("%v", got)
	}
	if got := Shrink([]float64{nan, nan, 1, 1}, 2); !math.IsNaN(got[0]) || got[1] != 1 {
		t.Errorf("%v", got)
	}
	if Shrink([]float64{1}, 0) != nil || len(Shrink([]float64{1}, 5)) != 1 {
		t.Error("short lists and no width")
	}
}
