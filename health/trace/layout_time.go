package trace

import (
	"math"

	"packwane/health/units"
)

// The seconds since 1970 of 2000-01-01 and 2100-01-01: a number between the two
// may be the time of day of a ride.
const (
	year2000 = 946684800.0
	year2100 = 4102444800.0
)

// timeColumn is a column that could hold the time of the rows.
type timeColumn struct {
	index int
	score int
	form  timeForm
	unit  string
}

// chooseTime takes the column of the running time; beside it one with dates,
// where the running time has none.
func (l *layout) chooseTime(m Mapping, taken map[int]bool) error {
	if at := l.column(Time); at >= 0 {
		c, err := l.timeColumn(at, m)
		if err != nil {
			return err
		}
		l.setTime(c, taken)
		return l.chooseDates(m, nil, taken)
	}
	var running, dated []timeColumn
	for i, lab := range l.labels {
		cells := l.sampleCells(i)
		if taken[i] || len(cells) == 0 {
			continue
		}
		isTime := kindOfCell(cells[0], l.point) == cellTime
		if !isTime && lab.quantity != qTime {
			continue
		}
		c, err := l.timeColumn(i, m)
		if err != nil {
			return err
		}
		if c.score = timeScore(lab, c.form.kind, isTime); c.score < leastScore {
			continue
		}
		if c.form.absolute {
			dated = append(dated, c)
		} else {
			running = append(running, c)
		}
	}
	if len(running) == 0 && len(dated) == 0 {
		return l.missing(Time)
	}
	top, rest := bestTime(running)
	if len(running) == 0 {
		if top, rest = bestTime(dated); len(rest) > 0 {
			rest = nil // the same moments written twice
		}
	}
	if len(rest) > 0 {
		return l.ambiguous(Time, append([]int{top.index}, rest...))
	}
	l.setTime(top, taken)
	return l.chooseDates(m, dated, taken)
}

func bestTime(list []timeColumn) (top timeColumn, ties []int) {
	for _, c := range list {
		switch {
		case c.score > top.score:
			top, ties = c, nil
		case c.score == top.score:
			ties = append(ties, c.index)
		}
	}
	return top, ties
}

func (l *layout) setTime(c timeColumn, taken map[int]bool) {
	l.time = c.form
	for i := range l.picks {
		if l.picks[i].role == Time {
			l.picks[i].unit = c.unit
			l.picks[i].scale, _ = affineOf(Time, c.unit)
			return
		}
	}
	l.take(Time, c.index, c.unit, taken)
	p := &l.picks[len(l.picks)-1]
	p.unit = c.unit
	p.scale, _ = affineOf(Time, c.unit)
}

// chooseDates takes the column that says on which day the file begins.
func (l *layout) chooseDates(m Mapping, dated []timeColumn, taken map[int]bool) error {
	if l.column(StartClock) >= 0 || l.column(Date) >= 0 || l.time.absolute {
		return nil
	}
	for i := range l.labels {
		cells := l.sampleCells(i)
		if taken[i] || len(cells) == 0 || kindOfCell(cells[0], l.point) != cellTime || l.time.kind != timeClock {
			continue
		}
		if c, err := l.timeColumn(i, m); err != nil {
			return err
		} else if c.form.kind == timeDate {
			l.time.order, l.time.daily = c.form.order, false
			l.take(Date, i, "", taken)
			l.time.absolute = true
			return nil
		}
	}
	for _, c := range dated {
		if !taken[c.index] {
			l.take(StartClock, c.index, c.unit, taken)
			return nil
		}
	}
	return nil
}

// timeColumn learns how column index writes time.
func (l *layout) timeColumn(index int, m Mapping) (timeColumn, error) {
	c := timeColumn{index: index, unit: l.labels[index].unit}
	if c.unit == "" && l.labels[index].has("ms", "millis") {
		c.unit = "ms"
	}
	if m.columns[Time] != "" && m.units[Time] != "" {
		c.unit = m.units[Time]
	}
	cells := l.sampleCells(index)
	if len(cells) == 0 {
		return c, &InputError{Row: int64(l.firstRow), Column: l.name(index), Want: "the column of the time is empty: want a time in each row"}
	}
	if kindOfCell(cells[0], l.point) == cellNumber {
		l.numericTime(&c)
		return c, nil
	}
	if _, ok := parseClock(cells[0], true); ok {
		c.unit = ""
		c.form.kind = timeClock
		c.form.minutes = l.countsMinutes(cells)
		first, _ := parseClock(cells[0], c.form.minutes)
		c.form.daily = first >= 60 && !l.labels[index].has("test", "total", "elapsed", "running", "step", "duration", "relative")
		return c, nil
	}
	c.unit = ""
	return c, l.datedTime(&c, cells, m.dates)
}

// countsMinutes reports whether two numbers with a colon are minutes and
// seconds: they have a fraction, or more than 23 stand in front.
func (l *layout) countsMinutes(cells [][]byte) bool {
	for _, f := range cells {
		s := scan{b: unquote(f)}
		first, _ := s.digits()
		s.i++
		s.digits()
		if c := s.peek(); c == ':' {
			return false
		} else if c == '.' || c == ',' || first > 23 {
			return true
		}
	}
	return false
}

// numericTime tells running seconds from moments since 1970, and finds the
// unit of the latter by their size.
func (l *layout) numericTime(c *timeColumn) {
	v := l.numbers(c.index)
	lab := l.labels[c.index]
	first := v[0]
	if scale, ok := affineOf(Time, c.unit); c.unit != "" && ok {
		sec := scale.to(first)
		c.form.absolute = sec > year2000 && sec < year2100 && !lab.has("test", "elapsed", "total", "running")
		return
	}
	c.unit = ""
	for _, u := range []struct {
		unit string
		per  float64
	}{{"s", 1}, {"ms", 1e3}, {"us", 1e6}, {"ns", 1e9}} {
		if first/u.per > year2000 && first/u.per < year2100 {
			if step := medianStep(v); u.per == 1 && step >= 50 && !lab.has("unix", "epoch", "timestamp", "date") {
				break // a count of milliseconds since some days
			}
			c.form.absolute, c.unit = true, u.unit
			return
		}
	}
	if step := medianStep(v); step >= 50 && step == math.Trunc(step) {
		l.guessMilliseconds(c, step)
	}
}

func medianStep(v []float64) float64 {
	var steps []float64
	for i := 1; i < len(v); i++ {
		if d := v[i] - v[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	return median(steps)
}

// guessMilliseconds decides between rows that are minutes apart and rows that
// are fractions of a second apart, where the header says no unit: loggers write
// each minute or each few of them, or else count milliseconds (common practice,
// no source). It says what it took.
func (l *layout) guessMilliseconds(c *timeColumn, step float64) {
	if math.Mod(step, 60) != 0 {
		c.unit = "ms"
		l.note("milliseconds_assumed", "column %q says no unit: rows %s apart are read as milliseconds (time_unit=s in the map says otherwise)", l.name(c.index), brief(step))
		return
	}
	l.note("seconds_assumed", "column %q says no unit: rows %s apart are read as seconds (time_unit=ms in the map says otherwise)", l.name(c.index), brief(step))
}

// datedTime learns the order of the parts of a date and whether a time of day
// and an offset stand behind it.
func (l *layout) datedTime(c *timeColumn, cells [][]byte, given dateOrder) error {
	var fits []dateOrder
	for _, o := range []dateOrder{orderYMD, orderDMY, orderMDY} {
		if given != orderUnknown && given != o {
			continue
		}
		all := true
		for _, f := range cells {
			_, ok := parseStamp(f, o, true)
			all = all && ok
		}
		if all {
			fits = append(fits, o)
		}
	}
	if len(fits) == 0 {
		return &InputError{Row: int64(l.firstRow), Column: l.name(c.index), Value: string(cells[0]), Want: "want a date such as 2026-05-03 10:00:00, or dates=dmy, mdy or ymd in the map"}
	}
	c.form.order = fits[0]
	if len(fits) > 1 && !sameDays(cells, fits) {
		o, ok := l.usualOrder(cells[0], fits)
		if !ok {
			return &InputError{Row: int64(l.firstRow), Column: l.name(c.index), Value: string(cells[0]), Want: "day and month cannot be told apart: want dates=dmy or dates=mdy in the map"}
		}
		c.form.order = o
	}
	c.form.kind = timeDate
	for _, f := range cells {
		if st, ok := parseStamp(f, c.form.order, false); ok {
			c.form.kind, c.form.absolute, c.form.zoned = timeStamp, true, st.zoned
			break
		}
	}
	return nil
}

func sameDays(cells [][]byte, orders []dateOrder) bool {
	for _, f := range cells {
		a, _ := parseStamp(f, orders[0], true)
		for _, o := range orders[1:] {
			if b, _ := parseStamp(f, o, true); a.sec != b.sec {
				return false
			}
		}
	}
	return true
}

// usualOrder decides an order that the values leave open by how the file is
// written otherwise: full stops in dates and commas in decimals put the day
// first (common practice, no source).
func (l *layout) usualOrder(cell []byte, fits []dateOrder) (dateOrder, bool) {
	s := scan{b: unquote(cell)}
	s.digits()
	dmy := false
	for _, o := range fits {
		dmy = dmy || o == orderDMY
	}
	if dmy && (s.peek() == '.' || l.point == ',') {
		return orderDMY, true
	}
	return orderUnknown, false
}

// usedUnit returns the unit a pick is read in, for showing.
func (p pick) usedUnit() string {
	if p.unit != "" {
		return p.unit
	}
	if u := unitOfRole[p.role]; u != units.None {
		return u.String()
	}
	return ""
}
