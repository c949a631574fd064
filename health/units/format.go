package units

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// System is the system of units that a rider prefers to read and type.
type System uint8

// The systems. Electrical quantities and times are the same in both.
const (
	Metric System = iota
	Imperial
)

// String returns "metric" or "imperial".
func (s System) String() string {
	if s == Imperial {
		return "imperial"
	}
	return "metric"
}

// ParseSystem reads "metric" or "imperial", in any case.
func ParseSystem(text string) (System, error) {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "metric":
		return Metric, nil
	case "imperial":
		return Imperial, nil
	}
	return Metric, refuse(text, "want metric or imperial")
}

// Unknown stands for a figure that is not known.
const Unknown = "unknown"

var imperial = map[Unit]string{Km: "mi", Kmh: "mph", Kg: "lb", Kpa: "psi", Celsius: "°F", Metre: "ft", WhPerKm: "Wh/mi"}

// usual returns the unit in which the system shows u: the canonical one unless
// the system has its own.
func usual(u Unit, sys System) spelling {
	list := spellingsOf(u)
	if sys == Imperial {
		for _, s := range list {
			if name, ok := imperial[u]; ok && s.symbol == name {
				return s
			}
		}
	}
	if len(list) == 0 {
		return spelling{Scale: times(1)}
	}
	return list[0]
}

// In returns v, in the canonical unit u, as a number in the system's own unit,
// and the symbol of that unit: what an axis or a table column needs.
func In(v float64, u Unit, sys System) (float64, string) {
	s := usual(u, sys)
	if s.mul == s.div && s.zero == 0 {
		return v + 0, s.symbol
	}
	return s.From(v), s.symbol
}

// Symbol returns the symbol of the unit in which the system shows u.
func Symbol(u Unit, sys System) string { return usual(u, sys).symbol }

// Format writes v, in the canonical unit u, for people in the system's unit:
// four significant figures at most, whole digits always kept, no zeros behind;
// durations in hours and minutes. Unknown stands for a v that is not finite.
// Parse reads the result back as v within that rounding, for every unit.
func Format(v float64, u Unit, sys System) string {
	var room [32]byte
	return string(AppendFormat(room[:0], v, u, sys))
}

// AppendFormat appends to dst what Format returns.
func AppendFormat(dst []byte, v float64, u Unit, sys System) []byte {
	switch {
	case !finite(v):
		return append(dst, Unknown...)
	case u == Min:
		return append(dst, formatMinutes(v)...)
	case u == Days && significant(v) == "1":
		return append(dst, "1 day"...)
	}
	x, symbol := In(v, u, sys)
	return appendSymbol(appendSignificant(dst, x), symbol)
}

// join puts a symbol behind a number: with a space, but for an angle.
func join(number, symbol string) string {
	return string(appendSymbol([]byte(number), symbol))
}

func appendSymbol(number []byte, symbol string) []byte {
	if symbol != "" && symbol != "°" {
		number = append(number, ' ')
	}
	return append(number, symbol...)
}

// significant rounds x to four significant figures, or to whole digits where
// there are more.
func significant(x float64) string { return string(appendSignificant(nil, x)) }

func appendSignificant(dst []byte, x float64) []byte {
	const figures = 4
	if x == 0 {
		return append(dst, '0')
	}
	if math.Abs(x) < everydayMost {
		e := exponent(x, figures)
		long := appendFixed(dst, x, max(0, figures-1-e))
		text := long[len(dst):]
		if e > -6 && e < 11 || everyday(string(text)) { // within a digit of the bounds the rounding decides
			return long[:len(dst)+len(trimZeros(text))]
		}
	}
	return strconv.AppendFloat(dst, x, 'e', figures-1, 64)
}

// everyday tells whether a number, as rounded to the text, is written without
// an exponent: the rounding may carry it over a bound.
func everyday(text string) bool {
	a, err := strconv.ParseFloat(strings.TrimPrefix(text, "-"), 64)
	return err == nil && a >= everydayLeast && a < everydayMost
}

// What is at least everydayLeast and below everydayMost is written without an
// exponent.
const (
	everydayLeast = 1e-6
	everydayMost  = 1e12
)

// plain writes x in full: the shortest decimal that reads back as x.
func plain(x float64) string {
	if a := math.Abs(x); a >= everydayMost || a < everydayLeast && a != 0 {
		return strconv.FormatFloat(x, 'e', -1, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// exponent returns the power of ten of the leading digit of x once it has been
// rounded to so many significant figures; 0 for 0.
func exponent(x float64, figures int) int {
	if x == 0 {
		return 0
	}
	var room [32]byte
	s := strconv.AppendFloat(room[:0], x, 'e', figures-1, 64)
	n, _ := strconv.Atoi(string(s[bytes.IndexByte(s, 'e')+1:]))
	return n
}

// fixed writes x with that many decimals; a negative number of them rounds to
// tens, hundreds and so on. Zero has no sign.
func fixed(x float64, decimals int) string { return string(appendFixed(nil, x, decimals)) }

func appendFixed(dst []byte, x float64, decimals int) []byte {
	if decimals < 0 {
		p := math.Pow10(-decimals)
		x, decimals = math.Round(x/p)*p, 0
	}
	out := strconv.AppendFloat(dst, x, 'f', decimals, 64)
	if text := out[len(dst):]; text[0] == '-' && len(bytes.Trim(text, "-0.")) == 0 {
		out = append(dst, text[1:]...)
	}
	return out
}

// trimZeros cuts the zeros behind a decimal point, and the point where nothing
// is left behind it.
func trimZeros(text []byte) []byte {
	if bytes.IndexByte(text, '.') >= 0 {
		text = bytes.TrimRight(bytes.TrimRight(text, "0"), ".")
	}
	return text
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
