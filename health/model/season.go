package model

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// season is the usual air temperature over the year where the rider rides:
// Mean + Cos·cos(2πd/365.25) + Sin·sin(2πd/365.25) for day d since the epoch.
type season struct {
	mean, cos, sin float64
	sd             float64 // of one day about it, K
}

// priorSeason is a temperate year, warmest in July, from memory: 12 ± 8 °C,
// swinging 8 ± 6 K either way. Where the log has been kept long enough its own
// temperatures tell.
var priorSeason = season{mean: 12, cos: -8, sin: -2.5, sd: 5}

const yearDays = 365.25

func (s season) at(day float64) float64 {
	a := 2 * math.Pi * day / yearDays
	return s.mean + s.cos*math.Cos(a) + s.sin*math.Sin(a)
}

// fitSeason is a least-squares fit of the three figures with the prior above.
// days and temps have equal length; none gives the prior.
func fitSeason(days, temps []float64) season {
	s := priorSeason
	if len(days) == 0 {
		return s
	}
	const noise = 5.0
	sd := [3]float64{8, 6, 6}
	prior := [3]float64{s.mean, s.cos, s.sin}
	a, b := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
	for i := range 3 {
		a.SetSym(i, i, 1/(sd[i]*sd[i]))
		b.SetVec(i, prior[i]/(sd[i]*sd[i]))
	}
	row := func(day float64) [3]float64 {
		x := 2 * math.Pi * day / yearDays
		return [3]float64{1, math.Cos(x), math.Sin(x)}
	}
	for i, d := range days {
		f := row(d)
		for j := range 3 {
			b.SetVec(j, b.AtVec(j)+f[j]*temps[i]/(noise*noise))
			for k := j; k < 3; k++ {
				a.SetSym(j, k, a.At(j, k)+f[j]*f[k]/(noise*noise))
			}
		}
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&x, b) != nil {
		return s
	}
	s.mean, s.cos, s.sin = x.AtVec(0), x.AtVec(1), x.AtVec(2)
	sum := 25.0 * 4 // four days of the prior
	for i, d := range days {
		r := temps[i] - s.at(d)
		sum += r * r
	}
	s.sd = math.Sqrt(sum / float64(len(days)+4))
	return s
}
