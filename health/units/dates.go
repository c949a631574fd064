package units

import (
	"strconv"
	"time"
)

// FormatTime writes t for people in now's location, to the minute: "today
// 18:30", "yesterday 18:30", "3 May 18:30", and with the year where ParseTime
// would otherwise think of another one. Of a local time that occurs twice the
// second carries its offset. ParseTime, at the same now, reads it back as t cut
// to the minute.
func FormatTime(t, now time.Time) string {
	t = t.In(now.Location())
	t = t.Add(-time.Duration(t.Second())*time.Second - time.Duration(t.Nanosecond()))
	day, today := civilOf(t), civilOf(now)
	var text string
	switch day {
	case today:
		text = "today"
	case today.add(-1):
		text = "yesterday"
	case today.add(1):
		text = "tomorrow"
	default:
		text = FormatDate(t)
		short := when{day: &day, yearless: true, clock: &clock{hour: t.Hour(), minute: t.Minute()}}
		if got, ok := short.nearest(now); ok && civilOf(got) == day {
			text = t.Format("2 Jan")
		}
	}
	text += t.Format(" 15:04")
	if !local(day, clock{hour: t.Hour(), minute: t.Minute()}, t.Location()).Equal(t) {
		text += t.Format(" -07:00")
	}
	return text
}

// FormatDate writes the calendar date of t, in t's own location: "3 May 2026".
func FormatDate(t time.Time) string { return t.Format("2 Jan 2006") }

// FormatDateInterval writes an estimate of a date, as fine as its half-width
// supports: days below some six weeks, months below two years, else years. A
// bound that is the zero time is open; a zero middle is "unknown".
func FormatDateInterval(v, low, high time.Time) string {
	if v.IsZero() {
		return "unknown"
	}
	layout := dateLayout(v, low, high)
	text := v.Format(layout)
	switch {
	case !low.IsZero() && !high.IsZero():
		return text + " (" + low.Format(layout) + " to " + high.Format(layout) + ")"
	case !low.IsZero():
		return text + " (" + low.Format(layout) + " or later)"
	case !high.IsZero():
		return text + " (" + high.Format(layout) + " or earlier)"
	}
	return text
}

func dateLayout(v, low, high time.Time) string {
	const day = 24 * time.Hour
	half := time.Duration(0)
	switch {
	case !low.IsZero() && !high.IsZero():
		half = high.Sub(low) / 2
	case !low.IsZero():
		half = v.Sub(low)
	case !high.IsZero():
		half = high.Sub(v)
	}
	switch {
	case half < 45*day:
		return "2 Jan 2006"
	case half < 730*day:
		return "Jan 2006"
	}
	return "2006"
}

// FormatAway says how far t's calendar day is from now's, both in now's
// location: "today", "yesterday", "in 12 days", "5 weeks ago", "in 14 months",
// "3 years ago".
func FormatAway(t, now time.Time) string {
	days := int(civilOf(t.In(now.Location())).utc().Sub(civilOf(now).utc()) / (24 * time.Hour))
	switch days {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	case -1:
		return "yesterday"
	}
	if days < 0 {
		return span(-days) + " ago"
	}
	return "in " + span(days)
}

// span writes a number of days in the largest unit of which there are several.
func span(days int) string {
	switch {
	case days < 21:
		return strconv.Itoa(days) + " days"
	case days < 61:
		return strconv.Itoa((days+3)/7) + " weeks"
	case days < 731:
		return strconv.Itoa((days*4800+146097/2)/146097) + " months" // means of the Gregorian calendar, as in the scales
	}
	return strconv.Itoa((days*400+146097/2)/146097) + " years"
}
