package units

import (
	"math"
	"strings"
)

// Scale converts numbers from one unit into the canonical unit of their
// dimension: canonical = (x - zero) * mul / div. The zero Scale is not valid.
type Scale struct{ zero, mul, div float64 }

// To returns x, a number in the scale's unit, in the canonical unit.
func (s Scale) To(x float64) float64 { return (x-s.zero)*s.mul/s.div + 0 }

// From returns v, a number in the canonical unit, in the scale's unit.
func (s Scale) From(v float64) float64 {
	x := v*s.div/s.mul + s.zero + 0
	if s.zero != 0 && math.Abs(x) < 1e-9 {
		return 0 // what is left of the last bits where the two scales cancel
	}
	return x
}

// times and over are the scales of a unit that is f canonical ones, and of one
// of which f make a canonical one.
func times(f float64) Scale { return Scale{0, f, 1} }
func over(f float64) Scale  { return Scale{0, 1, f} }

// spelling is one unit that a dimension is typed in, and the ways to write it.
type spelling struct {
	symbol string // the usual way: it is echoed, and named in errors
	// letters are further symbols. The case of their first letter, and of that
	// of symbol, matters where cased is set: mV is not MV.
	letters []string
	words   []string // names and symbols that may be written in any case
	Scale
	cased bool
	vague bool // means something else to other riders: not taken from people
	rare  bool // taken, but not named in errors
}

// SP811 below is NIST Special Publication 811 (2008), Guide for the Use of the
// International System of Units, appendix B.8 unless another part is named.
// Prefixes are those of its table 5; min, h and d those of its table 6.
var spellings = [...][]spelling{
	Km: {
		{symbol: "km", words: []string{"kms", "kilometre", "kilometres", "kilometer", "kilometers"}, Scale: times(1)},
		{symbol: "mi", words: []string{"mile", "miles"}, Scale: times(1.609344)}, // SP811: mile = 1.609 344 E+03 m, exact
		{symbol: "metres", words: []string{"metre", "meter", "meters"}, Scale: over(1000)},
		{symbol: "m", Scale: over(1000), cased: true, vague: true}, // metres on a map, miles on some road signs
		{symbol: "ft", words: []string{"feet", "foot"}, Scale: Scale{0, 0.3048, 1000}, rare: true},
	},
	Kmh: {
		{symbol: "km/h", words: []string{"kmh", "kph", "km/hr", "kmph"}, Scale: times(1)},
		{symbol: "mph", words: []string{"mi/h", "mi/hr", "miles/h"}, Scale: times(1.609344)}, // SP811: mile per hour = 1.609 344 km/h, exact
		{symbol: "m/s", words: []string{"mps"}, Scale: times(3.6)},                           // 3600 s/h over 1000 m/km
		{symbol: "kn", words: []string{"kt", "kts", "knot", "knots"}, Scale: times(1.852)},   // SP811: nautical mile = 1.852 E+03 m, exact; a knot is one an hour
	},
	Kg: {
		{symbol: "kg", words: []string{"kgs", "kilo", "kilos", "kilogram", "kilograms"}, Scale: times(1)},
		{symbol: "lb", words: []string{"lbs", "pound", "pounds"}, Scale: times(0.45359237)}, // SP811 footnote: the avoirdupois pound is 0.453 592 37 kg, exact
		{symbol: "g", words: []string{"gram", "grams"}, Scale: over(1000)},
	},
	Kpa: {
		{symbol: "kPa", words: []string{"kilopascal", "kilopascals"}, Scale: times(1)},
		{symbol: "bar", words: []string{"bars"}, Scale: times(100)},                                 // SP811: bar = 1.0 E+05 Pa, exact
		{symbol: "psi", words: []string{"psig", "lbf/in2", "lbf/in²"}, Scale: times(6.894757)},      // SP811: psi = 6.894 757 E+03 Pa
		{symbol: "Pa", words: []string{"pascal", "pascals"}, Scale: over(1000), rare: true},         // SP811 table 3
		{symbol: "hPa", words: []string{"mbar", "millibar"}, Scale: over(10), rare: true},           // SP811: millibar = 1.0 E+02 Pa, exact
		{symbol: "MPa", words: []string{"megapascal"}, Scale: times(1000), cased: true, rare: true}, // SP811 table 5
	},
	Celsius: {
		{symbol: "°C", words: []string{"C", "degC", "celsius", "degreescelsius"}, Scale: times(1)},
		{symbol: "°F", words: []string{"F", "degF", "fahrenheit", "degreesfahrenheit"}, Scale: Scale{32, 5, 9}}, // SP811: t/°C = (t/°F - 32)/1.8
		{symbol: "K", words: []string{"kelvin"}, Scale: Scale{273.15, 1, 1}, cased: true},                       // SP811: t/°C = T/K - 273.15
	},
	Min: {
		{symbol: "min", letters: []string{"m"}, words: []string{"min", "mins", "minute", "minutes"}, Scale: times(1), cased: true},
		{symbol: "h", words: []string{"hr", "hrs", "hour", "hours"}, Scale: times(60)},
		{symbol: "s", words: []string{"sec", "secs", "second", "seconds"}, Scale: over(60)},
		{symbol: "d", words: []string{"day", "days"}, Scale: times(1440), rare: true},
	},
	Ah: {
		{symbol: "Ah", words: []string{"amphour", "amphours", "ampere-hour", "ampere-hours"}, Scale: times(1)},
		{symbol: "mAh", words: []string{"milliamphour", "milliamphours"}, Scale: over(1000), cased: true},
	},
	Wh: {
		{symbol: "Wh", words: []string{"watthour", "watthours", "watt-hour", "watt-hours"}, Scale: times(1)},
		{symbol: "kWh", words: []string{"kilowatthour", "kilowatthours"}, Scale: times(1000)},
		{symbol: "mWh", Scale: over(1000), cased: true, rare: true},
	},
	Volt: {
		{symbol: "V", words: []string{"volt", "volts"}, Scale: times(1)},
		{symbol: "mV", words: []string{"millivolt", "millivolts"}, Scale: over(1000), cased: true},
	},
	Ampere: {
		{symbol: "A", words: []string{"amp", "amps", "ampere", "amperes"}, Scale: times(1)},
		{symbol: "mA", words: []string{"milliamp", "milliamps"}, Scale: over(1000), cased: true},
	},
	Mohm: {
		{symbol: "mΩ", letters: []string{"mohm", "mohms"}, words: []string{"milliohm", "milliohms"}, Scale: times(1), cased: true},
		{symbol: "Ω", words: []string{"ohm", "ohms"}, Scale: times(1000)},
		{symbol: "µΩ", words: []string{"microohm", "microohms", "µohm"}, Scale: over(1000), rare: true},
	},
	Millivolt: {
		{symbol: "mV", words: []string{"millivolt", "millivolts"}, Scale: times(1), cased: true},
		{symbol: "V", words: []string{"volt", "volts"}, Scale: times(1000)},
	},
	Pct: {
		{symbol: "%", words: []string{"percent", "pct"}, Scale: times(1)},
	},
	Metre: {
		{symbol: "m", words: []string{"metre", "metres", "meter", "meters"}, Scale: times(1), cased: true},
		{symbol: "ft", words: []string{"feet", "foot"}, Scale: times(0.3048)}, // SP811: foot = 3.048 E-01 m, exact
		{symbol: "km", words: []string{"kilometre", "kilometres", "kilometer", "kilometers"}, Scale: times(1000), rare: true},
	},
	Second: {
		{symbol: "s", words: []string{"sec", "secs", "second", "seconds"}, Scale: times(1)},
		{symbol: "ms", words: []string{"millisecond", "milliseconds"}, Scale: over(1000), cased: true},
		{symbol: "min", letters: []string{"m"}, words: []string{"min", "mins", "minute", "minutes"}, Scale: times(60), cased: true},
		{symbol: "h", words: []string{"hr", "hrs", "hour", "hours"}, Scale: times(3600), rare: true},
	},
	Days: {
		{symbol: "days", words: []string{"d", "day"}, Scale: times(1)},
		{symbol: "weeks", words: []string{"week", "wk", "wks"}, Scale: times(7)},
		// Means of the Gregorian calendar: 146 097 days in 400 years (ISO 8601-1).
		{symbol: "months", words: []string{"month"}, Scale: Scale{0, 146097, 4800}},
		{symbol: "years", words: []string{"year", "yr", "yrs"}, Scale: Scale{0, 146097, 400}},
	},
	Degree: {
		{symbol: "°", words: []string{"deg", "degree", "degrees"}, Scale: times(1)},
	},
	WhPerKm: {
		{symbol: "Wh/km", Scale: times(1)},
		{symbol: "Wh/mi", words: []string{"Wh/mile"}, Scale: over(1.609344)}, // SP811: mile, as above
		{symbol: "kWh/100km", Scale: times(10), rare: true},
	},
}

func spellingsOf(u Unit) []spelling {
	if int(u) < len(spellings) {
		return spellings[u]
	}
	return nil
}

// ScaleOf returns how to convert from the unit written as symbol, as in the
// header of a file, into the canonical unit; false where symbol is not a unit
// of that dimension. Unlike Parse it takes "m" for a metre of distance.
func ScaleOf(symbol string, canonical Unit) (Scale, bool) {
	s, ok := find(tidySymbol(tidy(symbol)), canonical)
	return s.Scale, ok
}

// find returns the spelling of unit u that typed, already tidied, stands for.
func find(typed string, u Unit) (spelling, bool) {
	for _, s := range spellingsOf(u) {
		if s.matches(typed) {
			return s, true
		}
	}
	return spelling{}, false
}

func (s spelling) matches(typed string) bool {
	for _, l := range s.letters {
		if sameLetters(l, typed, s.cased) {
			return true
		}
	}
	for _, w := range s.words {
		if strings.EqualFold(w, typed) {
			return true
		}
	}
	return sameLetters(s.symbol, typed, s.cased)
}

// sameLetters compares without regard to case, but for the first letter where
// cased is set: there it tells milli from mega, metre from mega, kelvin from kilo.
func sameLetters(symbol, typed string, cased bool) bool {
	return strings.EqualFold(symbol, typed) && (!cased || symbol[0] == typed[0])
}

// caseHint returns the spelling that typed would be if case did not matter.
func caseHint(typed string, u Unit) (string, bool) {
	for _, s := range spellingsOf(u) {
		if s.cased && !s.vague && (strings.EqualFold(s.symbol, typed) || len(s.letters) > 0 && strings.EqualFold(s.letters[0], typed)) {
			return s.symbol, true
		}
	}
	return "", false
}
