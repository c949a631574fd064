package logbook

import "packwane/health/units"

// Tyre pressures that light vehicles are ridden at. Common practice, no
// source.
const (
	slipLeastKpa = 80
	slipMostKpa  = 1000
)

// refTyre is the reference pressure of the board's tyre, if it has one.
func (c *slipCase) refTyre(board string) Num {
	if c.h == nil || board == "" || c.h.Boards[board] == nil {
		return Num{}
	}
	id := "" // of the setup on trial, if it is one
	if c.r.Kind() == KindSetup {
		id = HeadOf(c.r).ID
	}
	if s := lastBy(c.past.setups[board], AtOf(c.r), id); s != nil {
		return s.RefTyreKpa
	}
	return c.h.Boards[board].RefTyreKpa
}

// usualTyre is the middle pressure of the other rides on the board, else its
// reference pressure.
func (c *slipCase) usualTyre(r *Ride) Num {
	if c.h == nil {
		return Num{}
	}
	board := c.h.RideBoard(r)
	if n, usual := c.past.tyres[board].without(r.ID); n >= slipFew {
		return Some(usual)
	}
	return c.refTyre(board)
}

// pressure holds a tyre pressure against the usual one, else against what
// light vehicles are ridden at, and says which unit it may have been meant in.
func (c *slipCase) pressure(field string, v, usual Num) {
	least, most := Some(slipLeastKpa), Some(slipMostKpa)
	if usual.OK {
		least, most = Some(usual.V*0.4), Some(usual.V*2)
	}
	if !v.OK || v.V >= least.V && v.V <= most.V {
		return
	}
	code, hint := "unlike_the_rest", ""
	if v.V < least.V {
		switch {
		case meantIn("psi", v.V, least.V, most.V):
			code, hint = "typed_in_psi", " (typed in psi?)"
		case meantIn("bar", v.V, least.V, most.V):
			code, hint = "typed_in_bar", " (typed in bar?)"
		}
	}
	against := "what tyres of light boards are ridden at"
	if usual.OK {
		against = "the usual pressure of this tyre"
	}
	side := "above"
	if v.V < least.V {
		side = "below"
	}
	c.add(field, code, v, least, most, "is far %s %s%s", side, against, hint)
}

// meantIn reports whether the number, read in another unit of pressure, lies
// between two bounds in kPa.
func meantIn(symbol string, number, least, most float64) bool {
	scale, ok := units.ScaleOf(symbol, units.Kpa)
	kpa := scale.To(number)
	return ok && kpa >= least && kpa <= most
}
