package logbook

import "time"

// LeastLimitCellV is the least volts of a cell at which riding can have to stop: below it
// a limit is a slip, or harms the cells. From memory, as the bounds below.
const LeastLimitCellV = 2.0

// Bounds of the voltages that a pack or a setup sets, of one cell. A slip is a
// wrong count of groups, a cell's voltage for the pack's, or a digit. From
// memory: data sheets let nickel-rich cells down to 2.5 V, a few to 2.0, lfp
// cells to 2.0; full are 4.2 V, cells that are made for more 4.45, lfp 3.65.
const (
	slipCutoffCellV  = 1.5 // protection opens below the limit
	slipLeastFullV   = 3.0
	slipMostFullV    = 4.5
	slipMostFullLfpV = 3.8
)

// packVolts looks at the voltages of a pack. Whether they agree with each
// other, Validate has seen.
func (c *slipCase) packVolts(p *Pack) {
	c.fullVolts(p.CellFullV, p.Chemistry)
	c.limitVolts(p.LimitV, p.CutoffV, p.Series, p.CellFullV.Or(mostFullV(p.Chemistry)))
}

// setupVolts looks at the voltages of a setup, held also against those that
// are in force.
func (c *slipCase) setupVolts(s *Setup) {
	if s.Pack == "" {
		for _, f := range []struct {
			name string
			v    Num
		}{{"limit_v", s.LimitV}, {"cutoff_v", s.CutoffV}, {"cell_full_v", s.CellFullV}} {
			if f.v.OK {
				c.add(f.name, "names_no_pack", f.v, Num{}, Num{}, "is a pack's, and this names a board alone: it changes nothing")
			}
		}
	}
	if c.h == nil || !c.h.ForPack(s) {
		return
	}
	p, before := c.h.Pack, len(c.out)
	c.fullVolts(s.CellFullV, p.Chemistry)
	c.limitVolts(s.LimitV, s.CutoffV, p.Series, s.CellFullV.Or(c.cellFullV(s.At)))
	if len(c.out) > before {
		return // it is wrong by itself
	}
	limit, cutoff := p.LimitV, p.CutoffV
	if last := lastBy(c.past.limits, s.At, s.ID); last != nil {
		limit = last.LimitV
	}
	if last := lastBy(c.past.cutoffs, s.At, s.ID); last != nil {
		cutoff = last.CutoffV
	}
	if s.LimitV.OK {
		if opens := orElse(s.CutoffV, cutoff); opens.OK && s.LimitV.V < opens.V {
			c.add("limit_v", "limit_below_cutoff", s.LimitV, opens, p.Series.scaled(s.CellFullV.Or(c.cellFullV(s.At))), "is below the volts at which protection opens")
		}
		return
	}
	if s.CutoffV.OK && limit.OK && s.CutoffV.V > limit.V {
		c.add("cutoff_v", "cutoff_above_limit", s.CutoffV, p.Series.scaled(slipCutoffCellV), limit, "is above the limit for riding, which protection lies below")
	}
}

func orElse(n, def Num) Num {
	if n.OK {
		return n
	}
	return def
}

func (c *slipCase) fullVolts(full Num, chemistry string) {
	c.below("cell_full_v", "full_too_low", full, Some(slipLeastFullV), "is less than any cell is charged to")
	c.above("cell_full_v", "full_too_high", full, Some(mostFullV(chemistry)), "is more than cells of this kind may be charged to")
}

// slipUnderCutoff is how far below the volts at which protection opens a reading under
// load is believed: meters differ, and so do the groups.
const slipUnderCutoff = .93

// cutoffAt is the volts at which the pack's protection opened at a time, where it is told.
func (c *slipCase) cutoffAt(at time.Time) Num {
	if c.h == nil {
		return Num{}
	}
	if last := lastBy(c.past.cutoffs, at, ""); last != nil {
		return last.CutoffV
	}
	return c.h.Pack.CutoffV
}

// limitVolts holds limit and cutoff against the cells: series may be absent,
// fullV is of one cell.
func (c *slipCase) limitVolts(limit, cutoff, series Num, fullV float64) {
	full := series.scaled(fullV)
	c.within("limit_v", "limit", limit, series.scaled(LeastLimitCellV), full, "is lower than cells may be drawn to (the limit of fewer cells?)")
	c.within("cutoff_v", "cutoff", cutoff, series.scaled(slipCutoffCellV), full, "is lower than protection lets cells go (that of fewer cells?)")
}

// within says both bounds, so that no slip is explained by what lies beyond the
// other.
func (c *slipCase) within(field, code string, v, least, most Num, tooLow string) {
	switch {
	case !v.OK || !least.OK:
	case v.V > most.V:
		c.add(field, code+"_above_full", v, least, most, "is above the full voltage of this pack")
	case v.V < least.V:
		c.add(field, code+"_too_low", v, least, most, "%s", tooLow)
	}
}

func mostFullV(chemistry string) float64 {
	if chemistry == "lfp" {
		return slipMostFullLfpV
	}
	return slipMostFullV
}
