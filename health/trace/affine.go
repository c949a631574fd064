package trace

import (
	"strings"

	"packwane/health/units"
)

// affine turns a number as written into the canonical unit: (x-zero)*mul.
// Where div is set it is (x-zero)/div: one rounding for milli.
type affine struct {
	zero, mul, div float64
	plain          bool // the number stands as written
}

func (a affine) to(x float64) float64 {
	switch {
	case a.plain:
		return x
	case a.div != 0:
		return (x - a.zero) / a.div
	}
	return (x - a.zero) * a.mul
}

// smallTimes are the units of time that only machines write. The SI prefixes
// are those of NIST SP 811 table 5.
var smallTimes = map[string]float64{"us": 1e6, "µs": 1e6, "μs": 1e6, "usec": 1e6, "microsecond": 1e6, "microseconds": 1e6, "ns": 1e9, "nanosecond": 1e9, "nanoseconds": 1e9, "millis": 1e3, "msec": 1e3}

// affineOf returns how to turn unit into the canonical unit of role r; "" is
// the canonical unit itself.
func affineOf(r Role, unit string) (affine, bool) {
	canonical := unitOfRole[r]
	if unit == "" || canonical == units.None {
		return affine{plain: true}, true
	}
	if canonical == units.Second {
		if f, ok := smallTimes[strings.ToLower(unit)]; ok {
			return affine{div: f}, true
		}
		if s, ok := units.ScaleOf(unit, units.Days); ok {
			return affine{mul: s.To(1) * daySeconds}, true
		}
	}
	s, ok := scaleOf(unit, canonical)
	if !ok && canonical == units.Km {
		s, ok = units.ScaleOf(strings.ToLower(unit), canonical)
	}
	if !ok {
		return affine{}, false
	}
	zero, one := s.To(0), s.To(1)
	a := affine{mul: one - zero}
	switch {
	case zero != 0:
		a.zero = -zero / a.mul
	case a.mul == 1:
		a.plain = true
	case a.mul == 0.001:
		a.div = 1000
	case a.mul == 1e-6:
		a.div = 1e6
	}
	return a, true
}
