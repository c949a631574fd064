package law

import (
	"math"
	"testing"
)

// followed is a body of one heat capacity and one heat loss, a kelvin above the
// air when it sets out, followed through a ride in small steps: what is left of
// that kelvin, and what a heater of one kelvin in the end at mid charge has made,
// on average and as a quarter of an hour of diffusion feels it at the end.
func followed(c *Chemistry, rate, share float64) Course {
	curve := c.MeanCurve()
	mid, _ := curve.OCV(.5)
	const n = 100000
	step := share / rate / n // hours
	stood, warm, feltStood, feltWarm, sumStood, sumWarm := 1.0, 0.0, 1.0, 0.0, 0.0, 0.0
	for i := range n {
		level := 1 - .95*share*(float64(i)+.5)/n
		volts, _ := curve.OCV(level)
		heater := mid * mid / (volts * volts) * LowCharge(level, 1)
		stood -= step / CoolHours * stood
		warm += step / CoolHours * (heater - warm)
		feltStood += step / .25 * (stood - feltStood)
		feltWarm += step / .25 * (warm - feltWarm)
		sumStood += stood / n
		sumWarm += warm / n
	}
	return Course{Span{sumStood, feltStood}, Span{sumWarm, feltWarm}}
}

func TestWarmingAgainstSmallSteps(t *testing.T) {
	for _, name := range []string{"nmc", "lfp"} {
		c, _ := ChemistryNamed(name)
		for _, rate := range []float64{.1, .3, .5, 1, 2, 3} {
			w := c.Warming(rate)
			for _, share := range []float64{.1, .5, 1} {
				got, want := w.Over(share), followed(&c, rate, share)
				near(t, name+" stood, mean", got.Stood.Mean, want.Stood.Mean, 2e-3)
				near(t, name+" stood, end", got.Stood.End, want.Stood.End, 2e-3)
				near(t, name+" risen, mean", got.Risen.Mean, want.Risen.Mean, 2e-3)
				near(t, name+" risen, end", got.Risen.End, want.Risen.End, 1e-2)
			}
			if w.Over(1) != w.Whole() || w.Over(0).Stood.End != 1 || w.Over(0).Risen.End != 0 {
				t.Errorf("%s at %g: the courses do not begin and end where a ride does", name, rate)
			}
		}
	}
}

// What riding warms a pack by, against the heat of its current in the same body.
func TestRidingWarmth(t *testing.T) {
	for _, name := range []string{"nmc", "lfp"} {
		c, _ := ChemistryNamed(name)
		last := 0.0
		for _, rate := range []float64{.1, .3, .5, 1, 2, 3} {
			watts := c.ResistanceAhOhm * SustainedShare * UnevenCurrent * rate * rate // of 1 Ah
			want := watts * CoolHours * 3600 / c.heatPerAh() * followed(&c, rate, 1).Risen.Mean
			near(t, name, c.RidingWarmth(rate), want, 2e-3*want)
			if want < last {
				t.Errorf("%s: %g K at rate %g, %g K below it", name, want, rate, last)
			}
			last = want
		}
	}
}

// A pack that warms itself, against the temperature at which what it makes of
// its resistance and what warms it agree, found by halving.
func TestSelfWarmed(t *testing.T) {
	for _, from := range []float64{-15, 0, 10, 25, 40} {
		for _, rise := range []float64{0, 2, 8, 15} {
			lo, hi := from, from+20*rise+1
			for range 100 {
				if mid := (lo + hi) / 2; from+rise*PriorThermal.Factor(mid) > mid {
					lo = mid
				} else {
					hi = mid
				}
			}
			got := from + rise*PriorThermal.SelfWarmed(from, rise)
			near(t, "a pack that warms itself", got, lo, .05+.08*(lo-from))
		}
	}
	if f := PriorThermal.SelfWarmed(25, 0); math.Abs(f-1) > 1e-12 {
		t.Errorf("a pack of 25 °C that hardly warms: %g times", f)
	}
}
