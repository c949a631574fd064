package report

import (
	"math"
	"strings"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// phrase is a sentence that holds quantities, so that it can be said in the
// units of whoever reads it: strings and quantities in turn.
type phrase []any

// quantity is a figure in a canonical unit; low and high are NaN where it is
// no estimate.
type quantity struct {
	v, low, high float64
	unit         units.Unit
}

func say(parts ...any) phrase { return parts }

// in writes the phrase in the units of sys.
func (p phrase) in(sys units.System) string {
	var b strings.Builder
	for _, part := range p {
		switch part := part.(type) {
		case string:
			b.WriteString(part)
		case interface{ in(units.System) string }:
			b.WriteString(part.in(sys))
		}
	}
	return b.String()
}

func (q quantity) in(sys units.System) string {
	if math.IsNaN(q.low) {
		return units.Format(q.v, q.unit, sys)
	}
	return units.FormatInterval(q.v, q.low, q.high, q.unit, sys)
}

// named is the field that a figure stands in. Where the figure is said in
// another unit than the field's own, the name is said without it.
type named string

// fieldWords are fields whose names say too little without their unit.
var fieldWords = map[string]string{
	"tyre_kpa": "tyre pressure", "ref_tyre_kpa": "usual tyre pressure", "rider_kg": "rider's weight", "mass_kg": "weight",
	"ambient_c": "air temperature", "pack_c": "pack temperature", "ref_temp_c": "usual temperature",
}

func (n named) in(sys units.System) string {
	if sys == units.Metric {
		return string(n)
	}
	if words, ok := fieldWords[string(n)]; ok {
		return words
	}
	for _, unit := range []string{"_km", "_kmh", "_m"} {
		if name, ok := strings.CutSuffix(string(n), unit); ok {
			return prose.Spaced(name)
		}
	}
	return string(n)
}

// assigned is a figure as it is typed into a field.
type assigned struct {
	field logbook.Field
	v     float64
}

func (a assigned) in(sys units.System) string {
	if name, ok := typedNames[a.field.Name]; ok && sys == units.Imperial {
		return name + "=" + strings.ReplaceAll(units.Format(a.v, a.field.Unit, sys), " ", "")
	}
	return a.field.Name + "=" + shortNumber(a.v)
}

// typedNames are the fields that are typed in other units, as they are called
// then.
var typedNames = map[string]string{"distance_km": "distance", "odometer_km": "odometer", "tyre_kpa": "tyre", "ref_tyre_kpa": "ref-tyre"}

// exact is a figure without an interval.
func exact(v float64, u units.Unit) quantity {
	return quantity{v, math.NaN(), math.NaN(), u}
}

// about is an estimate; e is not nil.
func about(e *Estimate, u units.Unit) quantity {
	low, high := e.Bounds()
	return quantity{e.Value, low, high, u}
}

// figure names an estimate for the evidence.
func figure(name string, e *Estimate) Figure { return Figure{name, e.Value, e.Low, e.High} }

// bare names a figure without an interval.
func bare(name string, v float64) Figure { return Figure{Name: name, Value: tidy(v)} }

// listed joins ids as in a sentence, the first few of them.
func listed(ids []string) string {
	const few = 4
	more := ""
	if len(ids) > few {
		ids, more = ids[len(ids)-few:], " and earlier ones"
	}
	if more != "" {
		return strings.Join(ids, ", ") + more
	}
	return prose.List(ids, "and")
}
