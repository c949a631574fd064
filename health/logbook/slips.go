package logbook

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Slip is a value of a record that is far more likely a slip of the pen than
// the truth. It does not make the record invalid: whoever typed it may know
// better.
type Slip struct {
	Field    string // name of the field
	Code     string // snake_case
	Value    Num    // of the field, in its canonical unit; absent for a time
	Text     string // what is odd about it, without the field and the value
	Min, Max Num    // what would be accepted, in the canonical unit, where a bound can be said
}

// KeptAgainstAdvice begins, in a note, the name of a field whose slip was told and
// that was kept all the same.
const KeptAgainstAdvice = "kept against advice: "

// MostKmADay is more than a board is ridden in a day. Common practice, no source.
const MostKmADay = 400

// Bounds beyond which a value is taken for a slip. They are set wide, so that
// an odd but true record passes. Common practice, no source.
const (
	slipVoltShare   = 1.01 // of the full voltage: two meters differ by a percent
	slipRestCellV   = 2.0  // rest volts of a cell below which it would be damaged
	slipLoadCellV   = 1.0  // the same under load
	slipAhShare     = 1.15 // of the pack's Ah in one charge or ride
	slipWhShare     = 1.25 // of the rated Wh, at the pack's terminals
	slipWallShare   = 1.8  // of the rated Wh, at the wall
	slipFullShare   = 1.1  // of the rated Wh, in one ride whose energy was not measured
	slipMostWhKm    = 150  // no light vehicle needs more on the road
	slipConsumption = 3.0  // times the usual consumption of the pack, either way
	slipMostKmh     = 110  // mean speed on the road
	slipOdometerKm  = 0.5  // reading error of an odometer against another record
	slipAmbientC    = 48   // warmer air is rather a temperature in Fahrenheit
	slipPackC       = 60   // cells are discharged up to that at most, and
	slipRestPackC   = 50   // charged up to 45 and checked at rest
	slipChargeHours = 72
	slipFew         = 5 // records needed to speak of what is usual
)

// slipLeastWhKm is less than any light board needs on level ground, in Wh/km at
// the pack's terminals. A light rider's 60 kg on 10 kg of board rolls at a
// coefficient of 0.01 against 6.9 N, and a drag area of 0.45 m2 at 15 km/h and
// 1.2 kg/m3 adds 4.7 N; 11.6 N are 3.2 Wh/km at the wheel, of which drive and
// electronics leave about 0.65 at that load. Common practice, no source; the sum
// is F d.
const slipLeastWhKm = 5.0

// Judge holds records against one history. What the history says as a whole is
// worked out once, so that a whole log is judged in n log n.
type Judge struct {
	h    *History
	now  time.Time
	past *past // nil where there is no history
}

// NewJudge returns a judge by the clock and by a history, which must not change
// while it is in use. h may be nil where no pack is meant; its AsOf should lie at
// or after every record, so that later ones are seen too.
func NewJudge(h *History, now time.Time) *Judge {
	j := &Judge{h: h, now: now}
	if h != nil {
		j.past = newPast(h)
	}
	return j
}

// slipCase is one record on trial, and what it is held against.
type slipCase struct {
	*Judge
	r   Record
	out []Slip
}

// Slips says which values of r look like slips, by a judge of its own.
func Slips(h *History, r Record, now time.Time) []Slip { return NewJudge(h, now).Slips(r) }

// Slips says which values of r look like slips, judged by the record itself,
// by the clock and by the rest of the history (the record's own earlier
// revision is left out of account). The order is that of the rules and does not
// change from call to call.
func (j *Judge) Slips(r Record) []Slip {
	c := &slipCase{Judge: j, r: r}
	c.times()
	switch r := r.(type) {
	case *Board:
		c.pressure("ref_tyre_kpa", r.RefTyreKpa, Num{})
	case *Pack:
		c.packVolts(r)
	case *Setup:
		c.pressure("ref_tyre_kpa", r.RefTyreKpa, c.refTyre(r.Board))
		c.setupVolts(r)
	case *Charge:
		c.charge(r)
	case *Ride:
		c.ride(r)
	case *Check:
		c.check(r)
	}
	return c.out
}

func (c *slipCase) add(field, code string, value, min, max Num, format string, args ...any) {
	c.out = append(c.out, Slip{Field: field, Code: code, Value: value, Min: min, Max: max, Text: fmt.Sprintf(format, args...)})
}

// above and below report a value beyond a bound that is known.
func (c *slipCase) above(field, code string, v, max Num, text string) {
	if v.OK && max.OK && v.V > max.V {
		c.add(field, code, v, Num{}, max, "%s", text)
	}
}

func (c *slipCase) below(field, code string, v, min Num, text string) {
	if v.OK && min.OK && v.V < min.V {
		c.add(field, code, v, min, Num{}, "%s", text)
	}
}

// slipClock is how far two clocks may differ.
const slipClock = 5 * time.Minute

func (c *slipCase) times() {
	latest := c.now.Add(slipClock)
	for _, f := range Fields(c.r.Kind()) {
		p, ok := f.ref(c.r).(*time.Time)
		if !ok || p.IsZero() || f.Name == "until" {
			continue
		}
		if p.After(latest) && c.r.Kind() != KindSetup {
			guess := ""
			if p.Before(c.now.AddDate(0, 0, 1)) { // a time of day without its day
				guess = p.In(c.now.Location()).Format(` (was it "yesterday 15:04"?)`)
			}
			c.add(f.Name, "in_the_future", Num{}, Num{}, Num{}, "lies in the future: want a time not after %s%s", FormatTime(c.now.Truncate(time.Second)), guess)
		}
	}
	at := AtOf(c.r)
	if c.h == nil || at.IsZero() || c.h.Pack.InService.IsZero() || PackOf(c.r) != c.h.Pack.ID {
		return
	}
	if first := c.h.Pack.InService.AddDate(0, 0, -1); at.Before(first) {
		c.add("at", "before_in_service", Num{}, Num{}, Num{}, "lies before the pack was in service: want a time from %s on", c.h.Pack.InService.Format(DateLayout))
	}
}

// packAh is what the pack may hold: the larger of rated and measured.
func (c *slipCase) packAh() Num {
	if c.h == nil {
		return Num{}
	}
	p := c.h.Pack
	ah := math.Max(p.Parallel.Or(0)*p.CellCapacityAh.Or(0), p.AsnewAh.Or(0))
	if c.h.recelledBy(AtOf(c.r)) {
		ah *= slipOtherCells
	}
	return Num{ah, ah > 0}
}

// slipOtherCells is how much more than the rated the cells that replaced others may hold,
// where nobody amended that: 2.5 Ah cells became 5 Ah ones in the same size. From memory.
const slipOtherCells = 1.6

// recelledBy reports whether the cells had been replaced by a time.
func (h *History) recelledBy(t time.Time) bool {
	return slices.ContainsFunc(h.Services, func(s *Service) bool {
		return s.What == "cells_replaced" && s.Pack == h.Pack.ID && !s.At.After(t)
	})
}

// packWh is the pack's rated energy: series, Ah and nominal volts.
func (c *slipCase) packWh() Num {
	ah := c.packAh()
	if !ah.OK || !c.h.Pack.Series.OK {
		return Num{}
	}
	volts := c.h.Pack.CellNominalV.Or(slipNominalV(c.h.Pack.Chemistry))
	return Some(ah.V * c.h.Pack.Series.V * volts)
}

// slipNominalV is on the high side of what cells of a chemistry have. From
// memory.
func slipNominalV(chemistry string) float64 {
	if chemistry == "lfp" {
		return 3.3
	}
	return 3.8
}

// cellFullV is the full voltage of a cell at time t, by the pack's record and
// its setups; the highest of its chemistry where none says (from memory).
func (c *slipCase) cellFullV(t time.Time) float64 {
	full := 4.4
	if c.h.Pack.Chemistry == "lfp" {
		full = 3.7
	}
	full = c.h.Pack.CellFullV.Or(full)
	if s := lastBy(c.past.full, t, ""); s != nil {
		full = s.CellFullV.V
	}
	return full
}

// volts holds a pack voltage against what the pack can have.
func (c *slipCase) volts(field string, v Num, leastCellV float64) {
	if c.h == nil || !c.h.Pack.Series.OK {
		return
	}
	n := c.h.Pack.Series.V
	full := Some(n * c.cellFullV(AtOf(c.r)))
	if v.OK && v.V > full.V*slipVoltShare {
		c.add(field, "voltage_above_full", v, Num{}, full, "is above the full voltage of this pack")
	}
	c.below(field, "voltage_too_low", v, Some(n*leastCellV), "is lower than any whole pack of this kind has")
}

// scaled multiplies n, where it is known.
func (n Num) scaled(by float64) Num { return Num{n.V * by, n.OK} }

// plus is a bound a little wider, absent where the bound is.
func (n Num) plus(more float64) Num { return Num{n.V + more, n.OK} }
