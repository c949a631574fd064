package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Sibling returns the configuration of another pack of the same rider: the
// same cell model from another box, the same ways and weather, a board of its
// own, and other luck. n tells siblings apart.
func Sibling(cfg Config, n int) Config {
	c := cfg
	c.Seed = cfg.Seed ^ uint64(n)<<40
	c.Pack.ID, c.Board.ID = fmt.Sprintf("%s-%d", cfg.Pack.ID, n+1), fmt.Sprintf("%s-%d", cfg.Board.ID, n+1)
	c.Riders = append([]Rider(nil), cfg.Riders...)
	c.Routes = append([]Route(nil), cfg.Routes...)
	rng := rand.New(rand.NewPCG(c.Seed, 0x7369626c))
	vary := func(x *float64, sd float64) { *x *= math.Exp(sd * clip(rng.NormFloat64(), 2.5)) }
	cell := &c.Cell
	// From cell to cell of one model: capacity 1 %, resistance 3 %, fade 10 %
	// (Baumhöfer et al. 2014 found some 5 % in the cycles to the knee).
	vary(&cell.CapacityAh, 0.01)
	vary(&cell.R10Mohm, 0.03)
	for _, x := range []*float64{&cell.Cycle500, &cell.CalYear, &cell.RCycle500, &cell.RCalYear} {
		vary(x, 0.1)
	}
	vary(&cell.KneeAt, 0.05)
	vary(&cell.WeakPct, 0.3)
	vary(&c.Board.Rolling, 0.03)
	vary(&c.Board.DriveEff, 0.01)
	return c
}
