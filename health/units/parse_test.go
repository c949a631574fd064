package units

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// SP811 in these tables is NIST Special Publication 811 (2008), appendix B.8.
// Rows that follow from a definition alone name no source.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		unit Unit
		want float64
		echo string
	}{
		{"9.5 mi", Km, 15.288768, "9.5 mi"},    // SP811: mile = 1.609344 E+03 m
		{"1 mile", Km, 1.609344, "1 mi"},       // SP811
		{"5280 ft", Km, 1.609344, "5280 ft"},   // NIST Handbook 44, appendix C: 5280 ft = 1 mi
		{"60mph", Kmh, 96.56064, "60 mph"},     // SP811: mile per hour = 1.609344 km/h
		{"4.4704 m/s", Kmh, 16.09344, ""},      // SP811: mile per hour = 4.4704 E-01 m/s
		{"1 kn", Kmh, 1.852, "1 kn"},           // SP811: knot, from a nautical mile of 1852 m
		{"1 psi", Kpa, 6.894757, "1 psi"},      // SP811: psi = 6.894757 E+03 Pa
		{"32 PSI", Kpa, 220.632224, "32 psi"},  // 32 times that
		{"2.1 bar", Kpa, 210, "2.1 bar"},       // SP811: bar = 1.0 E+05 Pa
		{"0.2 MPa", Kpa, 200, "0.2 MPa"},       //
		{"2000 lb", Kg, 907.18474, "2000 lb"},  // SP811: short ton = 9.071847 E+02 kg
		{"160 lbs.", Kg, 72.5747792, "160 lb"}, // SP811: pound = 0.45359237 kg
		{"100 ft", Metre, 30.48, "100 ft"},     // SP811: foot = 3.048 E-01 m
		{"32 F", Celsius, 0, "32 °F"},          // SP811: t/°C = (t/°F - 32)/1.8, also the next two
		{"212°F", Celsius, 100, "212 °F"},
		{"-40 deg F", Celsius, -40, "-40 °F"},
		{"41 f", Celsius, 5, "41 °F"},
		{"298.15 K", Celsius, 25, "298.15 K"}, // SP811: t/°C = T/K - 273.15
		{"\u22125 \u2103", Celsius, -5, "-5 °C"},
		{"5 ºC", Celsius, 5, "5 °C"},
		{"23,5 km", Km, 23.5, "23.5 km"},
		{"23,50", Km, 23.5, "23.5 km"},
		{"0,125 km", Km, 0.125, "0.125 km"},
		{"1,234.5 km", Km, 1234.5, "1234.5 km"},
		{"1.234,5 km", Km, 1234.5, "1234.5 km"},
		{"1.234.567,5 km", Km, 1234567.5, "1234567.5 km"},
		{"1,234,567 km", Km, 1234567, "1234567 km"},
		{"1\u202f234 km", Km, 1234, "1234 km"},
		{"12\u2009345\u2009678 m", Metre, 12345678, "12345678 m"},
		{" .5\u00a0km ", Km, 0.5, "0.5 km"},
		{"+3 km", Km, 3, "3 km"},
		{"1e3 m", Metre, 1000, "1000 m"},
		{"250 metres", Km, 0.25, "250 metres"},
		{"-0 km", Km, 0, "0 km"},
		{"1h10m", Min, 70, "1 h 10 min"},
		{"1h10", Min, 70, "1 h 10 min"},
		{"1 h 10 min", Min, 70, "1 h 10 min"},
		{"1 hour 10 minutes 30 s", Min, 70.5, "1 h 10 min 30 s"},
		{"1:10:30", Min, 70.5, "1:10:30"},
		{"2 d 4 h", Min, 3120, "2 d 4 h"},
		{"70 min", Min, 70, "70 min"},
		{"70", Min, 70, "70 min"},
		{"1.5 h", Min, 90, "1.5 h"},
		{"45s", Min, 0.75, "45 s"},
		{"45s", Second, 45, "45 s"},
		{"250 ms", Second, 0.25, "250 ms"},
		{"1m30s", Second, 90, "1 min 30 s"},
		{"10400 mAh", Ah, 10.4, "10400 mAh"},
		{"10.4 ah", Ah, 10.4, "10.4 Ah"},
		{"0.35 kWh", Wh, 350, "0.35 kWh"},
		{"350 WH", Wh, 350, "350 Wh"},
		{"4123 mV", Volt, 4.123, "4123 mV"},
		{"0.012 V", Millivolt, 12, "0.012 V"},
		{"12 mv", Millivolt, 12, "12 mV"},
		{"1500 mA", Ampere, 1.5, "1500 mA"},
		{"85 mOhm", Mohm, 85, "85 mΩ"},
		{"85 mΩ", Mohm, 85, "85 mΩ"},
		{"85 m\u2126", Mohm, 85, "85 mΩ"}, // ohm sign
		{"0.085 ohm", Mohm, 85, "0.085 Ω"},
		{"900 \u03bcΩ", Mohm, 0.9, "900 µΩ"}, // Greek mu
		{"80 per cent", Pct, 80, "80 %"},
		{"80%", Pct, 80, "80 %"},
		{"2 weeks", Days, 14, "2 weeks"},
		{"400 years", Days, 146097, "400 years"}, // days in a Gregorian cycle (ISO 8601-1)
		{"nw", Degree, 315, "NW"},
		{"SSE", Degree, 157.5, "SSE"},
		{"270", Degree, 270, "270°"},
		{"12", Count, 12, "12"},
		{"20 Wh/mi", WhPerKm, 20 / 1.609344, "20 Wh/mi"},
	} {
		v, as, err := Parse(c.text, c.unit)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if math.Abs(v-c.want) > 1e-13*math.Abs(c.want) { // 14 figures
			t.Errorf("%q: %v %v, want %v", c.text, v, c.unit, c.want)
		}
		if c.echo != "" && as.String() != c.echo {
			t.Errorf("%q: echoed as %q, want %q", c.text, as, c.echo)
		}
		if again, _, err := Parse(as.String(), c.unit); err != nil || again != v {
			t.Errorf("%q: the echo %q reads as %v, %v; want %v", c.text, as, again, err, v)
		}
	}
}

func TestParseConvertsWithoutNoise(t *testing.T) {
	// 160 * 0.45359237 is 72.57477920000001 in float64; the records shall not say so.
	for _, c := range []struct {
		text string
		unit Unit
		want float64
	}{{"160 lb", Kg, 72.5747792}, {"9.5 mi", Km, 15.288768}, {"33 psi", Kpa, 227.526981}, {"4123 mV", Volt, 4.123}, {"72 F", Celsius, 22.222222222222}} {
		if v, _, err := Parse(c.text, c.unit); err != nil || v != c.want {
			t.Errorf("%q: %v, %v; want %v", c.text, v, err, c.want)
		}
	}
}

func TestParseInPreferredSystem(t *testing.T) {
	for _, c := range []struct {
		text string
		unit Unit
		want float64
		echo string
	}{
		{"9.5", Km, 15.288768, "9.5 mi"},
		{"9.5 km", Km, 9.5, "9.5 km"},
		{"32", Kpa, 220.632224, "32 psi"},
		{"41", Celsius, 5, "41 °F"},
		{"160", Kg, 72.5747792, "160 lb"},
		{"15", Kmh, 24.14016, "15 mph"},
		{"100", Metre, 30.48, "100 ft"},
		{"41.5", Volt, 41.5, "41.5 V"},
		{"12", Count, 12, "12"},
	} {
		v, as, err := ParseIn(c.text, c.unit, Imperial)
		if err != nil || v != c.want || as.String() != c.echo {
			t.Errorf("%q: %v %q %v; want %v %q", c.text, v, as, err, c.want, c.echo)
		}
	}
}

func TestTypedFormat(t *testing.T) {
	for _, c := range []struct {
		text  string
		unit  Unit
		value float64
		want  string
	}{
		{"9.5 mi", Km, 16.09344, "10 mi"},
		{"2.1 bar", Kpa, 225, "2.25 bar"},
		{"41 F", Celsius, 10, "50 °F"},
		{"1h10m", Min, 95, "1 h 35 min"},
		{"12", Count, 13, "13"},
		{"NW", Degree, 90, "90°"},
	} {
		_, as, err := Parse(c.text, c.unit)
		if err != nil || as.Format(c.value) != c.want {
			t.Errorf("%q: %q, %v; want %q", c.text, as.Format(c.value), err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	const wantKm = "want a distance in km, mi or metres; a number alone is in km"
	for _, c := range []struct {
		text string
		unit Unit
		want string
	}{
		{"", Km, wantKm},
		{"km", Km, wantKm},
		{"abc", Km, wantKm},
		{"9.5 furlongs", Km, wantKm},
		{"9.5 psi", Km, wantKm},
		{"NaN", Km, wantKm},
		{"Inf km", Km, wantKm},
		{"infinity", Km, wantKm},
		{"1e999 km", Km, wantKm},
		{"0x10", Km, wantKm},
		{"1_000", Km, wantKm},
		{"1 000 km", Km, wantKm},
		{"5-10 km", Km, wantKm},
		{"1.2.3 km", Km, wantKm},
		{"1,23,4 km", Km, wantKm},
		{"1,2345.6 km", Km, wantKm},
		{",", Km, wantKm},
		{"5,", Km, wantKm},
		{"--5", Km, wantKm},
		{"٥ km", Km, wantKm},
		{"5 km\x00", Km, wantKm},
		{"5 km\n", Km, wantKm},
		{"5 \xff", Km, wantKm},
		{strings.Repeat("1", longest+1), Km, wantKm},
		{"9 m", Km, "want m written out: it may be metres or miles"},
		{"1,234 km", Km, "want 1.234 or 1234: the comma may part decimals or thousands"},
		{"-1,234", Celsius, "want -1.234 or -1234: the comma may part decimals or thousands"},
		{"9.5 ± 0.2 km", Km, "want one number without a plus-minus"},
		{"9.5 +/- 0.2 km", Km, "want one number without a plus-minus"},
		{"4123 MV", Volt, "want mV: capital and small letters mean different units here"},
		{"85 MΩ", Mohm, "want mΩ: capital and small letters mean different units here"},
		{"85 MOhm", Mohm, "want mΩ: capital and small letters mean different units here"},
		{"3000 MAh", Ah, "want mAh: capital and small letters mean different units here"},
		{"100 M", Metre, "want m: capital and small letters mean different units here"},
		{"1,005,001,001,005H0", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"1h0.0000000000001m", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"1:10", Min, "want 1h10min or 1min10s: this may be hours and minutes, or minutes and seconds"},
		{"0:44", Min, "want 44min or 44s: this may be hours and minutes, or minutes and seconds"},
		{"0:00", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"0:75", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"48:30", Volt, "want a voltage in V or mV; a number alone is in V"},
		{"1h70m", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"10m1h", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"1.5h10m", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"1h-10m", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"1h10m5", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"1:60:00", Min, "want a duration in min, h or s such as 1h10m; a number alone is in min"},
		{"north", Degree, "want a direction in ° or as a compass point; a number alone is in °"},
		{"12 x", Count, "want a number without a unit"},
		{"12 Wh", Ah, "want a charge in Ah or mAh; a number alone is in Ah"},
		{"12 Ah", Wh, "want an energy in Wh or kWh; a number alone is in Wh"},
		{"1", Unit(200), ""},
	} {
		_, _, err := Parse(c.text, c.unit)
		if c.want == "" {
			if err != nil {
				t.Errorf("%q: %v", c.text, err)
			}
			continue
		}
		var e *ParseError
		if !errors.As(err, &e) || e.Want != c.want {
			t.Errorf("%q as %v: %v, want %q", c.text, c.unit, err, c.want)
		} else if strings.ContainsAny(err.Error(), "\n\x00") {
			t.Errorf("%q: the error is not one printable line: %q", c.text, err)
		}
	}
}

func TestParseErrorText(t *testing.T) {
	_, _, err := ParseIn("9.5 furlongs", Km, Imperial)
	if want := `"9.5 furlongs": want a distance in km, mi or metres; a number alone is in mi`; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	_, _, err = Parse(strings.Repeat("é", 60), Km)
	if want := `"` + strings.Repeat("é", 20) + `...": `; err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("%v, want it to begin with %s", err, want)
	}
	if _, _, err = Parse("", Count); err == nil || err.Error() != "want a number without a unit" {
		t.Errorf("%v", err)
	}
}

func TestParseList(t *testing.T) {
	for _, text := range []string{"4.112 4.11 4.108", "4.112, 4.11, 4.108", "4,112 4,11 4,108", "4.112;4.11;4.108 V", "4112 4110 4108 mV", "4112mV 4110mV 4108mV"} {
		list, err := ParseList(text, Volt)
		if text == "4,112 4,11 4,108" {
			if err == nil { // may be thousands of volts
				t.Errorf("%q: %v, want an error", text, list)
			}
			continue
		}
		if err != nil || len(list) != 3 || list[0] != 4.112 || list[1] != 4.11 || list[2] != 4.108 {
			t.Errorf("%q: %v, %v", text, list, err)
		}
	}
	for _, text := range []string{"", "V", " ; ", "4.1 x 4.2", "4.1 4.2 A", "4.1 NaN", strings.Repeat("4 ", 3000)} {
		if list, err := ParseList(text, Volt); err == nil {
			t.Errorf("%q: %v, want an error", text, list)
		}
	}
}

func TestScaleOf(t *testing.T) {
	for _, c := range []struct {
		symbol string
		unit   Unit
		x, v   float64
	}{
		{"m", Km, 1500, 1.5}, // a file's header means metres
		{"ms", Second, 1500, 1.5},
		{"mA", Ampere, 2500, 2.5},
		{"degC", Celsius, 25, 25},
		{"°F", Celsius, 212, 100}, // SP811
		{"K", Celsius, 273.15, 0}, // SP811
	} {
		s, ok := ScaleOf(c.symbol, c.unit)
		if !ok || math.Abs(s.To(c.x)-c.v) > 1e-12 || math.Abs(s.From(c.v)-c.x) > 1e-12*c.x {
			t.Errorf("%s: %v %v %v", c.symbol, ok, s.To(c.x), s.From(c.v))
		}
	}
	if _, ok := ScaleOf("kV", Volt); ok {
		t.Error("kV is not a unit of a light vehicle's pack")
	}
	if _, ok := ScaleOf("", Volt); ok {
		t.Error("an empty symbol is no unit")
	}
}

// Every spelling is found under its own dimension and under no other entry, and
// there is a symbol and a noun for each unit.
func TestSpellings(t *testing.T) {
	for _, u := range All {
		seen := map[string]string{}
		for _, s := range spellingsOf(u) {
			for _, name := range append(append([]string{s.symbol}, s.letters...), s.words...) {
				got, ok := find(tidySymbol(tidy(name)), u)
				if !ok || got.symbol != s.symbol {
					t.Errorf("%v: %q is found as %q", u, name, got.symbol)
				}
				if other, twice := seen[name]; twice && other != s.symbol {
					t.Errorf("%v: %q stands for %q and %q", u, name, other, s.symbol)
				}
				seen[name] = s.symbol
			}
			if got := s.To(s.From(12.5)); math.Abs(got-12.5) > 1e-12 {
				t.Errorf("%v: %q there and back: %v", u, s.symbol, got)
			}
		}
		if list := spellingsOf(u); u != Count && (len(list) == 0 || list[0].Scale != times(1) || list[0].symbol != u.String()) {
			t.Errorf("%v: the first spelling is not the canonical unit", u)
		}
		if nouns[u] == "" {
			t.Errorf("%v has no noun", u)
		}
	}
	if len(symbols) != len(All)+1 || Unit(99).String() != "unit(99)" {
		t.Error("a unit without a symbol")
	}
}
