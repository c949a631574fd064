package simulate

import "math"

// wear is how far a pack has aged, part by part.
type wear struct {
	cycles   float64 // full cycles, each weighed by what it was like
	days     float64 // days, each weighed by temperature and charge level
	knee     float64 // share lost to the late mechanism
	overhang float64 // share of capacity hidden (or, below 0, lent) by the anode's edges
	meanZ    float64 // slow mean of the charge level
	hidden   float64 // share that a rest gives back
	usual    float64 // slow mean of hidden
	gone     float64 // share of the cells in parallel that came off
	throughA float64 // Ah taken out of the terminals since new, gross
	throughW float64 // Wh
}

func (g *rig) lossCycles(w *wear) float64 {
	return g.cfg.Cell.Cycle500 * math.Pow(w.cycles/500, g.cfg.Cell.CyclePow)
}

func (g *rig) lossDays(w *wear) float64 {
	return g.cfg.Cell.CalYear * math.Pow(w.days/365.25, g.cfg.Cell.CalPow)
}

// age sums the parts up. With usual, the capacity that rests give back is at
// its slow mean instead of at its value of the moment.
func (g *rig) age(w *wear, usual bool) Age {
	c := &g.cfg.Cell
	a := Age{Hidden: w.hidden, Gone: w.gone}
	if usual {
		a.Hidden = w.usual
	}
	a.Lost = min(0.85, g.lossCycles(w)+g.lossDays(w)+w.knee+w.overhang)
	a.Stiffness = 1 + c.RCycle500*math.Pow(w.cycles/500, c.RCyclePow) + c.RCalYear*math.Pow(w.days/365.25, 0.8) +
		c.RKnee*w.knee - c.BreakIn*(1-math.Exp(-w.cycles/8))
	a.Stiffness /= 1 - w.gone
	return a
}

// cycle wears by a discharge of so many full cycles between two charge levels
// at a temperature and a rate (per hour).
func (g *rig) cycle(w *wear, full, from, to, tempC, rate float64) {
	c := &g.cfg.Cell
	depth := math.Max(0, from-to)
	// Half as deep costs about a third for the same charge (Schmalstieg et al.
	// 2014: 4 and 9 % against 7 and 15.5 % with a square root of throughput).
	stress := 0.12 + 0.88*math.Pow(depth, 1.5)
	off := (tempC - 27) / 22 // cold plates lithium, heat feeds side reactions
	stress *= math.Exp(0.55*off*off) * (1 + 0.15*math.Max(0, rate-0.7))
	dx := full * stress
	w.cycles += dx
	g.lateFade(w, dx)
	w.hidden += c.Fatigue * full
}

// lateFade feeds on itself once the loss has passed the cell's own threshold.
func (g *rig) lateFade(w *wear, dx float64) {
	c := &g.cfg.Cell
	if c.KneeAt <= 0 {
		return
	}
	past := (g.lossCycles(w) + g.lossDays(w) + w.knee - c.KneeAt) / 0.01
	if past < -4 {
		return
	}
	rate := c.KneeRate * math.Log1p(math.Exp(math.Min(past, 50)))
	w.knee += dx * math.Min(rate, c.KneeMax)
}

// wait wears by some days at a temperature and a charge level.
func (g *rig) wait(w *wear, days, z, tempC float64) {
	c := &g.cfg.Cell
	stress := math.Exp(-c.CalK*(1/(tempC+kelvin)-1/refK)) * math.Max(0.35, 1+c.CalPerZ*2*(z-0.5))
	dy := days * math.Pow(stress, 1/c.CalPow)
	w.days += dy
	g.lateFade(w, dy*0.05) // years alone bring it on too, slowly
	k := 1 - math.Exp(-days/c.OverhangD)
	w.meanZ += (z - w.meanZ) * k
	// New cells come half charged; kept fuller, the edges fill and hide some.
	w.overhang += (c.Overhang*(w.meanZ-0.5)*2 - w.overhang) * k
	w.hidden *= math.Exp(-days / c.FatigueD)
	w.usual += (w.hidden - w.usual) * (1 - math.Exp(-days/45))
}

// preAge wears a pack for the life it had before the log.
func (g *rig) preAge(w *wear) {
	p := &g.cfg.Pack
	w.meanZ = 0.5
	steps := math.Ceil(max(p.AgeYears*52, p.CyclesBefore/10))
	ah := g.cfg.Cell.CapacityAh * float64(p.Parallel)
	for range int(steps) {
		full := p.CyclesBefore / steps
		g.cycle(w, full, 0.9, 0.3, 22, 0.5)
		g.wait(w, p.AgeYears*365.25/steps, 0.75, 20)
		w.throughA += full * ah * 0.97
		w.throughW += full * ah * 0.97 * g.groups * p.NominalV
	}
}
