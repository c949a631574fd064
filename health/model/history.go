package model

import (
	"math"
	"math/rand/v2"
)

// A pack of which nobody says since when it is in use, how many cycles it had or what it
// gave as new is likely new where its log begins, or was bought used and has lost who
// knows how much. The rating tells which, as well as a rating does. Common practice, no
// source.
const boughtUsed, usedLost = .3, .12

// pastUnknown reports whether nobody says what the pack was before its log.
func (m *machine) pastUnknown() bool {
	return !m.bornKnown && !m.h.Pack.CyclesBefore.OK && !known(m.asNewAh)
}

// lostBefore draws what a pack had lost before its log began, as a share, given ln of
// its capacity then over the rating: of a new pack that lies about 0 by the doubt of a
// rating, of a used one about ln of what was left, the loss falling exponentially.
func (m *machine) lostBefore(lnOverRated float64, rng *rand.Rand) float64 {
	const step, most = .01, .6
	density := func(lost float64) float64 {
		return math.Exp(-square((lnOverRated-math.Log1p(-lost))/m.ratedSd) / 2)
	}
	sum := (1 - boughtUsed) * density(0)
	isNew := sum
	for lost := step / 2; lost < most; lost += step {
		sum += boughtUsed * step / usedLost * math.Exp(-lost/usedLost) * density(lost)
	}
	u := sum * rng.Float64()
	if u -= isNew; u < 0 || sum == 0 {
		return 0
	}
	for lost := step / 2; lost < most; lost += step {
		if u -= boughtUsed * step / usedLost * math.Exp(-lost/usedLost) * density(lost); u < 0 {
			return lost
		}
	}
	return most
}
