package units

import "math"

// Rounded is an estimate written for a table: its middle and its bounds in one
// unit and to the same decimals. A bound that is open is "".
type Rounded struct {
	Value, Low, High, Symbol string

	date bool
}

// Round writes an estimate in the canonical unit u for people, in the system's
// unit, each figure rounded to what the interval supports: two significant
// figures of its half-width (JCGM 100:2008, 7.2.6, gives a standard uncertainty
// at most two). low is -Inf and high is +Inf where that bound is not known; the
// distance of the other from v then stands for the half-width. Where v or a
// bound is NaN, Value is Unknown and the rest is "".
func Round(v, low, high float64, u Unit, sys System) Rounded {
	x, symbol := In(v, u, sys)
	lo, _ := In(low, u, sys)
	hi, _ := In(high, u, sys)
	if !finite(x) || math.IsNaN(lo) || math.IsNaN(hi) {
		return Rounded{Value: Unknown}
	}
	write := significant
	half := halfWidth(x, lo, hi)
	widest := math.Abs(x)
	for _, b := range []float64{lo, hi} {
		if finite(b) {
			widest = math.Max(widest, math.Abs(b))
		}
	}
	if half >= everydayLeast && widest < everydayMost {
		decimals := 1 - exponent(half, 2)
		write = func(x float64) string { return fixed(x, decimals) }
	}
	r := Rounded{Value: write(x), Symbol: symbol}
	if finite(lo) {
		r.Low = write(lo)
	}
	if finite(hi) {
		r.High = write(hi)
	}
	return r
}

// halfWidth returns how far the bounds are from the middle, 0 where neither is
// known.
func halfWidth(x, lo, hi float64) float64 {
	switch {
	case finite(lo) && finite(hi):
		return (hi - lo) / 2
	case finite(lo):
		return x - lo
	case finite(hi):
		return hi - x
	}
	return 0
}

// Between says the bounds in words: "14.75 to 15.85", "310 or more", of a date
// "2031 or later"; "" where both are open.
func (r Rounded) Between() string {
	more, less := "more", "less"
	if r.date {
		more, less = "later", "earlier"
	}
	switch {
	case r.Low != "" && r.High != "":
		return r.Low + " to " + r.High
	case r.Low != "":
		return r.Low + " or " + more
	case r.High != "":
		return r.High + " or " + less
	}
	return ""
}

// String writes the estimate in one line: "15.30 km (14.75 to 15.85)",
// "420 km (310 or more)", "unknown".
func (r Rounded) String() string {
	text := join(r.Value, r.Symbol)
	if bounds := r.Between(); bounds != "" {
		text += " (" + bounds + ")"
	}
	return text
}

// FormatInterval writes an estimate in one line, rounded as Round does.
func FormatInterval(v, low, high float64, u Unit, sys System) string {
	return Round(v, low, high, u, sys).String()
}
