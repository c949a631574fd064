package simulate

import (
	"math"
	"sort"
)

// knot is one point of an open-circuit curve: charge level 0 to 1, cell volts.
type knot struct{ z, v float64 }

// curves holds, for each chemistry, open-circuit curves between which a cell
// is mixed. Slow-discharge figures read off at a few charge levels:
//   - nmc, nca: two 21700 and two 18650 cells, and lfp: one 18650 cell, from
//     S. Sunil, Piecewise-Battery-OCV (2025), C/32 or C/20.
//   - lfp above 98 %: the surface relaxes after the charger has finished, so
//     the resting curve ends near 3.45 V (from memory).
//   - lco, lmo: from memory, graphite cells of the usual kind.
var curves = map[string][][]knot{
	"nmc": {
		{{0, 2.52}, {.01, 2.83}, {.02, 2.965}, {.03, 3.052}, {.05, 3.162}, {.1, 3.304}, {.15, 3.401}, {.2, 3.475}, {.3, 3.576}, {.4, 3.644}, {.5, 3.717}, {.6, 3.817}, {.7, 3.920}, {.8, 4.018}, {.85, 4.067}, {.9, 4.092}, {.95, 4.116}, {.98, 4.148}, {1, 4.194}},
		{{0, 2.70}, {.01, 2.886}, {.02, 3.006}, {.03, 3.087}, {.05, 3.194}, {.1, 3.350}, {.15, 3.434}, {.2, 3.484}, {.3, 3.585}, {.4, 3.654}, {.5, 3.736}, {.6, 3.837}, {.7, 3.920}, {.8, 4.019}, {.85, 4.063}, {.9, 4.083}, {.95, 4.107}, {.98, 4.142}, {1, 4.190}},
	},
	"nca": {
		{{0, 2.506}, {.01, 2.817}, {.02, 2.959}, {.03, 3.050}, {.05, 3.169}, {.1, 3.335}, {.15, 3.421}, {.2, 3.475}, {.3, 3.581}, {.4, 3.656}, {.5, 3.742}, {.6, 3.844}, {.7, 3.926}, {.8, 4.034}, {.85, 4.070}, {.9, 4.080}, {.95, 4.101}, {.98, 4.139}, {1, 4.193}},
		{{0, 2.50}, {.01, 2.886}, {.02, 3.003}, {.03, 3.084}, {.05, 3.192}, {.1, 3.355}, {.15, 3.436}, {.2, 3.482}, {.3, 3.590}, {.4, 3.655}, {.5, 3.738}, {.6, 3.843}, {.7, 3.923}, {.8, 4.031}, {.85, 4.072}, {.9, 4.085}, {.95, 4.108}, {.98, 4.143}, {1, 4.198}},
	},
	"lfp": {
		{{0, 2.01}, {.01, 2.702}, {.02, 2.864}, {.03, 2.956}, {.05, 3.072}, {.08, 3.175}, {.1, 3.203}, {.15, 3.216}, {.2, 3.241}, {.3, 3.278}, {.4, 3.295}, {.5, 3.299}, {.6, 3.303}, {.65, 3.307}, {.7, 3.316}, {.75, 3.333}, {.8, 3.337}, {.9, 3.341}, {.95, 3.343}, {.98, 3.349}, {.99, 3.372}, {1, 3.45}},
	},
	"lco": {
		{{0, 2.75}, {.01, 3.10}, {.03, 3.36}, {.05, 3.47}, {.1, 3.61}, {.2, 3.70}, {.3, 3.745}, {.4, 3.775}, {.5, 3.81}, {.6, 3.87}, {.7, 3.94}, {.8, 4.01}, {.9, 4.09}, {.95, 4.13}, {1, 4.19}},
	},
	"lmo": {
		{{0, 2.80}, {.01, 3.12}, {.03, 3.36}, {.05, 3.46}, {.1, 3.60}, {.2, 3.72}, {.3, 3.79}, {.4, 3.85}, {.5, 3.90}, {.6, 3.95}, {.7, 4.00}, {.8, 4.05}, {.9, 4.10}, {.95, 4.13}, {1, 4.19}},
	},
}

// gridN is the number of steps of a curve that is ready for use.
const gridN = 1024

// curve is a cell's open-circuit voltage on a grid of charge levels, how it
// shifts with age, and how the resistance goes over charge level.
type curve struct {
	v    [gridN + 1]float64 // volts of the new cell
	aged [gridN + 1]float64 // volts added for each unit of capacity lost
	r    [gridN + 1]float64 // factor on the resistance
}

// newCurve mixes and bends the curves of the chemistry as the cell says.
func newCurve(chemistry string, c *Cell) *curve {
	family := curves[chemistry]
	a, b := spline(family[0]), spline(family[len(family)-1])
	out := new(curve)
	top := c.Bend[0]
	for i := range out.v {
		z := float64(i) / gridN
		// A warp of the charge axis (the electrodes are not matched alike)
		// that leaves both ends in place, and a bend of the voltage.
		zw := z + top*z*(1-z)
		v := c.Mix*a(zw) + (1-c.Mix)*b(zw)
		v += c.Bend[1]*math.Sin(math.Pi*z)*z + c.Bend[2]*math.Sin(2*math.Pi*z)
		out.v[i] = v
		out.aged[i] = c.AgedV * (math.Sin(math.Pi*z) - 0.5*math.Sin(3*math.Pi*z))
		out.r[i] = 1 + c.LowRise*math.Exp(-z/c.LowWidth) + 0.03*math.Cos(4*math.Pi*z)
	}
	for i := 1; i < len(out.v); i++ { // a bend must not make it fall
		if out.v[i] < out.v[i-1]+2e-6 {
			out.v[i] = out.v[i-1] + 2e-6
		}
	}
	mid := out.r[gridN/2]
	for i := range out.r {
		out.r[i] /= mid
	}
	return out
}

// at returns volts, and the factor on the resistance, at charge level z of a
// cell that has lost the given share of its capacity. Below 0 and above 1 the
// curve goes on straight.
func (c *curve) at(z, lost float64) (v, r float64) {
	x := z * gridN
	i := int(x)
	if x < 0 {
		i = 0
	} else if i >= gridN {
		i = gridN - 1
	}
	f := x - float64(i)
	v = c.v[i] + f*(c.v[i+1]-c.v[i]) + lost*(c.aged[i]+f*(c.aged[i+1]-c.aged[i]))
	if f < 0 || f > 1 {
		f = max(0, min(1, f))
	}
	return v, c.r[i] + f*(c.r[i+1]-c.r[i])
}

// level returns the charge level, 0 to 1, at which a new cell rests at v.
func (c *curve) level(v float64) float64 {
	i := sort.SearchFloat64s(c.v[:], v)
	if i == 0 {
		return 0
	}
	if i > gridN {
		return 1
	}
	return (float64(i-1) + (v-c.v[i-1])/(c.v[i]-c.v[i-1])) / gridN
}

// spline interpolates rising knots without overshoot: cubic Hermite with the
// slopes of Fritsch and Carlson (1980), SIAM J. Numer. Anal. 17, 238.
func spline(k []knot) func(float64) float64 {
	n := len(k)
	slope := make([]float64, n)
	secant := func(i int) float64 { return (k[i+1].v - k[i].v) / (k[i+1].z - k[i].z) }
	slope[0], slope[n-1] = secant(0), secant(n-2)
	for i := 1; i < n-1; i++ {
		l, r := secant(i-1), secant(i)
		if l*r > 0 {
			slope[i] = 2 * l * r / (l + r)
		}
	}
	return func(z float64) float64 {
		i := sort.Search(n-2, func(i int) bool { return k[i+1].z >= z })
		h := k[i+1].z - k[i].z
		t := (z - k[i].z) / h
		t2, t3 := t*t, t*t*t
		return (2*t3-3*t2+1)*k[i].v + (t3-2*t2+t)*h*slope[i] + (3*t2-2*t3)*k[i+1].v + (t3-t2)*h*slope[i+1]
	}
}
