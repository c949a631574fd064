package gpx

import (
	"math"
	"strconv"
	"strings"
	"time"
)

const xmlSpace = " \t\r\n"

// decimal reads a decimal number: what xsd:decimal allows, and an exponent.
// Infinities, hexadecimal and the rest that strconv would take are refused.
func decimal(s string) (float64, bool) {
	s = strings.Trim(s, xmlSpace)
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9', c == '.', c == '-', c == '+', c == 'e', c == 'E':
		default:
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// nanoDegrees reads degrees within ±most.
func nanoDegrees(s string, most float64) (int64, bool) {
	v, ok := decimal(s)
	if !ok || !(math.Abs(v) <= most) {
		return 0, false
	}
	return int64(math.Round(v * 1e9)), true
}

// milli reads a number between low and high in thousandths.
func milli(s string, low, high float64) (int32, bool) {
	v, ok := decimal(s)
	if !ok || !(v >= low && v <= high) {
		return 0, false
	}
	return int32(math.Round(v * 1e3)), true
}

// The times that a GPS receiver can give: GPS time began on 1980-01-06
// (IS-GPS-200), and xsd:dateTime has four digits for a year.
var (
	gpsEpochMs = time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC).UnixMilli()
	lastTimeMs = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC).UnixMilli()
)

// timestamp reads an xsd:dateTime to the millisecond; without a zone it is UTC,
// as GPX has it.
func timestamp(s string) (ms int64, ok bool) {
	s = strings.Trim(s, xmlSpace)
	if len(s) < 19 || s[4] != '-' || s[7] != '-' || (s[10] != 'T' && s[10] != ' ') || s[13] != ':' || s[16] != ':' {
		return 0, false
	}
	year, month, day := digits(s[0:4]), digits(s[5:7]), digits(s[8:10])
	hour, minute, second := digits(s[11:13]), digits(s[14:16]), digits(s[17:19])
	if year < 0 || month < 1 || month > 12 || day < 1 || hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 60 {
		return 0, false
	}
	midnight := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if midnight.Day() != day {
		return 0, false // such as February 30
	}
	ms = midnight.UnixMilli() + int64((hour*60+minute)*60+second)*1000
	rest := s[19:]
	if rest != "" && (rest[0] == '.' || rest[0] == ',') {
		var part int64
		part, rest, ok = fraction(rest[1:])
		if !ok {
			return 0, false
		}
		ms += part
	}
	offset, ok := zone(rest)
	ms -= offset
	return ms, ok && ms >= gpsEpochMs && ms <= lastTimeMs
}

// digits reads a number without a sign, or returns -1.
func digits(s string) int {
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return -1
		}
		n = n*10 + int(s[i]-'0')
	}
	return n
}

// fraction reads the digits behind the point as milliseconds, cut.
func fraction(s string) (ms int64, rest string, ok bool) {
	n, unit := 0, int64(100)
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		ms += int64(s[n]-'0') * unit
		unit /= 10
		n++
	}
	return ms, s[n:], n > 0
}

// zone reads "", "Z" or ±hh:mm as milliseconds east of UTC.
func zone(s string) (ms int64, ok bool) {
	if s == "" || s == "Z" || s == "z" {
		return 0, true
	}
	if len(s) == 6 && s[3] == ':' {
		s = s[:3] + s[4:]
	}
	if len(s) != 5 || (s[0] != '+' && s[0] != '-') {
		return 0, false
	}
	h, m := digits(s[1:3]), digits(s[3:5])
	if h < 0 || h > 14 || m < 0 || m > 59 {
		return 0, false
	}
	ms = int64(h*60+m) * 60_000
	if s[0] == '-' {
		ms = -ms
	}
	return ms, true
}
