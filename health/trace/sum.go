package trace

import "math"

// sum adds up many numbers with an error that does not grow with their count:
// A. Neumaier, Rundungsfehleranalyse einiger Verfahren zur Summation endlicher
// Summen, ZAMM 54 (1974) 39, algorithm IV.
type sum struct{ s, c float64 }

func (a *sum) add(x float64) {
	t := a.s + x
	if math.Abs(a.s) >= math.Abs(x) {
		a.c += (a.s - t) + x
	} else {
		a.c += (x - t) + a.s
	}
	a.s = t
}

// join adds another sum with what it carries.
func (a *sum) join(b sum) {
	a.add(b.s)
	a.c += b.c
}

func (a sum) value() float64 { return a.s + a.c }
