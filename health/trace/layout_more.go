package trace

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"

	"packwane/health/logbook"
)

// numbers returns the values of a column in the first rows, unscaled; what is
// no number is left out.
func (l *layout) numbers(index int) []float64 {
	var out []float64
	for _, row := range l.sample {
		if index < 0 || index >= len(row) {
			continue
		}
		if v, ok := slowNumber(row[index], l.point); ok && v == v {
			out = append(out, v)
		}
	}
	return out
}

// median returns the middle of a copy of v; NaN where it is empty.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}

// groupsByHeader takes the columns of single series groups: three or more of
// one name and running numbers.
func (l *layout) groupsByHeader(taken map[int]bool) {
	if l.column(Groups) >= 0 {
		return
	}
	runs := map[string][]int{}
	for i, c := range l.labels {
		n := len(c.words)
		if taken[i] || n < 2 && c.quantity == qVoltage || n == 0 {
			continue
		}
		number := slices.IndexFunc(c.words, func(w string) bool { return w[0] >= '0' && w[0] <= '9' })
		if number < 0 || c.has(boundWords...) || c.has("temp", "temperature", "balance", "channel", "ch") {
			continue
		}
		if c.quantity != qVoltage && !c.has(cellWords...) {
			continue
		}
		base := strings.Join(slices.Delete(slices.Clone(c.words), number, number+1), " ")
		runs[base] = append(runs[base], i)
	}
	var most []int
	for _, at := range runs {
		if len(at) > len(most) || len(at) == len(most) && len(at) > 0 && at[0] < most[0] {
			most = at
		}
	}
	if len(most) < 3 {
		return
	}
	for _, i := range most {
		l.take(Groups, i, "", taken)
	}
}

// chooseChannel finds a column of channels, or sets aside the columns of the
// channels that are not read.
func (l *layout) chooseChannel(m Mapping, taken map[int]bool) error {
	if m.channel != "" && l.column(Channel) < 0 {
		for i, c := range l.labels {
			if c.quantity == qChannel && !taken[i] {
				l.take(Channel, i, "", taken)
				break
			}
		}
	}
	if at := l.column(Channel); at >= 0 {
		l.channel = []byte(m.channel)
		return nil
	}
	if m.channel != "" {
		return l.sideChannel(m.channel, taken)
	}
	for i, c := range l.labels {
		if c.quantity != qChannel || taken[i] || i >= len(l.sample[0]) {
			continue
		}
		l.take(Channel, i, "", taken)
		l.channel = nil // the parser refuses a second one
		return nil
	}
	return nil
}

// sideChannel takes the columns of other channels out of the choice: a file
// with "CH1 current" and "CH2 current".
func (l *layout) sideChannel(channel string, taken map[int]bool) error {
	want := wordsOf(channel)
	found := false
	for i, c := range l.labels {
		numbers := slices.ContainsFunc(c.words, func(w string) bool { return w[0] >= '0' && w[0] <= '9' })
		if containsRun(c.words, want) {
			found = true
			l.labels[i].words = slices.DeleteFunc(slices.Clone(c.words), func(w string) bool { return slices.Contains(want, w) || w == "ch" || w == "channel" })
		} else if numbers || c.has("ch", "channel") {
			taken[i] = true
		}
	}
	if !found {
		return &InputError{Row: int64(l.headerRow), Column: channel, Want: "no channel of that name: " + l.wantColumns()}
	}
	return nil
}

func containsRun(words, run []string) bool {
	for i := range words {
		if len(run) > 0 && i+len(run) <= len(words) && slices.Equal(words[i:i+len(run)], run) {
			return true
		}
	}
	return false
}

// sparseRows is from where on rows are far apart: the mean of a logger says
// more of the time between two than the moment of a row does.
const sparseRows = 5.0

// preferMean returns the column that holds the mean of the same current since
// the row before, where rows are far apart and the two agree.
func (l *layout) preferMean(index int, taken map[int]bool) int {
	if l.spacing() < sparseRows || l.labels[index].has(meanWords...) {
		return index
	}
	for i, c := range l.labels {
		if taken[i] || c.quantity != qCurrent || !c.has(meanWords...) {
			continue
		}
		rest := slices.DeleteFunc(slices.Clone(c.words), func(w string) bool { return slices.Contains(meanWords, w) })
		a, _ := affineOf(Current, c.unit)
		b, _ := affineOf(Current, l.labels[index].unit)
		if !slices.Equal(rest, l.labels[index].words) || a.to(1) != b.to(1) || !alike(l.numbers(index), l.numbers(i)) {
			continue
		}
		l.note("mean_current", "column %q, the mean since the row before, is read as the current: rows are %s s apart (current=%q in the map takes the other)", l.name(i), brief(l.spacing()), l.name(index))
		return i
	}
	return index
}

// alike reports whether two columns have the same mean to 5 % and differ in
// single rows by less than a fifth of it.
func alike(a, b []float64) bool {
	if len(a) != len(b) || len(a) < 3 {
		return false
	}
	var sa, sb, diff, size float64
	for i := range a {
		sa += a[i]
		sb += b[i]
		diff += math.Abs(a[i] - b[i])
		size += math.Abs(a[i])
	}
	return math.Abs(sa-sb) <= 0.05*size && diff <= 0.2*size
}

func (l *layout) useMeans(current int) {
	l.meanCurrent = l.labels[current].has(meanWords...) && l.spacing() >= sparseRows
}

// spacing returns the usual time between two of the first rows, in seconds;
// NaN where there are fewer than two.
func (l *layout) spacing() float64 {
	var steps []float64
	prev := math.NaN()
	for _, row := range l.sample {
		sec, ok := l.timeOf(row)
		if !ok {
			continue
		}
		if d := sec - prev; d > 0 {
			steps = append(steps, d)
		}
		prev = sec
	}
	return median(steps)
}

// timeOf reads the time of one of the first rows, in seconds of its own count.
func (l *layout) timeOf(row [][]byte) (sec float64, ok bool) {
	p := l.pickOf(Time)
	if p == nil || p.index >= len(row) {
		return 0, false
	}
	switch f := row[p.index]; l.time.kind {
	case timeNumber:
		v, ok := slowNumber(f, l.point)
		return p.scale.to(v), ok && v == v
	case timeClock:
		return parseClock(f, l.time.minutes)
	default:
		st, ok := parseStamp(f, l.time.order, false)
		return st.sec, ok
	}
}

func (l *layout) pickOf(r Role) *pick {
	for i := range l.picks {
		if l.picks[i].role == r {
			return &l.picks[i]
		}
	}
	return nil
}

// guessScales finds volts and amperes that are written in thousandths without
// saying so, by what a pack can have at all. It says what it did.
func (l *layout) guessScales(m Mapping, pack *logbook.Pack) error {
	v := l.pickOf(Voltage)
	milli := false
	if v != nil && v.unit == "" && m.units[Voltage] == "" {
		u := median(l.numbers(v.index))
		tooHigh := u > 1500 // no pack of a light vehicle has more
		if pack != nil && pack.Series.OK {
			cell := u / 1000 / pack.Series.V
			tooHigh = cell > 1 && cell < 6 // what a cell can have
		}
		if tooHigh {
			v.scale, v.unit, milli = affine{div: 1000}, "mV", true
			l.note("millivolts_assumed", "column %q says no unit: %s is read as millivolts (voltage_unit= in the map says otherwise)", l.name(v.index), brief(u))
		}
	}
	for _, r := range []Role{Current, ChargeCurrent, DischargeCurrent} {
		c := l.pickOf(r)
		if c == nil || c.unit != "" || m.units[r] != "" {
			continue
		}
		peak := 0.0
		for _, x := range l.numbers(c.index) {
			peak = max(peak, math.Abs(x))
		}
		capacity := capacityOf(pack)
		if capacity > 0 && peak > 100*capacity || milli && peak > 50 {
			c.scale, c.unit = affine{div: 1000}, "mA"
			l.note("milliamperes_assumed", "column %q says no unit: up to %s is read as milliamperes (%s_unit= in the map says otherwise)", l.name(c.index), brief(peak), r)
		}
	}
	if g := l.pickOf(Groups); g != nil && g.unit == "" && median(l.numbers(g.index)) > 100 {
		for i := range l.picks {
			if l.picks[i].role == Groups {
				l.picks[i].scale, l.picks[i].unit = affine{div: 1000}, "mV"
			}
		}
	}
	return nil
}

// capacityOf returns the rated charge of a pack in Ah; 0 where it is not known.
func capacityOf(p *logbook.Pack) float64 {
	if p == nil || !p.CellCapacityAh.OK {
		return 0
	}
	return p.CellCapacityAh.V * p.Parallel.Or(1)
}

// brief writes a number with about four digits, for a sentence.
func brief(v float64) string {
	if a := math.Abs(v); a >= 1000 || a < 1e-3 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', 4, 64)
}

// sampleCells returns the fields of a column in the first rows that hold
// something.
func (l *layout) sampleCells(index int) [][]byte {
	var out [][]byte
	for _, row := range l.sample {
		if index < len(row) {
			if f := bytes.TrimSpace(row[index]); !isMissing(unquote(f)) {
				out = append(out, f)
			}
		}
	}
	return out
}
