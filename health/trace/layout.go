package trace

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"packwane/health/logbook"
	"packwane/health/units"
)

// pick is one column that plays a role.
type pick struct {
	role  Role
	index int // of the column, from 0
	unit  string
	scale affine
}

// layout is everything that the parser of rows needs to know of a file.
type layout struct {
	*table
	labels []label
	picks  []pick // in the order of the columns; several for Groups
	time   timeForm
	sign   Sign

	meanCurrent bool   // the current is the mean since the row before
	sumGroups   bool   // there is no column of the pack's voltage: the groups are added up
	channel     []byte // the one channel that is read; nil where all rows are
	notes       []Warning
}

// timeForm is how the rows say when they were.
type timeForm struct {
	kind     timeKind
	order    dateOrder
	minutes  bool // two numbers with a colon are minutes and seconds
	absolute bool // the file knows the date
	zoned    bool // and the offset from UTC
	daily    bool // a time of day that begins anew at midnight
}

// column returns the index of the first column that plays role r, -1 where
// none does.
func (l *layout) column(r Role) int {
	for _, p := range l.picks {
		if p.role == r {
			return p.index
		}
	}
	return -1
}

// name returns the header of a column, or its number where it has none.
func (l *layout) name(index int) string {
	if index >= 0 && index < len(l.labels) && l.labels[index].text != "" {
		return l.labels[index].text
	}
	return "#" + strconv.Itoa(index+1)
}

func (l *layout) note(code, format string, args ...any) {
	l.notes = append(l.notes, Warning{code, fmt.Sprintf(format, args...)})
}

// newLayout decides which column is what, by the map where it says so, else by
// headers and by what the first rows hold.
func newLayout(t *table, m Mapping, pack *logbook.Pack) (*layout, error) {
	l := &layout{table: t, sign: m.sign}
	for i := range t.width {
		text, unit := "", ""
		if i < len(t.headers) {
			text = t.headers[i]
		}
		if i < len(t.unitRow) {
			unit = t.unitRow[i]
		}
		l.labels = append(l.labels, parseLabel(text, unit))
	}
	taken := map[int]bool{}
	if err := l.byMap(m, taken); err != nil {
		return nil, err
	}
	l.groupsByHeader(taken)
	if err := l.chooseChannel(m, taken); err != nil {
		return nil, err
	}
	if err := l.chooseTime(m, taken); err != nil {
		return nil, err
	}
	if err := l.chooseCurrent(taken); err != nil {
		return nil, err
	}
	if err := l.chooseVoltage(taken); err != nil {
		return nil, err
	}
	for _, r := range []Role{PackTemp, Ambient, Speed, Odometer, ChargedCount, DischargedCount, NetCount, ChargedEnergy, DischargedEnergy, NetEnergy} {
		if top, _ := best(r, l.labels, taken); l.column(r) < 0 && top.score > 0 {
			l.take(r, top.index, "", taken)
		}
	}
	l.chooseState(taken)
	l.inOrder()
	return l, l.guessScales(m, pack)
}

// take gives a column its role. unit overrides that of the header.
func (l *layout) take(r Role, index int, unit string, taken map[int]bool) {
	if unit == "" && unitOfRole[r] != units.None {
		unit = l.labels[index].unit
	}
	scale, ok := affineOf(r, unit)
	if !ok {
		unit, scale = "", affine{plain: true}
	}
	taken[index] = true
	l.picks = append(l.picks, pick{r, index, unit, scale})
}

func (l *layout) inOrder() {
	for i := range l.picks {
		for k := i; k > 0 && l.picks[k-1].index > l.picks[k].index; k-- {
			l.picks[k-1], l.picks[k] = l.picks[k], l.picks[k-1]
		}
	}
}

// byMap takes the columns that the map names.
func (l *layout) byMap(m Mapping, taken map[int]bool) error {
	for r := Role(0); r < numRoles; r++ {
		if m.columns[r] == "" {
			continue
		}
		names := []string{m.columns[r]}
		if r == Groups {
			names = strings.Split(m.columns[r], "|")
		}
		for _, name := range names {
			i, err := l.find(strings.TrimSpace(name))
			if err != nil {
				return err
			}
			if taken[i] {
				return mapErrorf("map %s=%q: that column is mapped twice: want each column once", r, clip(name))
			}
			l.take(r, i, m.units[r], taken)
		}
	}
	return nil
}

// find returns the column that a map means by name: a header, whatever its
// case and spaces, or # and a number.
func (l *layout) find(name string) (int, error) {
	if n, err := strconv.Atoi(strings.TrimPrefix(name, "#")); err == nil && strings.HasPrefix(name, "#") {
		if n < 1 || n > l.width {
			return 0, mapErrorf("map names column %s: want #1 to #%d", name, l.width)
		}
		return n - 1, nil
	}
	at := -1
	for i, c := range l.labels {
		if c.text == name {
			return i, nil
		}
		if strings.EqualFold(strings.Join(strings.Fields(c.text), " "), strings.Join(strings.Fields(name), " ")) {
			at = i
		}
	}
	if at < 0 {
		return 0, &InputError{Row: int64(l.headerRow), Column: name, Want: "no such column: " + l.wantColumns()}
	}
	return at, nil
}

func (l *layout) wantColumns() string {
	var all []int
	for i, c := range l.labels {
		if c.text != "" {
			all = append(all, i)
		}
	}
	if len(all) == 0 && len(l.sample) == 0 {
		return "the table has neither headers nor rows"
	}
	if len(all) == 0 {
		var cells []string
		for i, f := range l.sample[0] {
			cells = append(cells, "#"+strconv.Itoa(i+1)+"="+clip(string(f)))
		}
		return "the table has no headers: want columns by number, such as time=#1; its first row is " + clip2(strings.Join(cells, " "), 200)
	}
	return "want one of " + columnNames(l.labels, all)
}

func clip2(s string, most int) string {
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}

// chooseCurrent takes the column of the current, or one each for charging and
// discharging.
func (l *layout) chooseCurrent(taken map[int]bool) error {
	if l.column(Current) >= 0 {
		l.useMeans(l.column(Current))
		return nil
	}
	if l.column(ChargeCurrent) < 0 && l.column(DischargeCurrent) < 0 {
		top, _ := best(Current, l.labels, taken)
		others := rivals(Current, l.labels, taken, top.index)
		inAndOut := len(others) == 1 && l.labels[top.index].has("in", "out") && l.labels[others[0]].has("in", "out")
		if top.score > 0 && !inAndOut {
			if len(others) > 0 {
				return l.ambiguous(Current, append([]int{top.index}, others...))
			}
			l.take(Current, l.preferMean(top.index, taken), "", taken)
			l.useMeans(l.column(Current))
			return nil
		}
	}
	for _, r := range []Role{ChargeCurrent, DischargeCurrent} {
		if l.column(r) >= 0 {
			continue
		}
		top, ties := best(r, l.labels, taken)
		if len(ties) > 0 {
			return l.ambiguous(r, append([]int{top.index}, ties...))
		}
		if top.score > 0 {
			l.take(r, top.index, "", taken)
		}
	}
	if l.column(ChargeCurrent) < 0 && l.column(DischargeCurrent) < 0 {
		return l.missing(Current)
	}
	return nil
}

func (l *layout) chooseVoltage(taken map[int]bool) error {
	if l.column(Voltage) >= 0 {
		return nil
	}
	top, ties := best(Voltage, l.labels, taken)
	switch {
	case top.score > 0 && len(ties) > 0:
		return l.ambiguous(Voltage, append([]int{top.index}, ties...))
	case top.score > 0:
		l.take(Voltage, top.index, "", taken)
		for i, c := range l.labels {
			if !taken[i] && scoreOf(Voltage, c) >= top.score-2 {
				l.note("voltage_choice", "column %q is read as the voltage; %q could be it too (voltage=%q in the map)", l.name(top.index), l.name(i), l.name(i))
			}
		}
		return nil
	case l.column(Groups) >= 0:
		l.sumGroups = true
		l.note("voltage_from_groups", "no column holds the pack's voltage: the voltages of the groups are added up")
		return nil
	}
	return l.missing(Voltage)
}

func (l *layout) ambiguous(r Role, at []int) error {
	if l.numbered(at) {
		return &InputError{Row: int64(l.headerRow), Column: l.name(at[0]), Want: fmt.Sprintf("%s could each be the %s: several channels; want channel= in the map with the word that tells them apart, or %s=", columnNames(l.labels, at), strings.ReplaceAll(r.String(), "_", " "), r)}
	}
	return &InputError{Row: int64(l.headerRow), Column: l.name(at[0]), Want: fmt.Sprintf("%s could each be the %s: want %s=%q or another in the map", columnNames(l.labels, at), strings.ReplaceAll(r.String(), "_", " "), r, l.name(at[0]))}
}

// numbered reports whether the headers differ only in a number.
func (l *layout) numbered(at []int) bool {
	base := ""
	for k, i := range at {
		var words []string
		for _, w := range l.labels[i].words {
			if w[0] < '0' || w[0] > '9' {
				words = append(words, w)
			}
		}
		text := strings.Join(words, " ")
		if len(words) == len(l.labels[i].words) || k > 0 && text != base {
			return false
		}
		base = text
	}
	return true
}

func (l *layout) missing(r Role) error {
	return &InputError{Row: int64(l.headerRow), Want: fmt.Sprintf("no column could be the %s: want %s= in the map; %s", r, r, l.wantColumns())}
}

// chooseState takes a column of words that may say which way the current
// flows, where the current itself does not: it is never negative.
func (l *layout) chooseState(taken map[int]bool) {
	current := l.column(Current)
	if current < 0 {
		return
	}
	if l.column(State) >= 0 {
		return
	}
	for _, row := range l.sample {
		if current < len(row) && bytes.ContainsRune(row[current], '-') {
			return
		}
	}
	for i, c := range l.labels {
		cells := l.sampleCells(i)
		if taken[i] || c.quantity != qState && !c.has("step", "type") || len(cells) == 0 || kindOfCell(cells[0], l.point) != cellText {
			continue
		}
		l.take(State, i, "", taken)
		return
	}
}

// directionOf reads words such as Charge, CC_Chg, Discharging, DCHG: +1 for
// charging, -1 for discharging, 0 for all else.
func directionOf(field []byte) float64 {
	var buf [24]byte
	n := 0
	for _, c := range field {
		if c |= 0x20; c >= 'a' && c <= 'z' && n < len(buf) {
			buf[n] = c
			n++
		}
	}
	w := buf[:n]
	for _, out := range []string{"discharg", "dischg", "dchg", "dsg", "entlad"} {
		if bytes.Contains(w, []byte(out)) {
			return -1
		}
	}
	for _, in := range []string{"charg", "chg", "chrg", "lade"} {
		if bytes.Contains(w, []byte(in)) {
			return 1
		}
	}
	return 0
}
