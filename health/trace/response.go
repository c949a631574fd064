package trace

import "math"

// lags is how many changes of the mean current, the latest first, the answer
// of the voltage is taken apart into.
const lags = 3

// response is a running regression of the change of the 10 s mean voltage on
// the changes of the 10 s mean current now and before. Its partial sums are
// the answer to a unit step, averaged over the first 10 s, the second, ...
type response struct {
	n   float64
	sum [lags + 1]float64           // of the changes of current, and of the voltage last
	xx  [lags + 1][lags + 1]float64 // their products; upper half
}

func (r *response) add(x *[lags]float64, y float64) {
	r.n++
	v := [lags + 1]float64{x[0], x[1], x[2], y}
	for a, va := range v {
		r.sum[a] += va
		for b := a; b <= lags; b++ {
			r.xx[a][b] += va * v[b]
		}
	}
}

func (r *response) join(o *response) {
	if o.n == 0 {
		return
	}
	r.n += o.n
	for a := range r.sum {
		r.sum[a] += o.sum[a]
	}
	for a := range r.xx {
		for b := a; b <= lags; b++ {
			r.xx[a][b] += o.xx[a][b]
		}
	}
}

// tenSeconds is the part of the second mean by which the answer after 10 s
// lies above the first: means over 0-10 s and 10-20 s stand for about 3.7 s and
// 14.6 s on an answer that grows with the logarithm of time, ln(10/3.7) /
// ln(14.6/3.7) (log-means of the two spans).
const tenSeconds = 0.72

// ohms returns the resistance that a step shows after 10 s, with its standard
// error; ok is false where the changes of current do not tell the lags apart.
func (r *response) ohms() (ohms, err float64, ok bool) {
	if r.n < leastOhmsN {
		return 0, 0, false
	}
	var m [lags][2 * lags]float64 // centred products and the unit matrix
	var y [lags]float64
	cov := func(a, b int) float64 { return r.xx[min(a, b)][max(a, b)] - r.sum[a]*r.sum[b]/r.n }
	for a := range lags {
		for b := range lags {
			m[a][b] = cov(a, b)
		}
		m[a][lags+a] = 1
		y[a] = cov(a, lags)
	}
	if !invert(&m) {
		return 0, 0, false
	}
	var k [lags]float64
	rest := cov(lags, lags)
	for a := range lags {
		for b := range lags {
			k[a] += m[a][lags+b] * y[b]
		}
		rest -= k[a] * y[a]
	}
	w := [lags]float64{1, tenSeconds}
	variance := 0.0
	for a := range lags {
		ohms += w[a] * k[a]
		for b := range lags {
			variance += w[a] * w[b] * m[a][lags+b]
		}
	}
	return ohms, math.Sqrt(max(rest, 0) / (r.n - lags - 1) * max(variance, 0)), true
}

// invert brings the left half of m to the unit matrix and the right half to
// the inverse, by Gauss-Jordan elimination with partial pivots.
func invert(m *[lags][2 * lags]float64) bool {
	scale := 0.0
	for a := range lags {
		scale = max(scale, math.Abs(m[a][a]))
	}
	for c := range lags {
		p := c
		for r := c + 1; r < lags; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[p][c]) {
				p = r
			}
		}
		m[c], m[p] = m[p], m[c]
		if math.Abs(m[c][c]) <= 1e-9*scale {
			return false
		}
		d := m[c][c]
		for k := range m[c] {
			m[c][k] /= d
		}
		for r := range lags {
			if f := m[r][c]; r != c && f != 0 {
				for k := range m[r] {
					m[r][k] -= f * m[c][k]
				}
			}
		}
	}
	return true
}
