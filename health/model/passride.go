package model

import (
	"math"

	"packwane/health/law"
)

// unknownHold is how many charges without a hold a pack has likely seen where
// charges are not logged.
const unknownHold = 10

// balances reports whether the pack has groups to balance.
func (m *machine) balances() bool { return !m.voltsKnown || m.series > 1 }

const unknownVar = 4.0 // of an unknown charge, shares squared

// mostGone is how far below full a ride can end, shares: one that seems to begin so
// low that it would end below that, after a charge which nobody logged, began higher.
// Common practice, no source.
const mostGone = 1.05

func (p *pass) ride(i int, e *event, f *felt, st *state, out []float64) {
	c, m := p.c, p.m
	carry := &p.carry[i]
	cursor := 0
	meanV := func(x0, q float64) float64 { // per cell, under load
		x0 = min(x0, mostGone-q)
		a, b := f.full-x0, f.full-x0-q
		return max(c.curve.MeanV(a, b)-float64(f.by[feltSag]*law.MeanLowCharge(max(a, 0), max(b, 0), c.steepness)), .3*m.chem.NominalV)
	}
	p.forget(i, e, f, st, out == nil)
	p.reckon(e, st)
	if out == nil {
		carry.reset = p.takenAsFull(i, e, f, st)
		carry.qLin = p.guessCharge(e, f, st, i)
		carry.adrift = carry.reset && !known(e.startV) && !st.any && m.anyCharge
	}
	var u unknowns
	if carry.reset {
		missed := 0.0
		if m.balances() { // nobody says that it was held until the groups evened out
			missed = c.imbalance * unknownHold / 10
		}
		u.at[0], u.cov[0][0] = missed, square(.01)
		if carry.adrift || known(e.startV) { // the log begins somewhere
			u.cov[0][0] = square(.3)
		}
	} else {
		p.mayBeCharged(e, st)
		u.at[0], u.cov[0][0] = st.x, st.p
	}
	u.at[1], u.cov[1][1] = carry.qLin, unknownVar
	u.cov[2][2] = orNum(positive(e.meterVar), square(m.scale.meter))

	if e.warmSeen() {
		p.see(i, obWarm, &u, e.packC-f.by[feltWarm], [3]float64{}, square(wholeWarmSd), out, &cursor)
	}
	if known(e.startV) {
		p.seeVolts(i, f, restVolts{obStartV, e.startV, 0, e.voltVar + c.restVar(m, e)}, &u, out, &cursor)
	}
	atLimit := func() {
		warmVar := e.tempVar
		if !known(e.packC) {
			warmVar += square(wholeWarmSd)
		}
		sd := m.scale.limit
		if e.stop == "cutoff" {
			sd = .03
		}
		p.see(i, obLimit, &u, f.by[feltLimit]-u.at[0]-u.at[1], [3]float64{1, 1}, square(sd)+warmVar*square(law.ColdSlope(c.cold, orNum(e.packC, e.airC))), out, &cursor)
	}
	limit := known(f.by[feltLimit])
	if limit && !carry.adrift {
		atLimit()
	}
	q := func() float64 { return max(u.at[1], .002) }
	if known(e.ah) {
		q := q()
		p.see(i, obAh, &u, math.Log(e.ah/(q*f.capacity))-f.by[feltChill]-f.by[feltGain]-u.at[2], [3]float64{0, 1 / q, 1}, square(e.ahRound/e.ah)/12+1e-6, out, &cursor)
	}
	if known(e.wh) {
		q := q()
		p.see(i, obWh, &u, math.Log(e.wh/(q*f.capacity*meanV(u.at[0], q)*m.series))-f.by[feltChill]-f.by[feltGain]-u.at[2], [3]float64{0, 1 / q, 1}, square(e.whRound/e.wh)/12+square(.003)+p.meanVoltsDoubt(e), out, &cursor)
	}
	if limit && carry.adrift { // a charge is linear about what the meters say, not about what a full pack would have given
		atLimit()
	}
	if known(e.km) {
		q := q()
		noise := square(m.scale.consumption*e.lever) + e.tripVar + square(e.roundKm/e.km)/12 + square(.005)
		p.see(i, obDistance, &u, math.Log(e.km/(q*f.capacity*meanV(u.at[0], q)*m.series))-f.by[feltChill]+f.by[feltLoad], [3]float64{0, 1 / q}, noise, out, &cursor)
	}
	if known(e.endV) {
		drop := f.by[feltDrop]
		p.seeVolts(i, f, restVolts{obEndV, e.endV + drop, 1, e.voltVar + c.restVar(m, e) + square(.5*drop)}, &u, out, &cursor)
	}
	p.seeHolds(e, i, &u, out, &cursor)
	carry.took(&u, f.whole())
	st.x = u.at[0] + u.at[1]
	st.p = max(u.cov[0][0]+2*u.cov[0][1]+u.cov[1][1], 0) + square(.001)
	st.day = meterDay{}
	st.bound()
	gross := max(u.at[1], 0) * f.whole()
	if known(e.grossAh) && known(e.ah) && !p.rejected(i, obAh) {
		gross *= e.grossAh / e.ah
	}
	st.throughAh += gross
	if !known(e.ah) && !known(e.wh) {
		st.guessedAh += gross
	}
	st.endedFlat, st.charged, st.any = p.atLimit(i, f), false, true
}

// took notes what the filter came to believe of an event.
func (c *carried) took(u *unknowns, capacity float64) {
	c.x0, c.qAh = u.at[0], u.at[1]*capacity
}

func (p *pass) rejected(i int, kind obsKind) bool { return p.reject[rejectKey{int32(i), kind}] }

// bound keeps the deficit within what a pack can hold.
func (st *state) bound() {
	if st.x > 1.1 {
		st.x, st.p = 1.1, max(st.p, square(.1))
	}
	if st.x < -.1 {
		st.x, st.p = -.1, max(st.p, square(.1))
	}
}

// takenAsFull reports whether a ride's start is taken as full because the log
// does not say how the pack was charged before it: at the beginning, after a
// ride that emptied it, or where no charge was ever logged.
func (p *pass) takenAsFull(i int, e *event, f *felt, st *state) bool {
	capacity := f.whole()
	if !st.any {
		return true
	}
	if st.charged {
		return false
	}
	if st.endedFlat || !p.m.anyCharge {
		return true
	}
	need, doubt := p.measuredShare(i, e, capacity), 0.0
	if !known(need) && known(e.km) && !p.rejected(i, obDistance) {
		need = e.km * math.Exp(f.by[feltLoad]) / (p.m.chem.NominalV * p.m.series * capacity)
		doubt = square(.2 * need)
	}
	return st.x+orNum(need, 0) > 1.15+2*math.Sqrt(st.p+doubt) // it cannot have held that much
}

// guessCharge is the charge about which a ride is linearised: the first that
// the record gives.
func (p *pass) guessCharge(e *event, f *felt, st *state, i int) float64 {
	whole := p.m.chem.NominalV * p.m.series * f.whole()
	q := .5
	switch {
	case e.nowhere: // what the odometer shows before the next reading is counted apart
		q = 0
	case known(e.ah) && !p.rejected(i, obAh):
		q = e.ah / f.whole() / math.Exp(f.by[feltGain])
	case known(e.wh) && !p.rejected(i, obWh):
		q = e.wh / whole / math.Exp(f.by[feltGain])
	case p.atLimit(i, f):
		q = f.by[feltLimit] - st.x
	case known(e.km) && !p.rejected(i, obDistance):
		q = e.km * math.Exp(f.by[feltLoad]) / whole
	}
	return min(max(q, .01), 1.2)
}
