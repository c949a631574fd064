package units

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// longest is how much text is looked at, in bytes; no quantity or time that a
// person types is longer.
const longest = 80

// tidy brings the look-alikes that keyboards and other programs give into one
// form: unicode minus, every kind of space (narrow ones between groups of three
// digits go), degree signs.
func tidy(s string) string {
	s = dropGroupSpaces(lookAlikes.Replace(s))
	s = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

var lookAlikes = strings.NewReplacer(
	"\u2212", "-", // minus sign
	"\u00ba", "°", "\u02da", "°", "\u2103", "°C", "\u2109", "°F",
)

// tidySymbol drops the spaces inside a unit and a full stop at its end:
// "deg C", "km / h", "lbs.".
func tidySymbol(s string) string {
	return strings.TrimSuffix(strings.ReplaceAll(s, " ", ""), ".")
}

// dropGroupSpaces takes out the narrow and no-break spaces that part groups of
// three digits in print, as SI recommends: one before exactly three digits.
func dropGroupSpaces(s string) string {
	var b strings.Builder
	for i, r := range s {
		switch r {
		case '\u00a0', '\u2007', '\u2009', '\u202f':
			after := s[i+utf8.RuneLen(r):]
			if i > 0 && isDigit(s[i-1]) && leadingDigits(after) == 3 {
				continue
			}
		}
		b.WriteRune(r)
	}
	return b.String()
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func leadingDigits(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

// splitNumber parts tidied text into the number that it begins with and the
// unit behind it, both without spaces around them.
func splitNumber(s string) (number, symbol string) {
	i := 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	for i < len(s) && (isDigit(s[i]) || s[i] == '.' || s[i] == ',') {
		i++
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '-' || s[j] == '+') {
			j++
		}
		if n := leadingDigits(s[j:]); n > 0 {
			i = j + n
		}
	}
	return s[:i], strings.TrimSpace(s[i:])
}

var (
	errNotNumber = errors.New("not a number")
	errComma     = errors.New("ambiguous comma")
)

// parseNumber reads a decimal number as people write it: 23.5, 23,5, .5, 1e3,
// 1,234.5 and 1.234,5. One comma before exactly three digits may part decimals
// or thousands: errComma. Out of float64's range is errNotNumber.
func parseNumber(s string) (float64, error) {
	mantissa, exponent := s, ""
	if i := strings.IndexAny(s, "eE"); i >= 0 {
		mantissa, exponent = s[:i], s[i:]
	}
	plain, err := plainDecimal(mantissa)
	if err != nil {
		return 0, err
	}
	v, err := strconv.ParseFloat(plain+exponent, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, errNotNumber
	}
	return v + 0, nil
}

// plainDecimal rewrites a number without exponent so that a point parts the
// decimals and nothing parts the thousands.
func plainDecimal(s string) (string, error) {
	sign := ""
	if s != "" && (s[0] == '-' || s[0] == '+') {
		sign, s = s[:1], s[1:]
	}
	commas, points := strings.Count(s, ","), strings.Count(s, ".")
	switch {
	case strings.Trim(s, ".,") == "":
		return "", errNotNumber
	case commas == 0 && points <= 1:
		return sign + s, nil
	case commas == 1 && points == 0:
		whole, decimals, _ := strings.Cut(s, ",")
		if decimals == "" {
			return "", errNotNumber
		}
		if len(decimals) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0' {
			return "", errComma
		}
		return sign + whole + "." + decimals, nil
	case commas == 1 && strings.Index(s, ".") < strings.Index(s, ","): // 1.234.567,8
		return ungroup(sign, s, ".", ",")
	case points <= 1: // 1,234.5 and 1,234,567
		return ungroup(sign, s, ",", ".")
	}
	return "", errNotNumber
}

// ungroup drops the separators of the thousands, which must part groups of
// exactly three digits, all before the decimal mark.
func ungroup(sign, s, thousands, mark string) (string, error) {
	whole, decimals, _ := strings.Cut(s, mark)
	groups := strings.Split(whole, thousands)
	for i, g := range groups {
		if len(g) != 3 && (i > 0 || len(g) == 0 || len(g) > 3) || leadingDigits(g) != len(g) {
			return "", errNotNumber
		}
	}
	if leadingDigits(decimals) != len(decimals) {
		return "", errNotNumber
	}
	return sign + strings.Join(groups, "") + "." + decimals, nil
}

// round14 rounds v to 14 significant figures, so that a converted number does
// not carry the noise of its last bits into the records.
func round14(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 13, 64), 64)
	if err != nil {
		return v
	}
	return r + 0
}
