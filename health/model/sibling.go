package model

import (
	"math"

	"packwane/health/law"
)

// Sibling is what a fit of another pack with the same cells shows of its fade.
type Sibling struct {
	Pack     string
	Shape    law.Shape // of the whole loss, cycles and time together, as that pack was used
	LnLife   float64   // ln of the rated cycles at which 20 % are lost
	LnLifeSd float64
}

// siblingSd is how far the lives of cells of one make in like hands lie apart,
// as the standard deviation of a logarithm: 16 UR18650E cycled alike spread by
// 6 % (Baumhöfer 2014), 15 APR18650M1A under differing protocols by 25 %.
const siblingSd = .15

// mostUncertainSibling is the spread beyond which a sibling is too young to
// tell anything.
const mostUncertainSibling = .5

// Sibling sums up the fade of the fit's pack for fits of packs with the same
// cells; false where it does not yet tell enough.
func (fit *Fit) Sibling() (Sibling, bool) {
	if !fit.Known().Capacity {
		return Sibling{}, false
	}
	perDay := fit.pace.perDay
	if perDay <= 0 {
		return Sibling{}, false
	}
	lives := fit.each(func(d *draw) float64 { return math.Log(fit.lifeCycles(d, .2, perDay)) })
	lo, mid, hi := Quantile(lives, .16), Quantile(lives, .5), Quantile(lives, .84)
	s := Sibling{Pack: fit.m.h.Pack.ID, LnLife: mid, LnLifeSd: math.Hypot((hi-lo)/2, siblingSd)}
	if math.IsInf(hi, 0) || !(s.LnLifeSd < mostUncertainSibling) {
		return Sibling{}, false
	}
	s.Shape = law.Shape{Family: "sibling " + s.Pack, Chemistry: fit.m.chem.Name}
	life := math.Exp(mid)
	for j, x := range law.ShapeX {
		s.Shape.Loss[j] = Quantile(fit.each(func(d *draw) float64 { return fit.lossAt(d, x*life, perDay) }), .5)
	}
	scale := s.Shape.Loss[onlyOne()]
	if !(scale > .05) {
		return Sibling{}, false
	}
	for j := range s.Shape.Loss {
		s.Shape.Loss[j] = min(s.Shape.Loss[j]*.2/scale, law.MaxLoss)
		if j > 0 {
			s.Shape.Loss[j] = max(s.Shape.Loss[j], s.Shape.Loss[j-1])
		}
	}
	s.Shape.Loss[0] = 0
	return s, true
}

// onlyOne is the index of age 1 in law.ShapeX.
func onlyOne() int {
	for j, x := range law.ShapeX {
		if x == 1 {
			return j
		}
	}
	return len(law.ShapeX) - 1
}

// lossAt is the share of the capacity as new that one draw has lost at an age
// in rated cycles, reached at the pack's own pace. What went at once is left out: it
// says nothing of how the cells fade.
func (fit *Fit) lossAt(d *draw, cycles, perDay float64) float64 {
	last := len(fit.m.knots) - 1
	e := fit.mix.e
	if cycles <= e.cycles[last] {
		return 1 - math.Exp(fit.knotsBetween(d, cycles)-d.cell.lnC[0])
	}
	a := age{cycles: cycles, years: e.years[last] + (cycles-e.cycles[last])/perDay/yearDays}
	return 1 - math.Exp(fit.lnCAhead(d, a)-d.cell.step-d.cell.lnC[0])
}

// lifeCycles is where one draw has lost that share, in rated cycles.
func (fit *Fit) lifeCycles(d *draw, loss, perDay float64) float64 {
	lo, hi := 0.0, 100.0
	for fit.lossAt(d, hi, perDay) < loss {
		if lo, hi = hi, hi*1.6; hi > 1e5 {
			return math.Inf(1)
		}
	}
	for range 30 {
		if mid := (lo + hi) / 2; fit.lossAt(d, mid, perDay) < loss {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// prior returns the prior of a fade that follows the sibling: its life, and
// next to nothing by time beside it, since the shape holds that already.
func (s *Sibling) prior(own fadePrior) fadePrior {
	own.mean[1], own.sd[1] = s.LnLife, s.LnLifeSd
	own.sd[2] = .15
	own.mean[3], own.sd[3] = math.Log(.001), .5
	return own
}
