package model

import (
	"math"

	"packwane/health/logbook"
)

// restVolts are volts at rest, of a cell: what they tell of the deficit after
// so many times the charge of the event has flowed.
type restVolts struct {
	kind  obsKind
	volts float64 // as the pack's curve has them: without what has not relaxed
	flows float64 // 0 before a ride or charge, 1 after a ride, -1 after a charge
	noise float64 // variance
}

// voltVar is the variance of a rest voltage per cell beside its step: what a
// curve and a relaxation leave, from memory; a flat curve shows hysteresis.
func (m *machine) voltVar() float64 {
	if m.chem.Name == "lfp" {
		return square(.008)
	}
	return square(.006)
}

// oddlyAgedV is how far, as a standard deviation in volts, the curve of a cell may have
// moved that lost all of its capacity in the log, and withinUsual more of it than usual:
// half of what lost lithium does (see law.Aged).
const oddlyAgedV, withinUsual = .25, .05

// restVar is voltVar of a pack at an age. Of one that lost much more than usual the
// curve is not known as well: it slides by what usual cells lose. Cells that are gone
// at once leave the curve of the rest.
func (c *cellState) restVar(m *machine, e *event) float64 {
	first := &m.events[0]
	lost, usual := c.lnRested(first)-c.lnRested(e), math.Log1p(-first.usualLoss)-math.Log1p(-e.usualLoss)
	if e.stepped {
		lost += c.step
	}
	return m.voltVar() + square(oddlyAgedV*max(lost-usual-withinUsual, 0))
}

// restVarNow is that of the pack as the log leaves it.
func (c *cellState) restVarNow(m *machine) float64 {
	if len(m.events) == 0 {
		return m.voltVar()
	}
	return c.restVar(m, &m.events[len(m.events)-1])
}

// nearEnough is by how much of the capacity volts may move the deficit and still
// be taken along the tangent where it was before them.
const nearEnough = .01

// seeVolts takes in volts at rest. The curve bends: where they move the deficit
// far, its tangent is taken where they will have moved it to (an iterated
// extended Kalman filter; Bell and Cathey 1993, from memory).
func (p *pass) seeVolts(i int, f *felt, o restVolts, u *unknowns, out []float64, cursor *int) {
	c := p.c
	x, lin := u.at[0]+float64(o.flows*u.at[1]), math.NaN()
	if out != nil {
		lin = p.tape[p.carry[i].tapeAt+*cursor].tangent
	} else if !p.rejected(i, o.kind) {
		lin = p.tangentFor(f, o, u, x)
	}
	at := x
	if known(lin) {
		at = lin
	}
	v, slope := f.curve.OCV(f.full - at)
	p.see(i, o.kind, u, o.volts-v-c.voltOffset+float64(slope*(x-at)), [3]float64{-slope, -slope * o.flows}, o.noise, out, cursor)
	if out == nil {
		p.tape[len(p.tape)-1].tangent = lin
	}
}

// tangentFor is the deficit to which volts move one of x; NaN where that is near.
func (p *pass) tangentFor(f *felt, o restVolts, u *unknowns, x float64) float64 {
	told := f.full - f.curve.Soc(o.volts-p.c.voltOffset)
	here, _ := f.curve.OCV(f.full - x)
	chord := (o.volts - p.c.voltOffset - here) / (x - told)
	spread := u.cov[0][0] + 2*o.flows*u.cov[0][1] + o.flows*o.flows*u.cov[1][1]
	to := x + (told-x)*spread/(spread+o.noise/max(square(chord), 1e-6))
	if !(math.Abs(to-x) > nearEnough) { // NaN where both are the same
		return math.NaN()
	}
	return to
}

// What the mean volts of a discharge or of a charge are off for all of them alike: the
// curve, the meter's volts over its amperes, how a charger tapers; and from how many
// charges on that counts no more, so that a wrong figure among them still stands out.
// Common practice, no source.
const rideVoltsOff, chargeVoltsOff, mostAlikeOff = .0007, .006, 40

// countBoth counts the records that say both Ah and Wh.
func (m *machine) countBoth() {
	for i := range m.events {
		switch e := &m.events[i]; {
		case !known(e.ah) || !known(e.wh):
		case e.kind == evCharge:
			m.bothCharges++
		default:
			m.bothRides++
		}
	}
}

// meanVoltsDoubt is the variance by which Wh that stand beside Ah count for less where
// many do: what all of them are off together does not average out, and where nothing
// else told how deep they went hundreds of mean volts held a capacity of twice the true
// one within seven percent.
func (p *pass) meanVoltsDoubt(e *event) float64 {
	if !known(e.ah) {
		return 0
	}
	if e.kind == evCharge {
		return square(chargeVoltsOff) * float64(min(p.m.bothCharges, mostAlikeOff))
	}
	return square(rideVoltsOff) * float64(p.m.bothRides)
}

// Between these a reading is one of a pack's cell at all: what lies beyond was read of one
// cell for the pack, or of another pack, and the audit says so. Common practice, no
// source.
const leastRead, mostRead = 1.0, 5.5

// readV is perCell of a reading that can be one.
func (m *machine) readV(v logbook.Num) float64 {
	if cell := m.perCell(v); cell >= leastRead && cell <= mostRead {
		return cell
	}
	return math.NaN()
}
