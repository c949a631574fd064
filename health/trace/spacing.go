package trace

import "math"

// spacing estimates what the integral of the current may be off because it was
// only seen at the rows, in ampere-seconds.
//
// Between close rows on a smooth curve a straight line misses the second
// difference over twelve, always to the same side: these are added up with
// their sign (C. de Boor, S. Conte, Elementary Numerical Analysis, composite
// trapezoid rule: -h^3 f”/12 an interval). Where the current jumps about from
// row to row that same difference is a sample of what happened between rows, as
// often to one side as to the other: these are added up as squares.
type spacing struct{ lin, sq float64 }

func (s *spacing) join(o spacing) {
	s.lin += o.lin
	s.sq += o.sq
}

// jump adds an interval of dt within which the current jumped by di at an
// unknown moment: uniform, so di dt / sqrt(12) (JCGM 100:2008, 4.3.7).
func (s *spacing) jump(di, dt float64) { s.sq += di * dt * di * dt / 12 }

// ampereSeconds returns the standard error.
func (s spacing) ampereSeconds() float64 { return math.Sqrt(s.sq + s.lin*s.lin) }
