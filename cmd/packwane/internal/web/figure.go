package web

import (
	"math"
	"strings"
	"time"

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

const unknown = "unknown"

// of shows an estimate. codes name the warnings that say why it is unknown or
// in doubt.
func (f *figures) of(label string, e *report.Estimate, u units.Unit, codes ...string) *figure {
	out := &figure{Label: label, Value: unknown, Unknown: e == nil, Why: f.why(codes)}
	if e == nil && len(out.Why) > 1 {
		out.Why = out.Why[:1] // one reason will do
	}
	if e != nil {
		r := rounded(e, u, f.system)
		out.Value, out.Symbol, out.Between = r.Value, r.Symbol, between(r.Low, r.High, "more", "less")
	}
	return out
}

// date shows an estimate of a date.
func (f *figures) date(label string, e *report.DateEstimate, codes ...string) *figure {
	out := &figure{Label: label, Value: unknown, Unknown: e == nil, Why: f.why(codes)}
	if e == nil {
		return out
	}
	var low, high time.Time
	if e.Low != nil {
		low = e.Low.Time
	}
	if e.High != nil {
		high = e.High.Time
	}
	value, bounds, _ := strings.Cut(units.FormatDateInterval(e.Value.Time, low, high), " (")
	out.Value, out.Between = value, strings.TrimSuffix(bounds, ")")
	return out
}

// given shows something that is given, not estimated.
func (f *figures) given(label string, v float64, u units.Unit, remark string, alarm bool) *figure {
	value, symbol, _ := strings.Cut(units.Format(v, u, f.system), " ")
	return &figure{Label: label, Value: value, Symbol: symbol, Remark: remark, Alarm: alarm}
}

// in gives a figure a unit that no record field has.
func (f *figure) in(symbol string) *figure {
	if !f.Unknown {
		f.Symbol = symbol
	}
	return f
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
			out.Links = append(out.Links, link{path, sentence(text)})
		default:
			out.Text = append(out.Text, sentence(text))
		}
	}
	return out
}

// rounded rounds an estimate to what its interval supports.
func rounded(e *report.Estimate, u units.Unit, sys units.System) units.Rounded {
	return units.Round(e.Value, bound(e.Low, math.Inf(-1)), bound(e.High, math.Inf(1)), u, sys)
}

// interval writes an estimate in one line; "unknown" where there is none.
func interval(e *report.Estimate, u units.Unit, sys units.System) string {
	if e == nil {
		return unknown
	}
	return rounded(e, u, sys).String()
}

func bound(v *float64, open float64) float64 {
	if v == nil {
		return open
	}
	return *v
}

func between(low, high, more, less string) string {
	switch {
	case low != "" && high != "":
		return low + " to " + high
	case low != "":
		return low + " or " + more
	case high != "":
		return high + " or " + less
	}
	return ""
}

// need says whether a range that is needed is met.
func need(km float64, e *report.Estimate) (remark string, alarm bool) {
	switch {
	case e == nil:
		return "", false
	case e.High != nil && *e.High < km:
		return "not met", true
	case e.Low != nil && *e.Low >= km:
		return "met", false
	}
	return "in doubt", false
}
