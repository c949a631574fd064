package model

import (
	"math"

	"packwane/health/law"
)

// chill is what cold makes of a pack: an ampere-hour of a discharge draws the
// charge level down by more, drawn times as little of the capacity making a
// whole, or the limit comes while some of the charge is out of reach. By the
// books of charge it is the second; records in which rest volts after rides in
// the cold lie deeper than what was counted bears out are the first.
type chill struct{ drawn, reach float64 }

func (c *cellState) chillAt(packC float64) chill {
	share := law.ColdShare(c.cold, packC)
	drawn := math.Pow(share, c.coldDraws)
	return chill{drawn, share / drawn}
}

// whole is the share of the capacity that both leave.
func (c chill) whole() float64 { return c.drawn * c.reach }
