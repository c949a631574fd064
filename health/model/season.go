package model

import (
	"math"
	"time"

	"gonum.org/v1/gonum/mat"

	"packwane/health/logbook"
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

// fitSeason is a least-squares fit of the three figures with the prior above, or with its
// like of the south, half a year later: whichever the temperatures and the odds of living
// there make more likely. days and temps have equal length; none gives the prior.
func fitSeason(days, temps []float64, southOdds float64) season {
	north, off := priorSeason.fitted(days, temps)
	turned := season{priorSeason.mean, -priorSeason.cos, -priorSeason.sin, priorSeason.sd}
	south, offSouth := turned.fitted(days, temps)
	// Days of one spell of weather are no proofs of their own.
	if southOdds+(off-offSouth)/2*min(1, spells/max(float64(len(days)), 1)) > 0 {
		return south
	}
	return north
}

// spells is for how many independent days any number of them counts between the hemispheres.
const spells = 8.0

// southern is the ln odds that a log was written south of the equator, by the offset of its
// clock: daylight saving time moves it in the summer. Where it never moves some offsets
// are kept by more riders there: eastern Australia and New Zealand, Brazil and Argentina
// (from memory).
func southern(h *logbook.History) float64 {
	var sum, n [2]float64 // by November to February, and May to August
	last := 0
	for _, r := range h.Records() {
		at := logbook.AtOf(r)
		if at.IsZero() {
			continue
		}
		_, last = at.Zone()
		switch month := at.Month(); {
		case month >= time.November || month <= time.February:
			sum[0], n[0] = sum[0]+float64(last), n[0]+1
		case month >= time.May && month <= time.August:
			sum[1], n[1] = sum[1]+float64(last), n[1]+1
		}
	}
	const moved, likely, hardly = 6, 1.5, -3
	if n[0] > 0 && n[1] > 0 {
		switch diff := sum[0]/n[0] - sum[1]/n[1]; {
		case diff > 1200:
			return moved
		case diff < -1200:
			return -moved
		}
	}
	switch hours := float64(last) / 3600; {
	case hours >= 9.5 && hours <= 14, hours == -3:
		return likely
	}
	return hardly
}

// fitted is the season that agrees best with a prior and the temperatures, and how far it is
// off: the sum of its squared departures from both.
func (s season) fitted(days, temps []float64) (best season, off float64) {
	if len(days) == 0 {
		return s, 0
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
		return s, 0
	}
	s.mean, s.cos, s.sin = x.AtVec(0), x.AtVec(1), x.AtVec(2)
	for i := range 3 {
		off += square((x.AtVec(i) - prior[i]) / sd[i])
	}
	sum := 25.0 * 4 // four days of the prior
	for i, d := range days {
		r := temps[i] - s.at(d)
		sum += r * r
		off += square(r / noise)
	}
	s.sd = math.Sqrt(sum / float64(len(days)+4))
	return s, off
}
