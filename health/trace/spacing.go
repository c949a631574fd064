package trace

import "math"

// spacing estimates what the integral of the current may be off because it was
// only seen at the rows, in ampere-seconds.
//
// Between close rows on a smooth curve a straight line misses the second
// difference over twelve, always to the same side: those are added up with
// their sign (composite trapezoid rule: S. Conte, C. de Boor, Elementary
// Numerical Analysis, 7.4). Where the current jumps about from row to row the
// same difference is a sample of what happened between the rows, as often to
// one side as to the other: those are added up as squares.
type spacing struct {
	lin, sq float64
	jumps   float64 // As squared, of intervals in which the moment of a jump is not known
}

// roughShare turns the root of the squared bends into a standard error, as for
// a current that is independent from row to row with variance s^2: bends have
// the variance 6 s^2 and intervals err by s^2. A current that moves less
// freely errs less: one that walks at random (a Wiener process) by half of it.
const roughShare = 0.41

func (s *spacing) join(o spacing) {
	s.lin += o.lin
	s.sq += o.sq
	s.jumps += o.jumps
}

// bend adds an interval of dt taken as a straight line: the current changed by
// di in it and by before in the interval in front.
func (s *spacing) bend(di, before, dt float64) {
	b := dt * (di - before)
	s.lin += b
	s.sq += b * b
}

// jump adds an interval of dt within which the current jumped by di at an
// unknown moment: uniform, so di dt / sqrt(12) (JCGM 100:2008, 4.3.7).
func (s *spacing) jump(di, dt float64) { s.jumps += di * dt * di * dt / 12 }

// ampereSeconds returns the standard error.
func (s spacing) ampereSeconds() float64 {
	lin := s.lin / 12
	return math.Sqrt(roughShare*roughShare*s.sq + s.jumps + lin*lin)
}
