package model

import (
	"math"

	"packwane/health/law"
)

// ohms is the resistance of one series group, or what its temperature makes of
// it: of a pulse of 10 s, and of a long discharge, on which what builds up over
// minutes comes on top.
type ohms struct{ pulse, long float64 }

func (o ohms) times(f float64) ohms { return ohms{o.pulse * f, o.long * f} }

// drop is the volts below open circuit at which peaks trip the limit: a mean
// current with a pulse on top, which is peak times as large.
func (o ohms) drop(ampere, peak float64) float64 {
	return ampere * (o.long + float64(o.pulse*(peak-1)))
}

// groupOhm returns the 10 s resistance of one series group at 25 °C and mid
// charge, for a capacity lnC and an age.
func (c *cellState) groupOhm(lnC, years, cycles float64) float64 {
	return c.resistance * c.grown(lnC, years, cycles)
}

// grown is the resistance over that as new.
func (c *cellState) grown(lnC, years, cycles float64) float64 {
	loss := 1 - math.Exp(min(lnC-c.lnC[0], 1)) // below 0 too: a bound near 0 makes a bend, which a log would take for its capacity as new
	return math.Exp(min(max(c.growthLoss*loss+c.growthYear*years+c.growthCycle*cycles/cyclesPerAge, -3), 3))
}

// curveAt is the open-circuit curve at an age. It slides with what usual cells
// lose, not with what the pack did: else a log would bend its capacity as new for
// the sake of its volts.
func (c *cellState) curveAt(m *machine, years, cycles float64) law.Aged {
	return c.curveAfter(m, m.chem.UsualLoss(years, cycles))
}

// curveAfter is curveAt of the age at which usual cells have lost that share.
func (c *cellState) curveAfter(m *machine, usualLoss float64) law.Aged {
	return c.curve.Slipped(usualLoss, c.slip, m.chem.Plateau())
}

// ohmsAt is what a pack temperature makes of the resistance, over that of a
// pulse at 25 °C. What builds up over minutes may follow it more than a pulse
// does: diffusion is activated, wires are not.
func (c *cellState) ohmsAt(packC float64) ohms {
	slow := c.thermal.Activated(packC)
	pulse := c.thermal.With(slow)
	return ohms{pulse, pulse + float64((c.sustained-1)*(pulse+float64(c.slowCold*(slow-pulse))))}
}
