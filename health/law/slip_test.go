package law

import (
	"math"
	"testing"
)

// halfCell are the equilibrium potentials of the electrodes of the cell LG M50 over
// lithium by Chen et al. 2020 (J. Electrochem. Soc. 167, 080534, equations 8 and 9;
// the figures from memory), graphite with silicon and NMC 811.
func negativeV(x float64) float64 {
	return 1.9793*math.Exp(-39.3631*x) + .2482 - .0909*math.Tanh(29.8538*(x-.1234)) - .04478*math.Tanh(14.9159*(x-.2769)) - .0205*math.Tanh(30.4444*(x-.6103))
}

func positiveV(x float64) float64 {
	return -.8090*x + 4.4875 - .0428*math.Tanh(18.5138*(x-.5542)) - 17.7326*math.Tanh(15.7890*(x-.3117)) + 17.5842*math.Tanh(15.9308*(x-.3120))
}

// slipped is that cell after so much of its lithium, in capacities as new, is lost:
// its capacity and its volts over the charge level.
func slipped(lost float64) (capacity float64, volts func(s float64) float64) {
	const negativeFull, negativeEmpty, positiveFull, positiveEmpty = .9014, .0279, .2661, .9077
	negative, positive := 1/(negativeFull-negativeEmpty), 1/(positiveEmpty-positiveFull)
	lithium := negativeFull*negative + positiveFull*positive - lost
	cell := func(x float64) float64 { return positiveV((lithium-x*negative)/positive) - negativeV(x) }
	level := func(v float64) float64 {
		low, high := 1e-4, .999
		for range 60 {
			if mid := (low + high) / 2; cell(mid) < v {
				low = mid
			} else {
				high = mid
			}
		}
		return low
	}
	empty, full := level(2.5), level(4.2)
	return (full - empty) * negative, func(s float64) float64 { return cell(empty + s*(full-empty)) }
}

// TestLostLithiumSlidesTheCurve holds the slide against half cells: what the
// slide leaves of the change of the volts, over the middle of the charge, is little
// more than half of it.
func TestLostLithiumSlidesTheCurve(t *testing.T) {
	asNewAh, asNew := slipped(0)
	var curve Curve
	g := new(grid)
	for i := range g.v {
		g.v[i] = asNew(float64(i) * CurveStep)
	}
	g.integrate()
	curve.held = g
	for _, lithium := range []float64{.05, .1, .2} {
		ah, now := slipped(lithium)
		aged := curve.Slipped(1-ah/asNewAh, .8, false)
		kept, left := 0.0, 0.0
		for s := .15; s < .9; s += .01 {
			v, _ := aged.OCV(s)
			still, _ := curve.OCV(s)
			kept += math.Abs(now(s) - still)
			left += math.Abs(now(s) - v)
		}
		t.Logf("%.0f %% of the lithium lost: %.1f mV as if new, %.1f mV slid", 100*lithium, kept/.075, left/.075)
		if left > .55*kept {
			t.Errorf("%g of the lithium lost: the slide leaves %g of the change", lithium, left/kept)
		}
	}
}

// TestSlide: levels, slopes and means of an aged curve go together, and its ends
// stay.
func TestSlide(t *testing.T) {
	for _, name := range []string{"nmc", "lfp"} {
		chem, _ := ChemistryNamed(name)
		var curve Curve
		curve.Deform(chem.MeanCurve(), [Modes]float64{})
		for _, loss := range []float64{-.05, 0, .1, .4} {
			a := curve.Slipped(loss, .8, chem.Plateau())
			for _, s := range []float64{0, 1} {
				got, _ := a.OCV(s)
				want, _ := curve.OCV(s)
				near(t, name+": an end of the curve", got, want, 1e-9)
			}
			last := math.Inf(-1)
			for s := .01; s < 1; s += .007 {
				v, _ := a.OCV(s)
				if v <= last {
					t.Fatalf("%s, lost %g: %g V at %g, %g V below", name, loss, v, s, last)
				}
				last = v
				near(t, name+": the level of its volts", a.Soc(v), s, 2e-4)
				at, slope := a.place(s)
				next, _ := a.place(s + 1e-6)
				near(t, name+": the slope of the place", (next-at)/1e-6, slope, 1e-3)
			}
		}
	}
}

// TestSlideKeepsTheOrderOfLevels: whatever a draw has slide, more charge has more
// volts.
func TestSlideKeepsTheOrderOfLevels(t *testing.T) {
	for _, name := range []string{"nmc", "lfp"} {
		chem, _ := ChemistryNamed(name)
		var curve Curve
		curve.Deform(chem.MeanCurve(), [Modes]float64{})
		for _, share := range []float64{-3, -.5, 1, 3} {
			a := curve.Slipped(.5, share, chem.Plateau())
			last := math.Inf(-1)
			for s := 0.0; s <= 1; s += .001 {
				if v, _ := a.OCV(s); v <= last {
					t.Fatalf("%s, share %g: %g V at %g, %g V below", name, share, v, s, last)
				} else {
					last = v
				}
			}
		}
	}
}
