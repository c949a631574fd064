package model

import (
	"math"

	"packwane/health/law"
)

// chill is what cold makes of a pack, as two shares of its capacity. With drawn an
// ampere-hour draws the charge level down by more: so much makes a whole. With reach
// the limit comes while the rest of the charge is out of reach. By the books of charge
// all of it is the second; where rest volts after rides in the cold lie deeper than the
// counted charge, it is the first.
type chill struct{ drawn, reach float64 }

func (c *cellState) chillAt(packC float64) chill {
	share := law.ColdShare(c.cold, packC)
	drawn := math.Pow(share, c.coldDraws)
	return chill{drawn, share / drawn}
}

// whole is the share of the capacity that both leave.
func (c chill) whole() float64 { return c.drawn * c.reach }
