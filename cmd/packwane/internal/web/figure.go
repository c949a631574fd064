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

// figures makes figures of one report, and remembers which of its warnings
// stand beside one of them.
type figures struct {
	system   units.System
	warnings []report.Warning
	used     map[string]bool
}

func (v *visit) figures(w []report.Warning) *figures {
	return &figures{system: v.who.System, warnings: w, used: map[string]bool{}}
}

// of shows an estimate. codes name the warnings that say why it is unknown or
// in doubt.
func (f *figures) of(label string, e *report.Estimate, u units.Unit, codes ...string) *figure {
	out := f.rounded(label, e.Rounded(u, f.system), codes)
	if e == nil && len(out.Why) > 1 {
		out.Why = out.Why[:1] // one reason will do
	}
	return out
}

// rounded shows what is written already.
func (f *figures) rounded(label string, r units.Rounded, codes []string) *figure {
	return &figure{Label: label, Value: r.Value, Symbol: r.Symbol, Between: r.Between(), Unknown: r.Value == units.Unknown, Why: f.why(codes)}
}

// lines shows lines of a report.
func (f *figures) lines(list []report.Line) []*figure {
	var out []*figure
	for _, x := range list {
		row := f.of(prose.Capital(x.Label), x.Estimate, x.Unit, x.Why...)
		if x.Per != "" && x.Estimate != nil {
			row.Symbol = x.Per
		}
		row.Remark = x.Remark
		out = append(out, row)
	}
	return out
}

// given shows something that is given, not estimated.
func (f *figures) given(g report.Given) *figure {
	value, symbol, _ := strings.Cut(units.Format(g.Value, g.Unit, f.system), " ")
	return &figure{Label: g.Label, Value: value, Symbol: symbol, Remark: g.Remark, Alarm: g.Alarm}
}

// why returns what the warnings of these codes say.
func (f *figures) why(codes []string) []string {
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
	for _, w := range f.warnings {
		text := withoutCommand(w.Text)
		switch path := warningPages[w.Code]; {
		case f.used[w.Code]:
		case path != "":
			out.Links = append(out.Links, link{path, prose.Sentence(text)})
		default:
			out.Text = append(out.Text, prose.Sentence(text))
		}
	}
	return out
}
