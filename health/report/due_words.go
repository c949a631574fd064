package report

import (
	"math"
	"strings"

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
		case phrase:
			b.WriteString(part.in(sys))
		case quantity:
			b.WriteString(part.in(sys))
		case kilometres:
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

// exact is a figure without an interval.
func exact(v float64, u units.Unit) quantity {
	return quantity{v, math.NaN(), math.NaN(), u}
}

// about is an estimate; e is not nil.
func about(e *Estimate, u units.Unit) quantity {
	q := quantity{e.Value, math.Inf(-1), math.Inf(1), u}
	if e.Low != nil {
		q.low = *e.Low
	}
	if e.High != nil {
		q.high = *e.High
	}
	return q
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
	if len(ids) < 2 || more != "" {
		return strings.Join(ids, ", ") + more
	}
	return strings.Join(ids[:len(ids)-1], ", ") + " and " + ids[len(ids)-1]
}
