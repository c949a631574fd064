package model

import (
	"math"

	"packwane/health/law"
	"packwane/health/logbook"
)

// holdBalances is how long a charger must stay on after it finished for the groups to
// lose all but a third of what parts them: common practice says an hour, no source.
// Balancing takes half a percent to two of the charge an hour, so that what many cycles
// made takes many holds: what is left is known to half of what was there at best.
// What is shorter than leastHold is none.
const holdBalances, leastHold = 60.0, 30.0 // min

// imbalanced returns the share of the capacity that a charge leaves out because its
// fullest group ended it, and the standard deviation of that share.
func (p *pass) imbalanced(e *event, st *state) (share, sd float64) {
	if !p.m.balances() {
		return 0, .0025
	}
	if e.balanced {
		st.sinceHold = 0
	}
	if e.holdMin >= leastHold {
		before, left := p.c.imbalance*min(st.sinceHold/10, 2), math.Exp(-e.holdMin/holdBalances)
		st.sinceHold *= left
		return before * left, math.Hypot(.0025, .5*before)
	}
	if p.m.anyHold || st.sinceHold < 3 {
		st.sinceHold++
	}
	share = p.c.imbalance * min(st.sinceHold/10, 2)
	return share, math.Hypot(.004, .5*share)
}

// How far from full a charge may have ended, as a standard deviation, of which nobody
// says whether the charger finished: likely full, or who knows where.
const likelyFull, openEnd = .06, .15

// unsaidFull is which of them. Most do finish, and one that was held did; but where
// the log says of some charges that they did and of others that they did not, silence
// is no sign.
func (m *machine) unsaidFull(e *event) float64 {
	if m.anyPart && m.anyFull && !(e.holdMin > 0) {
		return openEnd
	}
	return likelyFull
}

func (p *pass) charge(i int, e *event, f *felt, st *state, out []float64) {
	c, m := p.c, p.m
	carry := &p.carry[i]
	cursor := 0
	p.forget(i, e, f, st, out == nil)
	if out == nil {
		carry.reset = !st.any
		carry.qLin = p.guessTaken(i, st, f.capacity)
	}
	var u unknowns
	u.at[0], u.cov[0][0] = st.x, st.p
	if carry.reset {
		u.at[0], u.cov[0][0] = .5, square(.5)
	}
	u.at[1], u.cov[1][1] = carry.qLin, unknownVar
	u.cov[2][2] = orNum(positive(e.meterVar), square(m.scale.meter))
	if e.ac && known(e.wh) {
		u.cov[2][2] += square(.008) // the charger's day, beside the meter's
	}
	if d := &st.day; d.v > 0 && d.meter == e.meter && e.startDay-d.untilDay < sameDay && !carry.reset && !carry.unseen && !known(positive(e.meterVar)) {
		u.at[2], u.cov[2][2], u.cov[0][2], u.cov[2][0] = d.at, d.v, d.xAt, d.xAt
	}
	if known(e.startV) {
		p.seeVolts(i, f, restVolts{obStartV, e.startV, 0, e.voltVar + p.c.restVar(m, e)}, &u, out, &cursor)
	}
	share, sd := p.imbalanced(e, st)
	if e.full == logbook.Absent {
		sd = m.unsaidFull(e)
	}
	if e.full != logbook.No {
		p.see(i, obFull, &u, share-u.at[0]+u.at[1], [3]float64{1, -1}, square(sd), out, &cursor)
	}
	if known(e.endV) && (e.full == logbook.No || sd == openEnd) {
		noise := e.voltVar + p.c.restVar(m, e) + square(.02*math.Exp(-orNum(e.restMin, 10)/20))
		p.seeVolts(i, f, restVolts{obEndV, e.endV, -1, noise}, &u, out, &cursor)
	}
	// what a meter does not see of a small charge: cut-in, trickle, its own step
	small := square(.004 / max(u.at[1], .002))
	if known(e.ah) {
		q := max(u.at[1], .002)
		p.see(i, obAh, &u, math.Log(e.ah/(q*f.capacity))-f.by[feltGain]-u.at[2], [3]float64{0, 1 / q, 1}, square(e.ahRound/e.ah)/12+small+1e-6, out, &cursor)
	}
	if known(e.wh) {
		q := max(u.at[1], .002)
		a := f.full - u.at[0]
		volts := max(c.curve.MeanV(a, a+q)+float64(c.chargeDrop*c.grown(f.lnC, e.years, e.cycles)), .3*m.chem.NominalV) * m.series
		expected := math.Log(q*f.capacity*volts) + f.by[feltGain]
		noise := square(e.whRound/e.wh)/12 + small + square(.003) + p.meanVoltsDoubt(e)
		if e.ac {
			expected -= f.by[feltWall]
		}
		p.see(i, obWh, &u, math.Log(e.wh)-expected-u.at[2], [3]float64{0, 1 / q, 1}, noise, out, &cursor)
	}
	p.seeHolds(e, i, &u, out, &cursor)
	carry.took(&u, f.capacity)
	st.x = u.at[0] - u.at[1]
	st.p = max(u.cov[0][0]-2*u.cov[0][1]+u.cov[1][1], 0) + square(.001)
	st.day = meterDay{e.meter, e.endDay, u.at[2], u.cov[2][2], u.cov[0][2] - u.cov[1][2]}
	st.bound()
	st.charged, st.any, st.endedFlat = true, true, false
}

// guessTaken is the charge, as a share of the capacity, about which a charge
// is linearised.
func (p *pass) guessTaken(i int, st *state, capacity float64) float64 {
	e := &p.m.events[i]
	q := st.x
	switch {
	case known(e.ah) && !p.rejected(i, obAh):
		q = e.ah / capacity
	case known(e.wh) && !p.rejected(i, obWh):
		q = e.wh / (p.m.chem.NominalV * p.m.series * capacity)
		if e.ac {
			q *= p.c.wall
		}
	}
	return min(max(q, .005), 1.2)
}

// pulse returns the resistance of a 10 s pulse at a temperature and a charge
// level over that at 25 °C and mid charge.
func (c *cellState) pulse(tempC, soc float64) float64 {
	return c.thermal.Factor(tempC) * law.LowCharge(soc, c.steepness) * math.Exp(c.offMid*law.OffMid(soc))
}

// check compares a resistance and a rest voltage with the model's.
func (p *pass) check(i int, e *event, f *felt, st *state, out []float64) {
	m := p.m
	cursor := 0
	rested := known(e.startV) && e.startV > .5*m.chem.LimitV
	if rested {
		p.forget(i, e, f, st, out == nil)
	}
	u := unknowns{at: [3]float64{st.x}, cov: [3][3]float64{{st.p}}}
	if !st.any {
		u.at[0], u.cov[0][0] = .5, square(.5)
	}
	if rested {
		p.seeVolts(i, f, restVolts{obStartV, e.startV, 0, e.voltVar + p.c.restVar(m, e) + 1e-5}, &u, out, &cursor)
	}
	if known(e.ohm) {
		noise := e.ohmVar + e.tempVar*square(.012)
		if !known(e.soc) {
			noise += square(.04)
		}
		p.see(i, obOhm, &u, math.Log(e.ohm)-f.by[feltOhm], [3]float64{}, noise+square(.015), out, &cursor)
	}
	st.x, st.p = u.at[0], max(u.cov[0][0], 0)
	if !st.any && known(e.startV) {
		st.any, st.charged = true, true
	}
}
