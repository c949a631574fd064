package charts

import (
	"math"
	"strconv"
	"strings"
)

// scale maps the values of an axis onto a stretch of the canvas: low to from, high to to.
type scale struct{ low, high, from, to float64 }

func (s scale) at(v float64) float64 {
	return s.from + (v-s.low)/(s.high-s.low)*(s.to-s.from)
}

// tick is one labelled place on an axis. Context is a second, outer line that holds from this tick on (the year under
// a month), empty for none.
type tick struct {
	v              float64
	label, context string
}

// maxAbs is the largest value that is drawn: beyond it lies no quantity of the trade, and floating point would soon
// run out of ticks.
const maxAbs = 1e12

// finite tells whether a value can be drawn.
func finite(v float64) bool { return math.Abs(v) <= maxAbs }

// niceSteps gives 1, 2 or 5 times a power of ten, the least that is not below v, and the ones after it.
func niceStep(v float64) float64 {
	e := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*e >= v*(1-1e-9) {
			return m * e
		}
	}
	return 10 * e
}

// numberTicks gives round values in low..high, at most `most` of them, by steps of 1, 2 or 5 times a power of ten.
// Where one such step gives too many and the next fewer than two, it is the double of the first, or the first itself:
// an axis with one label says nothing.
func numberTicks(low, high float64, most int) []tick {
	step := niceStep((high - low) / (2.5 * float64(max(most, 1))))
	finer := step
	for countTicks(low, high, step) > most {
		finer, step = step, niceStep(step*1.5)
	}
	if countTicks(low, high, step) < 2 {
		step = 2 * finer
	}
	if countTicks(low, high, step) < 2 {
		step = finer
	}
	return ticksEvery(low, high, step)
}

// countTicks gives the number of multiples of step in low..high, with a hair's breadth to spare.
func countTicks(low, high, step float64) int {
	return int(math.Floor(high/step+1e-9) - math.Ceil(low/step-1e-9) + 1)
}

func ticksEvery(low, high, step float64) []tick {
	var ts []tick
	places := stepPlaces(step)
	for n := math.Ceil(low/step - 1e-9); n*step <= high+1e-9*step; n++ {
		v := n * step
		ts = append(ts, tick{v: v, label: formatNumber(v, places)})
	}
	return ts
}

// stepPlaces gives the decimal places that values a step apart need.
func stepPlaces(step float64) int {
	return int(min(max(-math.Floor(math.Log10(step)+1e-9), 0), 12))
}

// formatNumber writes v with so many decimals, a true minus sign, and thin spaces between groups of three from five
// digits on (SI brochure, 5.4.4).
func formatNumber(v float64, places int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', places, 64)
	whole, frac, dotted := strings.Cut(s, ".")
	if len(whole) > 4 {
		for i := len(whole) - 3; i > 0; i -= 3 {
			whole = whole[:i] + "\u2009" + whole[i:]
		}
	}
	if dotted {
		whole += "." + frac
	}
	if v < 0 && strings.Trim(s, "0.") != "" {
		return "−" + whole
	}
	return whole
}

// formatSigned writes v as formatNumber does, with a plus before what is above zero.
func formatSigned(v float64, places int) string {
	s := formatNumber(v, places)
	if v > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}
