package charts

import (
	"math"
	"time"
)

// At gives the place of a time on a calendar axis: seconds since 1970-01-01T00:00:00Z, with fractions. Times before
// the year 1900 or after 2400, the zero time among them, are not drawn.
func At(t time.Time) float64 {
	return float64(t.Unix()) + float64(t.Nanosecond())/1e9
}

// firstMoment and lastMoment are the ends of any calendar axis.
var (
	firstMoment = At(time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC))
	lastMoment  = At(time.Date(2401, 1, 1, 0, 0, 0, 0, time.UTC))
)

// timeOf is the inverse of At, in a zone.
func timeOf(v float64, zone *time.Location) time.Time {
	sec, frac := math.Modf(v)
	return time.Unix(int64(sec), int64(frac*1e9)).In(zone)
}

// calendarStep is one spacing of calendar ticks: n units, with the label's layout and the outer one's.
type calendarStep struct {
	unit           calendarUnit
	n              int
	label, context string
}

type calendarUnit int

const (
	bySecond calendarUnit = iota
	byMinute
	byHour
	byDay
	byMonth
	byYear
)

// unitSeconds is the nominal length of each unit: enough to count how many ticks a step would give.
var unitSeconds = map[calendarUnit]float64{bySecond: 1, byMinute: 60, byHour: 3600, byDay: 86400, byMonth: 30.44 * 86400, byYear: 365.25 * 86400}

// calendarSteps are the spacings tried, from fine to coarse.
var calendarSteps = func() []calendarStep {
	var steps []calendarStep
	add := func(u calendarUnit, label, context string, ns ...int) {
		for _, n := range ns {
			steps = append(steps, calendarStep{u, n, label, context})
		}
	}
	add(bySecond, "15:04:05", "2 Jan 2006", 1, 2, 5, 10, 15, 30)
	add(byMinute, "15:04", "2 Jan 2006", 1, 2, 5, 10, 15, 30)
	add(byHour, "15:04", "2 Jan 2006", 1, 2, 3, 6, 12)
	add(byDay, "2 Jan", "2006", 1, 2, 4, 7, 14)
	add(byMonth, "Jan", "2006", 1, 2, 3, 6)
	add(byYear, "2006", "", 1, 2, 5, 10, 20, 50, 100)
	return steps
}()

// first gives the last tick of the step at or before t.
func (s calendarStep) first(t time.Time) time.Time {
	y, m, d := t.Date()
	switch s.unit {
	case bySecond:
		return time.Date(y, m, d, t.Hour(), t.Minute(), t.Second()/s.n*s.n, 0, t.Location())
	case byMinute:
		return time.Date(y, m, d, t.Hour(), t.Minute()/s.n*s.n, 0, 0, t.Location())
	case byHour:
		return time.Date(y, m, d, t.Hour()/s.n*s.n, 0, 0, 0, t.Location())
	case byDay:
		// Whole days since Monday 1970-01-05, so that weeks begin on Mondays (ISO 8601).
		days := int(math.Floor(float64(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix())/86400)) - 4
		return time.Date(y, m, d-((days%s.n)+s.n)%s.n, 0, 0, 0, 0, t.Location())
	case byMonth:
		return time.Date(y, time.Month((int(m)-1)/s.n*s.n+1), 1, 0, 0, 0, 0, t.Location())
	}
	return time.Date(y-y%s.n, 1, 1, 0, 0, 0, 0, t.Location())
}

// next gives the tick after t. Days, months and years are counted on the calendar; shorter steps by the clock on the
// wall, so that after a change of summer time they are on round hours again.
func (s calendarStep) next(t time.Time) time.Time {
	y, m, d := t.Date()
	switch s.unit {
	case bySecond, byMinute:
		return t.Add(time.Duration(s.n) * time.Duration(unitSeconds[s.unit]) * time.Second)
	case byHour:
		n := t
		for {
			n = n.Add(time.Hour)
			if n.Hour()%s.n == 0 && n.Minute() == 0 {
				return n
			}
			if n.Minute() != 0 { // a zone that moves its clock by less than an hour
				return time.Date(y, m, d, t.Hour()+s.n, 0, 0, 0, t.Location())
			}
		}
	case byDay:
		return time.Date(y, m, d+s.n, 0, 0, 0, 0, t.Location())
	case byMonth:
		return time.Date(y, m+time.Month(s.n), 1, 0, 0, 0, 0, t.Location())
	}
	return time.Date(y+s.n, 1, 1, 0, 0, 0, 0, t.Location())
}

// ticks gives those in low..high (seconds since 1970).
func (s calendarStep) ticks(low, high float64, zone *time.Location) []tick {
	var ts []tick
	last := ""
	t := s.first(timeOf(low, zone))
	for range 400 {
		v := At(t)
		if !(v <= high) {
			break
		}
		if v >= low {
			k := tick{v: v, label: t.Format(s.label)}
			if s.context != "" {
				if now := t.Format(s.context); now != last {
					k.context, last = now, now
				}
			}
			ts = append(ts, k)
		}
		after := s.next(t)
		if !after.After(t) {
			break
		}
		t = after
	}
	return ts
}

// clockSpan is the longest stretch, in seconds, on which clock times are shown beside days.
const clockSpan = 4 * 86400

// calendarTicks gives the finest ticks on the scale of which at most `most` come and whose labels, as wide as width
// says, are at least gap apart.
func calendarTicks(s scale, zone *time.Location, most int, gap float64, width func(string) float64) []tick {
	for _, step := range calendarSteps {
		if (s.high-s.low)/(unitSeconds[step.unit]*float64(step.n)) > float64(most) || step.unit < byDay && s.high-s.low > clockSpan {
			continue
		}
		ts := step.ticks(s.low, s.high, zone)
		if len(ts) > 0 && labelsFit(s, ts, gap, width) {
			return ts
		}
	}
	t := timeOf((s.low+s.high)/2, zone)
	return []tick{{v: At(t), label: t.Format("2006")}}
}

// labelsFit tells whether the labels, each centred on its tick, keep gap between them.
func labelsFit(s scale, ts []tick, gap float64, width func(string) float64) bool {
	for i := 1; i < len(ts); i++ {
		room := math.Abs(s.at(ts[i].v) - s.at(ts[i-1].v))
		if (width(ts[i].label)+width(ts[i-1].label))/2+gap > room {
			return false
		}
	}
	return true
}
