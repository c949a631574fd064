package cli

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"packwane/health/report"
	"packwane/health/units"
)

// figures is an answer as rows under headings: a figure, its bounds, and marks
// that lead to what is missing or in doubt. People read it aligned; in a pipe
// its cells are parted by tabs and each row carries its remarks.
type figures struct {
	system   units.System
	warnings []report.Warning
	used     map[string]bool // codes of the warnings that a row led to
	notes    footnotes
	lines    []figureLine
}

// figureLine is a heading (title alone), a picture (drawn alone) or a row.
type figureLine struct {
	title, drawn             string
	label                    string
	piped                    string // the label in a pipe, where it differs
	value, low, high, symbol string
	remark                   string
	alarm, isDate            bool
	texts                    []string // of the footnotes
}

// unknown stands for a figure that the log does not tell.
const unknown = "unknown"

func newFigures(system units.System, warnings []report.Warning) *figures {
	return &figures{system: system, warnings: warnings, used: map[string]bool{}}
}

func (f *figures) head(title string) { f.lines = append(f.lines, figureLine{title: title}) }

// draw adds a line that is for people only.
func (f *figures) draw(label, line string) {
	f.lines = append(f.lines, figureLine{label: label, drawn: line})
}

// estimate adds a row of an estimate. codes name the warnings that say why it
// is in doubt or, the first that is there, unknown. It returns the row, to be
// amended.
func (f *figures) estimate(label string, e *report.Estimate, u units.Unit, codes ...string) *figureLine {
	if e == nil {
		return f.add(figureLine{label: label, value: unknown, texts: f.firstText(codes)})
	}
	l := figureLine{label: label, texts: f.texts(codes)}
	r := units.Round(e.Value, or(e.Low, math.Inf(-1)), or(e.High, math.Inf(1)), u, f.system)
	l.value, l.low, l.high, l.symbol = r.Value, r.Low, r.High, r.Symbol
	if l.low == l.value && l.high == l.value {
		l.low, l.high = "", ""
	}
	return f.add(l)
}

// date adds a row of an estimate of a date.
func (f *figures) date(label string, e *report.DateEstimate, codes ...string) *figureLine {
	l := figureLine{label: label, value: unknown, texts: f.texts(codes), isDate: true}
	if e != nil {
		low, high := orDate(e.Low), orDate(e.High)
		value, bounds, _ := strings.Cut(units.FormatDateInterval(e.Value.Time, low.Time, high.Time), " (")
		l.value = value
		bounds = strings.TrimSuffix(bounds, ")")
		l.low, l.high, _ = strings.Cut(bounds, " to ")
		l.low = strings.TrimSuffix(l.low, " or later")
		if end, ok := strings.CutSuffix(l.low, " or earlier"); ok {
			l.low, l.high = "", end
		}
	}
	return f.add(l)
}

// given adds a row of something that is given, not estimated.
func (f *figures) given(label string, v float64, u units.Unit, remark string, alarm bool) {
	x, symbol, _ := strings.Cut(units.Format(v, u, f.system), " ")
	f.add(figureLine{label: label, value: x, symbol: symbol, remark: remark, alarm: alarm})
}

func (f *figures) add(l figureLine) *figureLine {
	f.lines = append(f.lines, l)
	return &f.lines[len(f.lines)-1]
}

func or(v *float64, def float64) float64 {
	if v == nil {
		return def
	}
	return *v
}

func orDate(d *report.Date) report.Date {
	if d == nil {
		return report.Date{}
	}
	return *d
}

// texts returns what the warnings of these codes say.
func (f *figures) texts(codes []string) []string {
	var out []string
	for _, code := range codes {
		for _, w := range f.warnings {
			if w.Code == code {
				f.used[code] = true
				out = append(out, w.Text)
			}
		}
	}
	return out
}

// firstText returns what the first of these codes says that has a warning.
func (f *figures) firstText(codes []string) []string {
	for i := range codes {
		if texts := f.texts(codes[i : i+1]); texts != nil {
			return texts
		}
	}
	return nil
}

// between says the bounds of a row in words.
func (l figureLine) between() string {
	switch {
	case l.low != "" && l.high != "":
		return l.low + " to " + l.high
	case l.low != "" && l.isDate:
		return l.low + " or later"
	case l.low != "":
		return l.low + " or more"
	case l.high != "" && l.isDate:
		return l.high + " or earlier"
	case l.high != "":
		return l.high + " or less"
	}
	return ""
}

// writeTabs prints the rows for a pipe, and behind them the warnings that no
// row led to.
func (f *figures) writeTabs(a *app) error {
	t := newTable("figure", "value", "low", "high", "unit", "remark")
	for _, l := range f.lines {
		if l.title != "" || l.drawn != "" {
			continue
		}
		remarks := l.texts
		if l.remark != "" {
			remarks = append([]string{l.remark}, remarks...)
		}
		label := l.label
		if l.piped != "" {
			label = l.piped
		}
		t.add(label, l.value, l.low, l.high, l.symbol, strings.Join(remarks, "; "))
	}
	for _, w := range f.rest() {
		t.add("note", "", "", "", "", w.Text)
	}
	return t.write(a.streams.Out, false, 0, palette{})
}

// rest are the warnings that no row led to.
func (f *figures) rest() []report.Warning {
	var out []report.Warning
	for _, w := range f.warnings {
		if !f.used[w.Code] {
			out = append(out, w)
		}
	}
	return out
}

// The columns of the aligned form.
const (
	labelColumns = 26
	valueColumns = 9
	unitColumns  = 9
)

// writeAligned prints the rows for people.
func (f *figures) writeAligned(a *app) error {
	out := bufio.NewWriter(a.streams.Out)
	ink := a.ink()
	for _, l := range f.lines {
		switch {
		case l.title != "":
			fmt.Fprintf(out, "\n%s\n", ink.head(l.title))
		case l.drawn != "":
			fmt.Fprintln(out, pad("  "+l.label, labelColumns, false)+l.drawn)
		default:
			fmt.Fprintln(out, f.row(l, ink))
		}
	}
	if len(f.notes.texts) > 0 {
		fmt.Fprintln(out)
	}
	if err := f.notes.write(out, a.streams.width()); err != nil {
		return err
	}
	writeNotes(out, f.rest(), a.streams.width())
	return out.Flush()
}

// writeNotes prints warnings that belong to no figure in particular.
func writeNotes(out io.Writer, list []report.Warning, width int) {
	for i, w := range list {
		if i == 0 {
			fmt.Fprintln(out)
		}
		fmt.Fprint(out, wrap("Note: ", w.Text, width))
	}
}

func (f *figures) row(l figureLine, ink palette) string {
	var marks []string
	for _, t := range l.texts {
		marks = append(marks, f.notes.mark(t))
	}
	mark := strings.Join(marks, "")
	block := pad(l.value, valueColumns, true) + " " + pad(l.symbol+" ", unitColumns, false)
	if l.symbol == "" && (columns(l.value) > valueColumns || l.value == unknown) {
		block = pad("  "+l.value, valueColumns+1+unitColumns, false)
	}
	line := pad("  "+l.label, labelColumns, false) + block
	tail := l.between()
	if l.remark != "" {
		said := l.remark
		if l.alarm {
			said = ink.alarm(said)
		}
		tail = strings.TrimSpace(tail + "  " + said)
	}
	switch {
	case mark == "":
	case l.between() == "":
		line = strings.TrimRight(line, " ") + " " + mark
	default:
		tail = strings.TrimSpace(tail + " " + mark)
	}
	return strings.TrimRight(line+tail, " ")
}

// writeFigures prints an answer for whoever reads standard output.
func (a *app) writeFigures(f *figures, aligned bool) error {
	if aligned {
		return f.writeAligned(a)
	}
	return f.writeTabs(a)
}

// alarm is for words that must not be overlooked; they say it without the ink.
func (p palette) alarm(s string) string { return p.ink("1;31", s) }
