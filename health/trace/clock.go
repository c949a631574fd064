package trace

import (
	"bytes"
	"strings"
)

// timeKind is how a column writes time.
type timeKind uint8

const (
	timeNumber timeKind = iota // a number in some unit
	timeClock                  // 13:05:09.5, 125:04:05, 2d 03:04:05, 1:05:09 PM
	timeStamp                  // a date and a time of day
	timeDate                   // a date alone, beside a column with the clock
)

// dateOrder is the order of year, month and day in a date of three numbers.
type dateOrder uint8

const (
	orderUnknown dateOrder = iota
	orderYMD
	orderDMY
	orderMDY
)

const daySeconds = 86400

// scan walks over the bytes of one field.
type scan struct {
	b []byte
	i int
}

func (s *scan) done() bool { return s.i >= len(s.b) }

func (s *scan) peek() byte {
	if s.done() {
		return 0
	}
	return s.b[s.i]
}

func (s *scan) spaces() {
	for !s.done() && s.b[s.i] == ' ' {
		s.i++
	}
}

// digits reads an unsigned number of 1 to 9 digits; n is their count, 0 where
// there is none.
func (s *scan) digits() (v, n int) {
	for !s.done() && s.b[s.i]-'0' <= 9 && n < 9 {
		v = v*10 + int(s.b[s.i]-'0')
		s.i++
		n++
	}
	return v, n
}

// fraction reads .5 or ,5 behind the seconds.
func (s *scan) fraction() float64 {
	if c := s.peek(); c != '.' && c != ',' {
		return 0
	}
	s.i++
	v, n := s.digits()
	for !s.done() && s.b[s.i]-'0' <= 9 {
		s.i++ // beyond a nanosecond
	}
	return float64(v) / pow10[n]
}

// word reads letters in lower case, up to 9 of them.
func (s *scan) word() string {
	start := s.i
	for !s.done() && (s.b[s.i]|0x20)-'a' < 26 && s.i-start < 9 {
		s.i++
	}
	return strings.ToLower(string(s.b[start:s.i]))
}

// parseClock reads a time of day or a duration with colons as seconds:
// h:mm:ss, with days before it ("2d 03:04:05", "2 days 03:04:05", "2-03:04:05"),
// a fraction, or AM and PM behind it. Two numbers are mm:ss where minutes is
// set, else h:mm.
func parseClock(field []byte, minutes bool) (sec float64, ok bool) {
	s := scan{b: bytes.TrimSpace(unquote(field))}
	negative := s.peek() == '-'
	if negative {
		s.i++
	}
	first, n := s.digits()
	if n == 0 {
		return 0, false
	}
	days := 0
	if s.peek() != ':' {
		if days, ok = first, s.daySign(); !ok {
			return 0, false
		}
		if first, n = s.digits(); n == 0 {
			return 0, false
		}
	}
	sec, ok = s.clock(first, minutes)
	if s.spaces(); !ok || !s.done() {
		return 0, false
	}
	sec += float64(days) * daySeconds
	if negative {
		sec = -sec
	}
	return sec, true
}

func (s *scan) daySign() bool {
	if s.peek() == '-' || s.peek() == '.' {
		s.i++
		return true
	}
	s.spaces()
	switch s.word() {
	case "d", "day", "days":
		if s.peek() == ',' {
			s.i++
		}
		s.spaces()
		return true
	}
	return false
}

// clock reads :mm:ss.f and AM or PM behind hours that were read already.
func (s *scan) clock(hours int, minutes bool) (sec float64, ok bool) {
	if s.peek() != ':' {
		return 0, false
	}
	s.i++
	mm, n := s.digits()
	if n == 0 || n > 2 || mm > 59 {
		return 0, false
	}
	if s.peek() != ':' {
		if minutes {
			return float64(hours)*60 + float64(mm) + s.fraction(), true
		}
		return s.halfDay(hours, float64(mm)*60)
	}
	s.i++
	ss, n := s.digits()
	if n == 0 || n > 2 || ss > 60 {
		return 0, false
	}
	if s.peek() == ':' { // 13:05:09:250, as some loggers write milliseconds
		s.i++
		ms, n := s.digits()
		return float64(hours)*3600 + float64(mm*60+ss) + float64(ms)/1000, n == 3
	}
	return s.halfDay(hours, float64(mm*60+ss)+s.fraction())
}

func (s *scan) halfDay(hours int, rest float64) (sec float64, ok bool) {
	at := s.i
	s.spaces()
	switch s.word() {
	case "am":
		if hours == 12 {
			hours = 0
		}
	case "pm":
		if hours < 12 {
			hours += 12
		}
	default:
		s.i = at
	}
	return float64(hours)*3600 + rest, true
}

// stamp is a date and a time of day as a field says it.
type stamp struct {
	sec   float64 // since 1970-01-01 00:00, in UTC where zoned, else on the logger's own clock
	zoned bool
}

// parseStamp reads a date and, unless dateOnly, a time of day behind it.
func parseStamp(field []byte, order dateOrder, dateOnly bool) (st stamp, ok bool) {
	s := scan{b: bytes.TrimSpace(unquote(field))}
	a, b, c, ok := s.threeParts()
	if !ok {
		return st, false
	}
	day, ok := civilDay(a, b, c, order)
	if !ok {
		return st, false
	}
	st.sec = float64(day) * daySeconds
	if s.peek() == ',' {
		s.i++
	}
	if c := s.peek(); c == 'T' || c == 't' || c == '_' || c == '-' {
		s.i++
	}
	s.spaces()
	if s.done() {
		return st, dateOnly
	}
	hours, n := s.digits()
	if n == 0 || n > 2 || hours > 24 {
		return st, false
	}
	sec, ok := s.clock(hours, false)
	if !ok {
		return st, false
	}
	if dateOnly {
		sec = 0
	}
	offset, zoned, ok := s.zone()
	st.sec += sec - offset
	st.zoned = zoned
	return st, ok && s.done()
}

// part is one of the three numbers of a date.
type part struct{ v, n int }

func (s *scan) threeParts() (a, b, c part, ok bool) {
	parts := [3]part{}
	for i := range parts {
		if i > 0 {
			switch s.peek() {
			case '-', '/', '.', ' ':
				s.i++
			default:
				return a, b, c, false
			}
			s.spaces()
		}
		if m := monthOf(s.b[s.i:]); m > 0 {
			s.word()
			parts[i] = part{m, 3}
			if s.peek() == ',' || s.peek() == '.' {
				s.i++
			}
			continue
		}
		parts[i].v, parts[i].n = s.digits()
		if n := parts[i].n; n == 0 || n == 3 || n > 4 {
			return a, b, c, false
		}
		if i == 1 && s.peek() == ',' { // May 3, 2026
			s.i++
			if s.peek() != ' ' {
				return a, b, c, false
			}
		}
	}
	return parts[0], parts[1], parts[2], true
}

const months = "janfebmaraprmayjunjulaugsepoctnovdec"

func monthOf(b []byte) int {
	if len(b) < 3 || (b[0]|0x20)-'a' >= 26 {
		return 0
	}
	name := strings.ToLower(string(b[:3]))
	if i := strings.Index(months, name); i >= 0 && i%3 == 0 {
		return i/3 + 1
	}
	return 0
}

// civilDay returns the days since 1970-01-01 of a date of three parts.
func civilDay(a, b, c part, order dateOrder) (day int, ok bool) {
	switch {
	case a.n == 4:
		return daysOf(a, b.v, c.v)
	case b.n == 3: // 3 May 2026
		return daysOf(c, b.v, a.v)
	case a.n == 3: // May 3 2026
		return daysOf(c, a.v, b.v)
	case order == orderDMY:
		return daysOf(c, b.v, a.v)
	case order == orderMDY:
		return daysOf(c, a.v, b.v)
	case order == orderYMD:
		return daysOf(a, b.v, c.v)
	}
	return 0, false
}

var monthDays = [13]int{0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// daysOf counts the days from 1970-01-01 in the proleptic Gregorian calendar
// with years that begin in March, so that the leap day is the last.
func daysOf(y part, m, d int) (days int, ok bool) {
	year := y.v
	if y.n == 2 {
		year += 2000
	}
	if m < 1 || m > 12 || d < 1 || d > monthDays[m] || year < 1900 || year > 9999 {
		return 0, false
	}
	if m <= 2 {
		year--
		m += 12
	}
	// (153m+2)/5 counts the days of the months from March on (31, 30, 31, 30, 31 again and again).
	return 365*year + year/4 - year/100 + year/400 + (153*(m-3)+2)/5 + d - 1 - 719468, true
}

// zone reads Z, UTC or an offset such as +02:00, -0330 or +02.
func (s *scan) zone() (seconds float64, zoned, ok bool) {
	s.spaces()
	switch c := s.peek(); c {
	case 0:
		return 0, false, true
	case '+', '-':
		s.i++
		hh, n := s.digits()
		mm := 0
		switch n {
		case 4:
			hh, mm = hh/100, hh%100
		case 1, 2:
			if s.peek() == ':' {
				s.i++
				mm, _ = s.digits()
			}
		default:
			return 0, false, false
		}
		seconds = float64(hh*3600 + mm*60)
		if c == '-' {
			seconds = -seconds
		}
		return seconds, true, hh <= 15 && mm < 60
	}
	switch s.word() {
	case "z", "utc", "gmt":
		return 0, true, true
	}
	return 0, false, false
}
