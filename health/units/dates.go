package units

import "time"

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

// RoundDate writes an estimate of a date, as fine as its half-width supports:
// days below some six weeks, months below two years, else years. A bound that is
// the zero time is open; a zero middle is Unknown.
func RoundDate(v, low, high time.Time) Rounded {
	r := Rounded{Value: Unknown, date: true}
	if v.IsZero() {
		return r
	}
	layout := dateLayout(v, low, high)
	r.Value = v.Format(layout)
	if !low.IsZero() {
		r.Low = low.Format(layout)
	}
	if !high.IsZero() {
		r.High = high.Format(layout)
	}
	return r
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
