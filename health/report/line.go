package report

import (
	"strings"

	"packwane/health/units"
)

// Line is one figure of an answer, for whoever lays the answer out: which
// figures there are, in which order, and which warnings belong to each is
// decided once for the command line, the page and the documents.
type Line struct {
	Key      string // its name in the report's JSON
	Label    string // what it is, in words that need no heading
	Estimate *Estimate
	Unit     units.Unit
	Per      string   // its unit where no record field has it: "% a month"
	Why      []string // codes of the warnings that say why it is in doubt or, the first that is there, unknown
	Remark   string   // "" for most
}

// Rounded writes the figure for people in the unit of sys.
func (l Line) Rounded(sys units.System) units.Rounded {
	r := l.Estimate.Rounded(l.Unit, sys)
	if l.Per != "" && l.Estimate != nil {
		r.Symbol = l.Per
	}
	return r
}

// Given is a figure of an answer that is no estimate.
type Given struct {
	Label  string
	Value  float64
	Unit   units.Unit
	Remark string
	Alarm  bool // the remark must not be overlooked
}

// Rounded writes the figure for people in the unit of sys.
func (g Given) Rounded(sys units.System) units.Rounded {
	value, symbol, _ := strings.Cut(units.Format(g.Value, g.Unit, sys), " ")
	return units.Rounded{Value: value, Symbol: symbol}
}

// What stands in the way of a figure, by the codes of the warnings.
var (
	whyNoRange      = []string{"range_unknown", "no_road_rides", "capacity_unknown"}
	whyNoCapacity   = []string{"capacity_unknown"}
	whyNoResistance = []string{"resistance_unknown"}
)

// tooSmall is the remark of a share that the log cannot tell from none.
const tooSmall = "too small to tell"

// Notes are the warnings of a report as an answer is laid out: each stands beside
// the figures that it belongs to, and those that belong to none at the end.
type Notes struct {
	warnings []Warning
	used     map[string]bool // by code
}

// NotesOf are the warnings of a report in the units of sys, none of them beside a
// figure yet.
func NotesOf(warnings []Warning, sys units.System) *Notes {
	n := &Notes{used: map[string]bool{}}
	for _, w := range warnings {
		n.Add(Warning{Code: w.Code, Text: w.TextIn(sys)})
	}
	return n
}

// Add adds a warning that belongs to no figure.
func (n *Notes) Add(w Warning) { n.warnings = append(n.warnings, w) }

// Beside returns what the warnings of these codes say of a figure.
func (n *Notes) Beside(codes ...string) []string {
	var out []string
	for _, code := range codes {
		for _, w := range n.warnings {
			if w.Code == code {
				n.used[code] = true
				out = append(out, w.Text)
			}
		}
	}
	return out
}

// Why returns what the first of these codes says that has a warning: one reason
// for an unknown figure will do.
func (n *Notes) Why(codes ...string) []string {
	for _, code := range codes {
		if texts := n.Beside(code); texts != nil {
			return texts
		}
	}
	return nil
}

// Rest are the warnings that stand beside no figure.
func (n *Notes) Rest() []Warning {
	var out []Warning
	for _, w := range n.warnings {
		if !n.used[w.Code] {
			out = append(out, w)
		}
	}
	return out
}
