package cli

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"packwane/health/report"
	"packwane/health/units"
)

// figures is an answer as rows under headings: a figure, its bounds, and marks
// that lead to what is missing or in doubt. People read it aligned; in a pipe
// its cells are parted by tabs and each row carries its remarks.
type figures struct {
	system units.System
	beside *report.Notes // the warnings of the report
	notes  footnotes
	rows   []figureLine
}

// figureLine is a heading (title alone), a picture (drawn alone) or a row.
type figureLine struct {
	units.Rounded
	title, drawn string
	label        string
	piped        string // the label in a pipe, where it differs
	remark       string
	alarm        bool
	texts        []string // of the footnotes
}

func newFigures(system units.System, warnings []report.Warning) *figures {
	return &figures{system: system, beside: report.NotesOf(warnings, system)}
}

func (f *figures) head(title string) { f.rows = append(f.rows, figureLine{title: title}) }

// draw adds a line that is for people only.
func (f *figures) draw(label, line string) {
	f.rows = append(f.rows, figureLine{label: label, drawn: line})
}

// estimate adds a row of an estimate. codes name the warnings that say why it
// is in doubt or, the first that is there, unknown. It returns the row, to be
// amended.
func (f *figures) estimate(label string, e *report.Estimate, u units.Unit, codes ...string) *figureLine {
	return f.line(report.Line{Label: label, Estimate: e, Unit: u, Why: codes})
}

// line adds a row of a report.
func (f *figures) line(x report.Line) *figureLine {
	l := figureLine{label: x.Label, Rounded: x.Rounded(f.system), remark: x.Remark}
	if l.Low == l.Value && l.High == l.Value {
		l.Low, l.High = "", ""
	}
	if x.Estimate == nil {
		l.texts = f.beside.Why(x.Why...)
	} else {
		l.texts = f.beside.Beside(x.Why...)
	}
	return f.add(l)
}

// lines adds rows of a report. short are their labels under a heading, by their
// keys, where those differ from the labels of their own.
func (f *figures) lines(list []report.Line, short map[string]string) {
	for _, x := range list {
		l := f.line(x)
		if label, ok := short[x.Key]; ok {
			l.label, l.piped = label, x.Label
		}
	}
}

// given adds a row of something that is given, not estimated.
func (f *figures) given(g report.Given) {
	f.add(figureLine{label: g.Label, Rounded: g.Rounded(f.system), remark: g.Remark, alarm: g.Alarm})
}

// said adds a row of a value in words or without a unit.
func (f *figures) said(label, value string) *figureLine {
	return f.add(figureLine{label: label, Rounded: units.Rounded{Value: value}})
}

func (f *figures) add(l figureLine) *figureLine {
	f.rows = append(f.rows, l)
	return &f.rows[len(f.rows)-1]
}

// writeTabs prints the rows for a pipe, and behind them the warnings that no
// row led to.
func (f *figures) writeTabs(a *app) error {
	t := newTable("figure", "value", "low", "high", "unit", "remark")
	for _, l := range f.rows {
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
		t.add(label, l.Value, l.Low, l.High, l.Symbol, strings.Join(remarks, "; "))
	}
	for _, w := range f.beside.Rest() {
		t.add("note", "", "", "", "", w.Text)
	}
	return t.write(a.streams.Out, false, 0, palette{})
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
	for _, l := range f.rows {
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
	writeNotes(out, f.beside.Rest(), a.streams.width())
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
	block := pad(l.Value, valueColumns, true) + " " + pad(l.Symbol+" ", unitColumns, false)
	if l.Symbol == "" && (columns(l.Value) > valueColumns || l.Value == units.Unknown) {
		block = pad("  "+l.Value, valueColumns+1+unitColumns, false)
	}
	line := pad("  "+l.label, labelColumns, false) + block
	tail := l.Between()
	if l.remark != "" {
		said := l.remark
		if l.alarm {
			said = ink.alarm(said)
		}
		tail = strings.TrimSpace(tail + "  " + said)
	}
	switch {
	case mark == "":
	case l.Between() == "":
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
