package logbook

import (
	"sync/atomic"
	"time"

	"packwane/health/units"
)

// What most logs hold is read here without the general parsers: numbers of a
// few digits and times to the second. Both give the same as those, to the last
// bit; where they would not, they decline.

// tens are the powers of ten that a float64 holds exactly, up to those needed.
var tens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18}

// plainNumber reads a JSON number without an exponent, whose digits fit 53 bits:
// both they and the power of ten are exact then, so that one division rounds
// correctly (W. D. Clinger, How to read floating point numbers accurately, 1990).
// False means that the number is of another kind; nothing was read then.
func (p *parser) plainNumber() (v float64, ok bool) {
	d, i := p.data, p.pos
	negative := i < len(d) && d[i] == '-'
	if negative {
		i++
	}
	var digits uint64
	start := i
	for ; i < len(d) && d[i]-'0' <= 9; i++ {
		digits = digits*10 + uint64(d[i]-'0')
	}
	whole, fraction := i-start, 0
	if whole == 0 || whole > 1 && d[start] == '0' {
		return 0, false
	}
	if i < len(d) && d[i] == '.' {
		dot := i
		for i++; i < len(d) && d[i]-'0' <= 9; i++ {
			digits = digits*10 + uint64(d[i]-'0')
		}
		if fraction = i - dot - 1; fraction == 0 {
			return 0, false
		}
	}
	if whole+fraction >= len(tens) || digits > 1<<53 || i < len(d) && (d[i] == 'e' || d[i] == 'E') {
		return 0, false
	}
	p.pos = i
	v = float64(digits) / tens[fraction]
	if negative && v != 0 {
		v = -v
	}
	return v, true
}

// plainTime reads a time in quotes as most are written: 2026-05-03T18:30:00Z, or
// with an offset such as +02:00. It returns how many bytes that took. False means
// that it is of another form, or no time.
func plainTime(d []byte) (t time.Time, n int, ok bool) {
	const least = len(`"2026-05-03T18:30:00Z"`)
	if len(d) < least || d[0] != '"' || d[5] != '-' || d[8] != '-' || d[11] != 'T' || d[14] != ':' || d[17] != ':' {
		return t, 0, false
	}
	bad := false
	two := func(i int) int {
		a, b := d[i]-'0', d[i+1]-'0'
		bad = bad || a > 9 || b > 9
		return int(a)*10 + int(b)
	}
	year, month, day := two(1)*100+two(3), two(6), two(9)
	hour, minute, second := two(12), two(15), two(18)
	offset := 0 // minutes
	switch c := d[20]; {
	case c == 'Z':
		n = least
	case (c == '+' || c == '-') && len(d) >= least+5 && d[23] == ':':
		h, m := two(21), two(24)
		if offset = h*60 + m; c == '-' {
			offset = -offset
		}
		bad = bad || h > 23 || m > 59
		n = least + 5
	default:
		return t, 0, false
	}
	if bad || d[n-1] != '"' || year < units.FirstYear || year > units.LastYear || month < 1 || month > 12 || day < 1 || day > daysIn(year, month) || hour > 23 || minute > 59 || second > 59 {
		return t, 0, false
	}
	seconds := daysSince1970(year, month, day)*86400 + int64(hour*3600+minute*60+second) - int64(offset)*60
	return time.Unix(seconds, 0).In(zoneOf(offset)), n, true
}

func daysIn(year, month int) int {
	if month == 2 && year%4 == 0 && (year%100 != 0 || year%400 == 0) {
		return 29
	}
	return [...]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[month-1]
}

// daysSince1970 counts the days by the Gregorian calendar, with the year taken
// to begin in March so that the leap day is its last.
func daysSince1970(year, month, day int) int64 {
	y, m := year, month-3
	if m < 0 {
		y, m = y-1, m+12
	}
	return int64(365*y + y/4 - y/100 + y/400 + (153*m+2)/5 + day - 1 - 719468)
}

// zones are the zones by their offset in minutes; each is made once.
var zones [2*24*60 - 1]atomic.Pointer[time.Location]

// zoneOf returns the zone of an offset of less than a day, in minutes.
func zoneOf(offset int) *time.Location {
	if offset == 0 {
		return time.UTC
	}
	at := &zones[offset+24*60-1]
	z := at.Load()
	if z == nil {
		z = time.FixedZone("", offset*60)
		at.Store(z)
	}
	return z
}
