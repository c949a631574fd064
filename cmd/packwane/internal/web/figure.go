package web

import (
	"strings"

	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// figure is one figure as a page shows it. Nothing is worked out here: the
// report gave the value, units rounds it to what its interval supports.
type figure struct {
	Label, Value, Symbol string
	Between              string // its bounds, in words
	Remark               string
	Alarm                bool     // the remark must not be overlooked
	Unknown              bool     // Value is then "unknown"
	Why                  []string // what is missing, or in doubt
}

// figures makes figures of one report, with the warnings that belong to them.
type figures struct {
	system units.System
	beside *report.Notes
}

func (v *visit) figures(w []report.Warning) *figures {
	return &figures{system: v.who.System, beside: report.NotesOf(w, v.who.System)}
}

// of shows an estimate. codes name the warnings that say why it is in doubt or,
// the first that is there, unknown.
func (f *figures) of(label string, e *report.Estimate, u units.Unit, codes ...string) *figure {
	return f.line(report.Line{Label: label, Estimate: e, Unit: u, Why: codes})
}

// line shows a line of a report.
func (f *figures) line(x report.Line) *figure {
	out := shown(x.Label, x.Rounded(f.system))
	out.Remark = x.Remark
	if x.Estimate == nil {
		out.Why = f.beside.Why(x.Why...)
	} else {
		out.Why = f.beside.Beside(x.Why...)
	}
	return out
}

// lines shows lines of a report, their labels as headings.
func (f *figures) lines(list []report.Line) []*figure {
	var out []*figure
	for _, x := range list {
		x.Label = prose.Capital(x.Label)
		out = append(out, f.line(x))
	}
	return out
}

// given shows something that is given, not estimated.
func (f *figures) given(g report.Given) *figure {
	out := shown(g.Label, g.Rounded(f.system))
	out.Remark, out.Alarm = g.Remark, g.Alarm
	return out
}

// shown is a figure of what is written already.
func shown(label string, r units.Rounded) *figure {
	return &figure{Label: label, Value: r.Value, Symbol: r.Symbol, Between: r.Between(), Unknown: r.Value == units.Unknown}
}

// warningPages are the pages that warnings lead to.
var warningPages = map[string]string{"misreadings": "/audit", "distance_doubted": "/audit"}

// withoutCommand leaves out the command that a text ends with: a page leads on
// by its links.
func withoutCommand(text string) string {
	for _, lead := range []string{": see `", "; see `"} {
		text, _, _ = strings.Cut(text, lead)
	}
	return text
}

// rest are the warnings that stand beside no figure. What they say of a command
// is said by a link.
func (f *figures) rest() notes {
	var out notes
	for _, w := range f.beside.Rest() {
		text := prose.Sentence(withoutCommand(w.Text))
		if path := warningPages[w.Code]; path != "" {
			out.Links = append(out.Links, link{path, text})
			continue
		}
		out.Text = append(out.Text, text)
	}
	return out
}
