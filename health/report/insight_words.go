package report

import (
	"fmt"
	"math"
	"strings"

	"packwane/health/prose"
	"packwane/health/units"
)

// InsightLine is one line of an insight for people.
type InsightLine struct {
	Label string
	Text  string
	Alarm bool // a stop: it must not be overlooked
	Spare int  // where there is no room the highest go first; 0 stays
}

// changeNames are the estimates as a line names them.
var changeNames = map[string]string{"range_km": "range", "capacity_ah": "capacity", "resistance_mohm": "resistance"}

// A change of an estimate smaller than this, of its value and of the width of
// its interval, is told as none.
const (
	hardlyMoved    = .005
	hardlyNarrowed = .05
)

// Lines says the insight in the units of sys, what matters most first.
func (i *Insight) Lines(sys units.System) []InsightLine {
	var out []InsightLine
	add := func(label string, p phrase) {
		if text := p.in(sys); text != "" {
			out = append(out, InsightLine{Label: label, Text: prose.Sentence(text)})
		}
	}
	for _, d := range i.DueStarts {
		add("due", say(actionWords(d.Action)+": ", d.why))
		out[len(out)-1].Alarm = d.Action == StopRiding || d.Action == Retire
	}
	if i.Shows != nil {
		add("shows", i.Shows.why)
	}
	for _, n := range i.notes {
		add("shows", n)
	}
	for _, w := range i.Warnings {
		add("doubt", say(w.Text))
	}
	if i.MainCause != nil {
		add("cause", i.MainCause.why)
	}
	for n, p := range i.changeWords() {
		add("now", p)
		out[len(out)-1].Spare = min(n, 1)
	}
	if i.RangeTest != nil {
		add("test", i.RangeTest.words())
	}
	if i.Hold != nil {
		add("hold", i.Hold.why)
		if i.Hold.Code == "hold_not_due" {
			out[len(out)-1].Spare = 3
		}
	}
	var ends []string
	for _, d := range i.DueEnds {
		ends = append(ends, actionWords(d.Action)+" ("+prose.Spaced(d.Rule)+")")
	}
	if len(ends) > 0 {
		how := "no longer due: "
		if !i.asleep.IsZero() { // it is put off, not done
			how = "asleep until " + units.FormatDate(i.asleep) + ": "
		}
		add("settled", say(how+strings.Join(ends, ", ")))
	}
	for n, a := range i.Next {
		add("next", a.why)
		if n > 0 {
			out[len(out)-1].Spare = 4
		}
	}
	return out
}

// actionWords says an action as in a sentence: "stop riding".
func actionWords(a Action) string { return prose.Spaced(string(a)) }

// changeWords says what the record did to each estimate: to the first always,
// to the others where they moved.
func (i *Insight) changeWords() []phrase {
	var out []phrase
	for _, c := range i.Estimates {
		if !c.still() || len(out) == 0 {
			out = append(out, c.words())
		}
	}
	return out
}

// still reports whether an estimate hardly moved.
func (c Change) still() bool {
	if c.Before == nil || c.Before.Low == nil || c.Before.High == nil || c.After.Low == nil || c.After.High == nil {
		return false
	}
	was, is := *c.Before.High-*c.Before.Low, *c.After.High-*c.After.Low
	return math.Abs(c.After.Value/c.Before.Value-1) < hardlyMoved && math.Abs(is/was-1) < hardlyNarrowed
}

func (c Change) words() phrase {
	name := changeNames[c.Quantity]
	switch {
	case c.Before == nil:
		return say(name+" ", about(c.After, c.unit), ", not known before")
	case c.still():
		return say(name+" ", about(c.After, c.unit), ", as before")
	}
	return say(name+" ", about(c.After, c.unit), ", before ", about(c.Before, c.unit))
}

// kilometres is a distance that is rounded to a tenth in whatever unit it is
// read, a large one to three figures.
type kilometres float64

func (v kilometres) in(sys units.System) string {
	x, _ := units.In(float64(v), units.Km, sys)
	if x == 0 {
		return units.Format(0, units.Km, sys)
	}
	return units.Format(float64(v)*roundKm(x)/x, units.Km, sys)
}

// degrees is a temperature that is known to no better than a degree, in °C, rounded
// to one in whatever unit it is told.
type degrees float64

func (v degrees) in(sys units.System) string { return Degrees(float64(v), sys) }

// Degrees writes a temperature in °C to the whole degree of the rider's unit.
func Degrees(c float64, sys units.System) string { return whole(c, units.Celsius, sys) }

// whole writes a quantity to the whole number of the rider's unit.
func whole(v float64, u units.Unit, sys units.System) string {
	x, symbol := units.In(v, u, sys)
	return fmt.Sprintf("%.0f %s", math.Round(x)+0, symbol) // + 0: no -0
}

// rough is a quantity that is known to three figures at most.
type rough struct {
	v float64
	u units.Unit
}

func (r rough) in(sys units.System) string {
	x, symbol := units.In(r.v, r.u, sys)
	return strings.TrimSpace(toFigures(x, 3) + " " + symbol)
}
