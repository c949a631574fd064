package trace

import (
	"bytes"
	"math"
	"strconv"
)

// maxExactDigits is how many decimal digits always fit into the 53 bits of a
// float64's significand: 10^15 < 2^53.
const maxExactDigits = 15

// pow10 holds the powers of ten that a float64 represents exactly and fixed
// needs: 10^0 to 10^15.
var pow10 = [maxExactDigits + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// fixed reads the plain decimal number (sign, digits, point, digits) at the
// beginning of b and returns it with the index behind it. The index is 0 where
// there is none or where it has more than maxExactDigits digits: the caller
// then goes the exact way round by slowNumber.
//
// The result is that of strconv.ParseFloat bit for bit: digits and power of
// ten are both exact in a float64, and one division rounds once (W. Clinger,
// How to read floating point numbers accurately, PLDI 1990, section on the
// fast path).
func fixed(b []byte, point byte) (v float64, end int) {
	i := 0
	negative := false
	if len(b) > 0 && b[0] == '-' {
		negative = true
		i = 1
	}
	start := i
	var m uint64
	for i < len(b) {
		d := b[i] - '0'
		if d > 9 {
			break
		}
		m = m*10 + uint64(d)
		i++
	}
	digits := i - start
	decimals := 0
	if i < len(b) && b[i] == point {
		i++
		start = i
		for i < len(b) {
			d := b[i] - '0'
			if d > 9 {
				break
			}
			m = m*10 + uint64(d)
			i++
		}
		decimals = i - start
		digits += decimals
	}
	if uint(digits-1) >= maxExactDigits {
		return 0, 0
	}
	v = float64(int64(m))
	if decimals > 0 {
		v /= pow10[decimals]
	}
	if negative {
		v = -v
	}
	return v, i
}

// slowNumber reads a whole field as a number, with spaces, quotes, a plus, an
// exponent or more digits than fixed takes. A field that is empty or says that
// nothing was measured gives NaN and ok. Infinities, hexadecimal numbers and
// underscores are not ok.
func slowNumber(field []byte, point byte) (v float64, ok bool) {
	field = unquote(bytes.TrimSpace(field))
	if isMissing(field) {
		return math.NaN(), true
	}
	var buf [64]byte
	if len(field) > len(buf) {
		return 0, false
	}
	text := buf[:0]
	for _, c := range bytes.Replace(field, []byte("\u2212"), []byte("-"), 1) {
		switch {
		case c == point:
			c = '.'
		case c == '.' || c == ',':
			return 0, false // the other mark would be a separator of thousands
		case c >= '0' && c <= '9', c == '-', c == '+', c == 'e', c == 'E':
		default:
			return 0, false
		}
		text = append(text, c)
	}
	v, err := strconv.ParseFloat(string(text), 64)
	return v, err == nil
}

// isMissing reports whether a field says that there is no value.
func isMissing(field []byte) bool {
	switch len(field) {
	case 0:
		return true
	case 1:
		return field[0] == '-' || field[0] == '?'
	case 2:
		return string(field) == "--" || bytes.EqualFold(field, []byte("na"))
	case 3:
		return bytes.EqualFold(field, []byte("nan")) || bytes.EqualFold(field, []byte("n/a")) || string(field) == "---"
	case 4:
		return bytes.EqualFold(field, []byte("null")) || bytes.EqualFold(field, []byte("none")) || bytes.EqualFold(field, []byte("-nan"))
	}
	return false
}

// unquote takes the quotes off a quoted field and the spaces inside them.
func unquote(field []byte) []byte {
	if n := len(field); n >= 2 && field[0] == '"' && field[n-1] == '"' {
		return bytes.TrimSpace(field[1 : n-1])
	}
	return field
}
