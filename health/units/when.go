package units

import (
	"strings"
	"time"
	"unicode/utf8"
)

const (
	wantTime = `want a time such as "2026-05-03 18:30", "3 May 18:30", "yesterday 18:30", "sunday 9:00", "18:30" or "2 h ago"`
	wantDate = `want a date such as 2026-05-03, "3 May 2026" or "yesterday"`
)

// The years that are taken, typed and in the records.
const (
	FirstYear = 1970
	LastYear  = 2200
)

// ParseTime reads a point in time as a person types it, seen from now, whose
// location is the rider's:
//
//   - RFC 3339, and the same without seconds, without an offset, or with a space
//     for the T;
//   - "18:30", "6:30 pm": today; "today", "yesterday" and "tomorrow" with such a
//     time; "3 days ago 18:30", "in 2 weeks", "in 4 months";
//   - "3 May 18:30", "May 3 2026 18:30": without a year, the year that brings
//     it nearest to now;
//   - "sunday 9:00": the last one that is not after now;
//   - "now", "2 h ago", "in 30 min", to the second.
//
// A day without a time of day stands for its noon, or for now if its noon is
// yet to come today. Days as numbers parted by points or slashes are refused,
// because they are read as day and month in some places and as month and day in
// others. A time in the future is returned: the caller knows whether it may be.
//
// A local time that occurs twice is the first of the two, and one that the
// clocks skip is counted with the offset before the gap (both as RFC 5545,
// 3.3.5); an offset behind the time ("2:30 +01:00") chooses otherwise.
//
// The result is in now's location, or at the typed offset. The error is a
// *ParseError.
func ParseTime(text string, now time.Time) (time.Time, error) {
	w, err := readWhen(text, now)
	if err != nil {
		return time.Time{}, err
	}
	t, ok := w.time(now)
	if !ok || w.empty() {
		return time.Time{}, refuse(text, w.want(wantTime))
	}
	return t, nil
}

// ParseDate reads a calendar date as a person types it: any day that ParseTime
// takes, without a time of day. It is returned as midnight UTC.
func ParseDate(text string, now time.Time) (time.Time, error) {
	// Only the calendar matters here, and UTC skips no day of it.
	now = time.Date(now.Year(), now.Month(), now.Day(), 12, 0, 0, 0, time.UTC)
	w, err := readWhen(text, now)
	if err != nil {
		if e, ok := err.(*ParseError); ok && e.Want == wantTime {
			e.Want = wantDate
		}
		return time.Time{}, err
	}
	t, ok := w.time(now)
	if !ok || w.empty() || w.clock != nil || w.zone != nil || !w.instant.IsZero() {
		return time.Time{}, refuse(text, w.want(wantDate))
	}
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC), nil
}

// when is what a text says about a point in time.
type when struct {
	instant  time.Time // for "now" and "2 h ago"; the rest is then empty
	day      *civil
	yearless bool // day's year was not typed
	weekday  *time.Weekday
	clock    *clock
	zone     *time.Location // nil: now's
}

type civil struct {
	year  int
	month time.Month
	day   int
}

type clock struct{ hour, minute, second, nano int }

func (w when) empty() bool {
	return w.instant.IsZero() && w.day == nil && w.weekday == nil && w.clock == nil
}

// want says what would be accepted where w was read but is no time.
func (w when) want(otherwise string) string {
	if w.weekday != nil && w.day != nil {
		return "want a weekday and a date that agree"
	}
	return otherwise
}

// readWhen takes a text apart, one kind of word after the other.
func readWhen(text string, now time.Time) (when, error) {
	var w when
	if len(text) > longest || !utf8.ValidString(text) || strings.IndexFunc(text, unprintable) >= 0 {
		return w, refuse(text, wantTime)
	}
	words := whenWords(text)
	if t, ok := relative(words, now); ok {
		w.instant = t
		return w, nil
	}
	words = w.takeClock(words)
	words = w.takeZone(words)
	words = w.takeWeekday(words)
	for _, word := range words {
		if hint := numericDate(word); hint != "" {
			return w, refuse(text, hint)
		}
	}
	if len(words) > 0 && !w.takeDay(words, now) {
		return w, refuse(text, wantTime)
	}
	return w, nil
}

// whenWords parts a text into small-letter words. The T between date and time
// parts words too, and so does an offset behind a time.
func whenWords(text string) []string {
	s := strings.ToLower(strings.ReplaceAll(tidy(text)+" ", ", ", " "))
	if len(s) > 10 && s[10] == 't' && looksISO(s[:10]) {
		s = s[:10] + " " + s[11:]
	}
	var words []string
	for _, word := range strings.Fields(s) {
		if word == "at" || word == "on" {
			continue
		}
		i := strings.IndexByte(word, ':')
		if z := strings.IndexAny(word, "+-z"); i > 0 && z > i {
			words = append(words, word[:z], word[z:])
			continue
		}
		words = append(words, word)
	}
	return words
}

// relative reads "now", "2 h ago", "1h30m ago" and "in 30 min". Days and weeks
// are days of the calendar: takeDay has them.
func relative(words []string, now time.Time) (time.Time, bool) {
	n := len(words)
	sign, span := time.Duration(0), []string(nil)
	switch {
	case n == 1 && words[0] == "now":
		return now.Truncate(time.Second), true
	case n >= 2 && words[n-1] == "ago":
		sign, span = -1, words[:n-1]
	case n >= 2 && words[0] == "in":
		sign, span = 1, words[1:]
	default:
		return time.Time{}, false
	}
	if last := span[len(span)-1]; isDigit(last[len(last)-1]) {
		return time.Time{}, false // no unit
	}
	minutes, as, err := Parse(strings.Join(span, " "), Min)
	if err != nil || as.Symbol == "d" || minutes < 0 || minutes > 60*24*366 {
		return time.Time{}, false
	}
	return now.Add(sign * time.Duration(minutes*float64(time.Minute))).Truncate(time.Second), true
}

// time resolves what was read; false where there is no such day or time within
// the years that are taken.
func (w when) time(now time.Time) (time.Time, bool) {
	t, ok := w.resolve(now)
	return t, ok && t.Year() >= FirstYear && t.Year() <= LastYear
}

func (w when) resolve(now time.Time) (time.Time, bool) {
	today := civilOf(now)
	switch {
	case !w.instant.IsZero():
		return w.instant, true
	case w.weekday != nil && w.day == nil:
		back := (int(now.Weekday()) - int(*w.weekday) + 7) % 7
		t := w.on(today.add(-back), now)
		if t.After(now) {
			t = w.on(today.add(-back-7), now)
		}
		return t, true
	case w.day == nil:
		return w.on(today, now), true
	case w.yearless:
		return w.nearest(now)
	}
	t := w.on(*w.day, now)
	return t, w.day.valid() && w.fits(*w.day)
}

// nearest returns the reading of a date without a year that is nearest to now.
func (w when) nearest(now time.Time) (best time.Time, ok bool) {
	for year := now.Year() - 1; year <= now.Year()+1; year++ {
		day := civil{year, w.day.month, w.day.day}
		if !day.valid() || !w.fits(day) {
			continue
		}
		if t := w.on(day, now); !ok || t.Sub(now).Abs() < best.Sub(now).Abs() {
			best, ok = t, true
		}
	}
	return best, ok
}

// fits reports whether the day is the weekday that was typed with it.
func (w when) fits(d civil) bool {
	return w.weekday == nil || d.weekday() == *w.weekday
}

// on returns the time of day that was typed on that day, or what stands for a
// day without one.
func (w when) on(d civil, now time.Time) time.Time {
	zone := w.zone
	if zone == nil {
		zone = now.Location()
	}
	if w.clock != nil {
		return local(d, *w.clock, zone)
	}
	noon := local(d, clock{hour: 12}, zone)
	if d == civilOf(now) && noon.After(now) {
		return now.Truncate(time.Second)
	}
	return noon
}

// local returns the instant at which clocks in zone show that time: the first
// one where there are two, and in a gap the one by the offset before it.
func local(d civil, c clock, zone *time.Location) time.Time {
	t := time.Date(d.year, d.month, d.day, c.hour, c.minute, c.second, c.nano, zone)
	wall := time.Date(d.year, d.month, d.day, c.hour, c.minute, c.second, c.nano, time.UTC)
	_, offset := t.Zone()
	shown := t.Add(time.Duration(offset) * time.Second)
	if shown.Before(wall) { // in a gap, counted with the offset behind it: t's own is the one before
		return wall.Add(-time.Duration(offset) * time.Second).In(zone)
	}
	if start, _ := t.ZoneBounds(); !start.IsZero() && shown.Equal(wall) {
		_, before := start.Add(-time.Nanosecond).Zone()
		if first := wall.Add(-time.Duration(before) * time.Second); first.Before(start) {
			return first.In(zone)
		}
	}
	return t
}

func civilOf(t time.Time) civil {
	y, m, d := t.Date()
	return civil{y, m, d}
}

func (d civil) utc() time.Time { return time.Date(d.year, d.month, d.day, 0, 0, 0, 0, time.UTC) }

func (d civil) add(days int) civil { return civilOf(d.utc().AddDate(0, 0, days)) }

func (d civil) weekday() time.Weekday { return d.utc().Weekday() }

// valid reports whether the calendar has that day.
func (d civil) valid() bool { return civilOf(d.utc()) == d }
