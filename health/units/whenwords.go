package units

import (
	"strconv"
	"strings"
	"time"
)

// takeClock reads the time of day among the words, with am or pm behind it, and
// returns the other words.
func (w *when) takeClock(words []string) []string {
	for i, word := range words {
		half, n := "", 1
		if i+1 < len(words) && (words[i+1] == "am" || words[i+1] == "pm") {
			half, n = words[i+1], 2
		} else if strings.HasSuffix(word, "am") || strings.HasSuffix(word, "pm") {
			half, word = word[len(word)-2:], word[:len(word)-2]
		}
		if c, ok := readClock(word, half); ok {
			w.clock = &c
			return append(append([]string(nil), words[:i]...), words[i+n:]...)
		}
	}
	return words
}

// readClock reads h:mm, hh:mm:ss, seconds with decimals, and with half ("am" or
// "pm") an hour alone.
func readClock(s, half string) (clock, bool) {
	parts := strings.Split(s, ":")
	if len(parts) > 3 || len(parts) == 1 && half == "" {
		return clock{}, false
	}
	var c clock
	var ok bool
	if c.hour, ok = digits(parts[0], 1, 2); !ok || c.hour > 23 {
		return clock{}, false
	}
	if len(parts) > 1 {
		if c.minute, ok = digits(parts[1], 2, 2); !ok || c.minute > 59 {
			return clock{}, false
		}
	}
	if len(parts) > 2 {
		whole, fraction, point := strings.Cut(parts[2], ".")
		if c.second, ok = digits(whole, 2, 2); !ok || c.second > 59 {
			return clock{}, false
		}
		if point {
			if _, ok = digits(fraction, 1, 18); !ok {
				return clock{}, false
			}
			c.nano, _ = strconv.Atoi((fraction + "00000000")[:9])
		}
	}
	if half != "" {
		if c.hour < 1 || c.hour > 12 {
			return clock{}, false
		}
		c.hour %= 12
		if half == "pm" {
			c.hour += 12
		}
	}
	return c, true
}

// digits reads a number of from least to most digits and nothing else.
func digits(s string, least, most int) (int, bool) {
	if len(s) < least || len(s) > most || leadingDigits(s) != len(s) {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil
}

// takeZone reads Z, UTC or an offset such as +02:00 where there is a time of
// day, and returns the other words.
func (w *when) takeZone(words []string) []string {
	n := len(words)
	if w.clock == nil || n == 0 {
		return words
	}
	for i, word := range words {
		zone, ok := readZone(word)
		if ok {
			w.zone = zone
			return append(append([]string(nil), words[:i]...), words[i+1:]...)
		}
	}
	return words
}

func readZone(word string) (*time.Location, bool) {
	if word == "z" || word == "utc" {
		return time.UTC, true
	}
	if len(word) != 6 || word[0] != '+' && word[0] != '-' || word[3] != ':' {
		return nil, false
	}
	h, ok1 := digits(word[1:3], 2, 2)
	m, ok2 := digits(word[4:], 2, 2)
	if !ok1 || !ok2 || h > 23 || m > 59 {
		return nil, false
	}
	seconds := h*3600 + m*60
	if word[0] == '-' {
		seconds = -seconds
	}
	if seconds == 0 {
		return time.UTC, true
	}
	return time.FixedZone("", seconds), true
}

// takeWeekday reads the name of a weekday, alone or before a date, and returns
// the other words.
func (w *when) takeWeekday(words []string) []string {
	if len(words) == 0 {
		return words
	}
	for day := time.Sunday; day <= time.Saturday; day++ {
		if abbreviates(words[0], day.String()) {
			w.weekday = &day
			return words[1:]
		}
	}
	return words
}

// abbreviates reports whether word is at least the first three letters of name,
// a full stop behind it or not.
func abbreviates(word, name string) bool {
	word = strings.TrimSuffix(word, ".")
	return len(word) >= 3 && strings.HasPrefix(strings.ToLower(name), word)
}

// takeDay reads the words that are left as a day.
func (w *when) takeDay(words []string, now time.Time) bool {
	if away, ok := daysAway(words, now); ok {
		d := civilOf(now).add(away)
		w.day = &d
		return w.weekday == nil
	}
	if len(words) == 1 {
		d, ok := isoDate(words[0])
		w.day = &d
		return ok
	}
	d, yearless, ok := namedMonth(words)
	w.day, w.yearless = &d, yearless
	return ok
}

// mostDaysAway is how far a number of days may lead: some decades.
const mostDaysAway = 40_000

// daysAway reads today, yesterday, tomorrow, "3 days ago", "in 2 weeks" and "in 4 months",
// seen from now.
func daysAway(words []string, now time.Time) (int, bool) {
	switch len(words) {
	case 1:
		switch words[0] {
		case "today":
			return 0, true
		case "yesterday":
			return -1, true
		case "tomorrow":
			return 1, true
		}
	case 2: // 3d ago, in 2weeks
		number, unit := words[0], words[1]
		if n := leadingDigits(number); words[1] == "ago" && n > 0 {
			return daysAway([]string{number[:n], number[n:], "ago"}, now)
		} else if n = leadingDigits(unit); number == "in" && n > 0 {
			return daysAway([]string{"in", unit[:n], unit[n:]}, now)
		}
	case 3:
		sign, number, unit := -1, words[0], words[1]
		if words[0] == "in" {
			sign, number, unit = 1, words[1], words[2]
		} else if words[2] != "ago" {
			return 0, false
		}
		n, ok := digits(number, 1, 5)
		if number == "a" {
			n, ok = 1, true
		}
		switch unit {
		case "d", "day", "days":
		case "week", "weeks", "wk", "wks":
			n *= 7
		case "month", "months":
			if !ok || n > mostDaysAway/30 {
				return 0, false
			}
			return monthsAway(sign*n, now), true
		default:
			return 0, false
		}
		return sign * n, ok && n <= mostDaysAway
	}
	return 0, false
}

// monthsAway is how many days lie between now and the same day so many months on, or the last
// of that month where it has no such day.
func monthsAway(months int, now time.Time) int {
	day := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	then := day.AddDate(0, months, 0)
	if then.Day() != day.Day() { // it ran over into the next month
		then = then.AddDate(0, 0, -then.Day())
	}
	return int(then.Sub(day).Hours() / 24)
}

func looksISO(s string) bool { _, ok := isoDate(s); return ok }

// isoDate reads YYYY-MM-DD and YYYY/MM/DD.
func isoDate(s string) (civil, bool) {
	if len(s) != 10 || s[4] != s[7] || s[4] != '-' && s[4] != '/' {
		return civil{}, false
	}
	y, ok1 := digits(s[:4], 4, 4)
	m, ok2 := digits(s[5:7], 2, 2)
	d, ok3 := digits(s[8:], 2, 2)
	return civil{y, time.Month(m), d}, ok1 && ok2 && ok3
}

// namedMonth reads "3 may", "may 3rd", "3. may 2026" and "may 3 2026".
func namedMonth(words []string) (d civil, yearless, ok bool) {
	if len(words) != 2 && len(words) != 3 {
		return d, false, false
	}
	day, month := words[0], words[1]
	if leadingDigits(day) == 0 {
		day, month = month, day
	}
	n := leadingDigits(day)
	switch day[n:] {
	case "", ".", "st", "nd", "rd", "th":
	default:
		return d, false, false
	}
	if d.day, ok = digits(day[:n], 1, 2); !ok {
		return d, false, false
	}
	for m := time.January; m <= time.December; m++ {
		if abbreviates(month, m.String()) || month == "sept" && m == time.September {
			d.month = m
		}
	}
	if d.month == 0 {
		return d, false, false
	}
	if len(words) == 2 {
		return d, true, true
	}
	d.year, ok = digits(words[2], 4, 4)
	return d, false, ok
}

// numericDate returns a hint where word is a date of numbers alone that is not
// YYYY-MM-DD, "" where it is not.
func numericDate(word string) string {
	if _, ok := isoDate(word); ok {
		return ""
	}
	parts := strings.FieldsFunc(word, func(r rune) bool { return r == '/' || r == '.' || r == '-' })
	if len(parts) < 2 || len(parts) > 3 || leadingDigits(word) == 0 {
		return ""
	}
	for _, p := range parts {
		if _, ok := digits(p, 1, 4); !ok {
			return ""
		}
	}
	return "want a date as 2026-05-03 or 3 May, since some read day and month, some month and day; a time of day as 18:30"
}
