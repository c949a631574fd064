package report

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"packwane/health/units"
)

// causeWords are the causes as a sentence names them.
var causeWords = map[string]string{
	"ageing": "ageing", "temperature": "temperature", "tyre_pressure": "tyre pressure", "rider_mass": "rider and load", "speed": "speed", "wind": "wind",
	"climb": "climbing", "route": "the route's surface", "start_charge": "not started full",
}

// Name is the cause as a heading names it.
func (c Cause) Name() string { return cmp.Or(c.name, causeWords[c.Cause]) }

// Words says the explanation in one paragraph, in the reader's units: the
// causes that the log can tell, the largest first, then the rest without a
// sign.
func (x *Explain) Words(sys units.System) string {
	km := func(v float64) string { return kilometres(v).in(sys) }
	diff := x.RideKm.Value - x.ReferenceKm.Value
	var b strings.Builder
	verb := "would have gone"
	if x.Measured {
		verb = "went"
	}
	b.WriteString("It " + verb + " " + km(x.RideKm.Value) + " to the limit, " + km(math.Abs(diff)) + " " + moreOrLess(diff) + " than a full charge as new at reference conditions (" + km(x.ReferenceKm.Value) + ")")
	causes := slices.Clone(x.Causes)
	slices.SortStableFunc(causes, func(a, b Cause) int { return cmp.Compare(math.Abs(b.Km.Value), math.Abs(a.Km.Value)) })
	var less, more, small []string
	for _, c := range causes {
		switch {
		case !c.Resolved:
			small = append(small, c.Name())
		case c.Km.Value < 0:
			less = append(less, c.Name()+" "+km(-c.Km.Value))
		default:
			more = append(more, c.Name()+" "+km(c.Km.Value))
		}
	}
	if len(less) > 0 {
		b.WriteString(". Less by " + strings.Join(less, ", "))
	}
	if len(more) > 0 {
		b.WriteString(". More by " + strings.Join(more, ", "))
	}
	switch u := x.UnexplainedKm; {
	case x.UnexplainedResolved():
		b.WriteString(". Unexplained: " + km(math.Abs(u.Value)) + " " + moreOrLess(u.Value))
	default:
		b.WriteString(". Nothing to speak of stays unexplained")
	}
	if len(small) > 0 {
		b.WriteString(". Too small to tell: " + strings.Join(small, ", "))
	}
	return b.String() + "."
}

func moreOrLess(v float64) string {
	if v < 0 {
		return "less"
	}
	return "more"
}

// roundKm rounds for a sentence: to a tenth, a large one to three figures.
func roundKm(v float64) float64 {
	if math.Abs(v) >= 100 {
		return math.Round(v)
	}
	return math.Round(v*10) / 10
}

// assumedUnits are the units of Assumption.Assumed.
var assumedUnits = map[string]units.Unit{"temperature": units.Celsius, "tyre_pressure": units.Kpa, "rider_mass": units.Kg, "speed": units.Kmh, "wind": units.Kmh}

// Words says what was assumed and how much that may hide.
func (a Assumption) Words(sys units.System) string {
	what := causeWords[a.Cause]
	value := ""
	if a.Assumed != nil {
		value = whole(*a.Assumed, assumedUnits[a.Cause], sys)
	}
	said := ""
	switch {
	case a.Rough:
		said = "the recorded wind is rough"
		if value != "" {
			said = "the recorded wind (" + value + ") is rough"
		}
	case a.Cause == "climb":
		said = "no climb was recorded: as much as usual on its route, else in the log, is assumed"
	case a.Cause == "route":
		said = "no route was named: an average surface is assumed"
	case a.Cause == "tyre_pressure" && value == "":
		said = "the tyre's pressure cannot be told from its reference: it is taken as that"
	case value == "":
		said = "no " + what + " was recorded"
	case a.Cause == "wind":
		said = "no wind was recorded: as strong as it usually is (" + value + ") is assumed, from all sides"
	default:
		said = "no " + map[string]string{"temperature": "air temperature", "rider_mass": "rider's weight"}[a.Cause]
		if a.Cause != "temperature" && a.Cause != "rider_mass" {
			said = "no " + what
		}
		said += " was recorded: the usual " + value + " is assumed"
	}
	return said + "; that may hide " + kilometres(a.HidesKm).in(sys) + " either way"
}

// UnexplainedResolved reports whether what stays unexplained is told from none.
func (x *Explain) UnexplainedResolved() bool {
	return x.Known() && resolved(x.UnexplainedKm, *x.LeastKm)
}
