package trace

import (
	"math"
	"time"
)

// calendar turns running time into moments.
type calendar struct {
	zone     *time.Location
	known    bool
	first    time.Time // the moment of the first row, unless absolute
	absolute bool      // the file's own dates count
	zoned    bool
	shift    float64 // s, added to the file's own dates
	t0       float64
}

// at returns the moment of running time t, to the millisecond. leg is what
// running time is ahead of the file's own there.
func (c *calendar) at(t, leg float64) time.Time {
	if !c.absolute {
		return c.first.Add(time.Duration(math.Round((t-c.t0)*1e3)) * time.Millisecond).In(c.zone)
	}
	return c.civil(t - leg + c.shift)
}

// civil is the moment that a date of the file means: seconds since 1970, in UTC
// where the file has offsets or counts from there, else on the clocks of the zone.
func (c *calendar) civil(sec float64) time.Time {
	ms := int64(math.Round(sec * 1e3))
	u := time.UnixMilli(ms).UTC()
	if c.zoned {
		return u.In(c.zone)
	}
	return time.Date(u.Year(), u.Month(), u.Day(), u.Hour(), u.Minute(), u.Second(), u.Nanosecond(), c.zone)
}

// newCalendar dates the rows by what the file and the options say.
func newCalendar(l *layout, o Options, t0, t1 float64) (*calendar, []Warning) {
	c := &calendar{zone: o.Zone, t0: t0, zoned: l.time.zoned || l.time.kind == timeNumber, known: true}
	if c.zone == nil {
		c.zone = time.UTC
	}
	if !o.Start.IsZero() {
		c.zone = o.Start.Location()
	}
	var out []Warning
	switch own, ok := l.startClock(c); {
	case l.time.absolute:
		c.absolute = true
		if o.Start.IsZero() {
			break
		}
		first := c.civil(t0)
		if off := o.Start.Sub(first); off.Abs() > time.Minute {
			c.shift = off.Seconds()
			out = append(out, overruled(first))
		}
	case !o.Start.IsZero():
		c.first = o.Start
		if ok && o.Start.Sub(own).Abs() > time.Minute {
			out = append(out, overruled(own))
		}
		if h, m, s := o.Start.Clock(); l.time.daily && h == 0 && m == 0 && s == 0 {
			c.first = o.Start.Add(time.Duration(t0 * float64(time.Second)))
		}
	case ok:
		c.first = own
		if l.pickOf(StartClock) == nil {
			out = append(out, Warning{"start_above_table", "the rows have no dates: the one above the table, " + own.Format(time.RFC3339) + ", is taken as their start"})
		}
	case l.time.daily && !o.End.IsZero():
		c.first = lastDay(o.End.In(c.zone), t0, t1)
		out = append(out, Warning{"start_assumed", "the file has times of day and no dates: it is taken to begin " + c.first.Format(time.RFC3339) + ", the last day on which it can have ended before it was last written; give its start where that is wrong"})
	case !o.End.IsZero():
		c.first = o.End.Add(-time.Duration((t1 - t0) * float64(time.Second))).Truncate(time.Second).In(c.zone)
		out = append(out, Warning{"start_assumed", "the file has no dates: it is taken to end when it was last written, so to begin " + c.first.Format(time.RFC3339) + "; give its start where that is wrong"})
	default:
		c.known = false
		out = append(out, Warning{"start_unknown", "the file has no dates and its start was not given: nothing is added to the log"})
	}
	return c, out
}

// lastDay puts rows from t0 to t1, seconds since midnight, on the last day on
// which they can have ended by end.
func lastDay(end time.Time, t0, t1 float64) time.Time {
	const slack = time.Minute // of the clocks
	lasted := time.Duration((t1 - t0) * float64(time.Second))
	from := end.Add(slack - lasted)
	first := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, int(t0), 0, end.Location())
	if first.After(from) {
		first = time.Date(from.Year(), from.Month(), from.Day()-1, 0, 0, int(t0), 0, end.Location())
	}
	return first
}

func overruled(own time.Time) Warning {
	return Warning{"start_overrules", "the file says that it begins " + own.Format(time.RFC3339) + "; the start that was given counts"}
}

// startClock reads the date of the first row from a column beside the running
// time.
func (l *layout) startClock(c *calendar) (time.Time, bool) {
	p := l.pickOf(StartClock)
	if p == nil || p.index >= len(l.sample[0]) {
		return l.preambleStart(c)
	}
	cell := l.sample[0][p.index]
	if v, ok := slowNumber(cell, l.point); ok {
		sec := p.scale.to(v)
		if p.unit == "" || sec < year2000 || sec > year2100 {
			return time.Time{}, false
		}
		return time.UnixMilli(int64(math.Round(sec * 1e3))).In(c.zone), true
	}
	col, err := l.timeColumn(p.index, Mapping{})
	if err != nil {
		return time.Time{}, false
	}
	st, ok := parseStamp(cell, col.form.order, false)
	if !ok {
		return time.Time{}, false
	}
	zoned := *c
	zoned.zoned = st.zoned
	return zoned.civil(st.sec), true
}

// preambleStart reads the one date with a time of day that stands above the
// table, year first. Where there are several, none is taken.
func (l *layout) preambleStart(c *calendar) (time.Time, bool) {
	var found stamp
	n := 0
	for _, line := range l.preamble {
		for i := range len(line) {
			if i > 0 && (line[i-1] >= '0' && line[i-1] <= '9') || i+16 > len(line) || line[i] < '0' || line[i] > '9' {
				continue
			}
			if st, ok := longestStamp(line[i:]); ok {
				if n == 0 || st != found {
					n++
				}
				found = st
				break
			}
		}
	}
	if n != 1 || l.time.daily {
		return time.Time{}, false
	}
	zoned := *c
	zoned.zoned = found.zoned
	return zoned.civil(found.sec), true
}

// longestStamp reads a date and time at the beginning of a text that goes on
// behind it.
func longestStamp(s string) (stamp, bool) {
	if len(s) < 5 || s[4] < ' ' || s[4] >= '0' && s[4] <= '9' {
		return stamp{}, false
	}
	for n := min(len(s), 32); n >= 16; n-- {
		if st, ok := parseStamp([]byte(s[:n]), orderUnknown, false); ok {
			return st, true
		}
	}
	return stamp{}, false
}
