package law

import "math"

// CoolHours is the time constant of a pack in its case, hours: 3 kJ/K over 1 to
// 2 W/K is half an hour to an hour, thicker cases take longer. From memory.
const CoolHours = 4.0 / 3

// DiffusionHours is how long the slow part of a cell's resistance takes to come
// and go, hours: a quarter of an hour, from memory.
const DiffusionHours = .25

// SustainedShare is the resistance of a long discharge over that of 10 s, from
// memory.
const SustainedShare = 1.25

// UnevenCurrent is the mean square of the current of a ride over the square of
// its mean, by which it warms a pack: starts, hills and gusts. From memory.
const UnevenCurrent = 1.15

// heatPerAh is the heat capacity of cells and their case, J/K for each
// ampere-hour of a group: 47 g for 3 Ah (18650, nickel-rich) or 40 g for 1.2 Ah
// (LFP) at 1 kJ/(kg K), and a quarter more for the case. From memory.
func (c *Chemistry) heatPerAh() float64 {
	if c.Name == "lfp" {
		return 42
	}
	return 20
}

// A Course is how a pack warms while it is ridden from full on: what is left of
// where it stood, and how much has come of what riding at the usual current
// would warm it by in the end at mid charge. Each as a share, on average over
// the ride and at its end.
type Course struct{ Stood, Risen Span }

// Span is a share on average over a ride and as its end feels it: the volts
// there still hold what diffusion kept of the colder minutes before.
type Span struct{ Mean, End float64 }

// A Warming holds the courses of rides over any share of a full charge.
type Warming struct{ at [warmingSteps + 1]Course }

const warmingSteps = 200

// EmptyAt is the charge level at which a ride meets the limit where nothing tells
// it better. Common practice, no source.
const EmptyAt = .05

// Warming is how riding at so many full charges per hour warms a pack, as a body
// of one heat capacity and one time constant. What heats it grows towards the
// end: the same power takes more current from fewer volts, and resistance rises
// at low charge. The rate counts as within 0.1 to 3 per hour.
func (c *Chemistry) Warming(cRate float64) *Warming {
	step := 1 / (usualRate(cRate) * CoolHours * warmingSteps) // in time constants
	keeps, lag, curve := math.Exp(-step), math.Exp(-step*CoolHours/DiffusionHours), c.MeanCurve()
	mid, _ := curve.OCV(.5)
	stood, risen := body{is: 1, felt: 1, mean: 1}, body{}
	w := &Warming{}
	w.at[0] = Course{stood.span(), risen.span()}
	for i := range warmingSteps {
		level := 1 - (1-EmptyAt)*(float64(i)+.5)/warmingSteps
		volts, _ := curve.OCV(level)
		stood.step(0, keeps, lag)
		risen.step(mid/volts*mid/volts*LowCharge(level, PriorSteepness), keeps, lag)
		w.at[i+1] = Course{stood.span(), risen.span()}
	}
	return w
}

// body is what has one heat capacity, followed in even steps.
type body struct{ is, felt, mean, steps float64 }

func (b *body) step(goal, keeps, lag float64) {
	next := goal + (b.is-goal)*keeps
	mid := (b.is + next) / 2
	b.felt = mid + (b.felt-mid)*lag
	b.mean = (b.mean*b.steps + mid) / (b.steps + 1)
	b.is, b.steps = next, b.steps+1
}

func (b *body) span() Span { return Span{b.mean, b.felt} }

// Over is the course of a ride over a share of a full charge, 0 to 1.
func (w *Warming) Over(share float64) Course {
	return w.at[int(math.Round(min(max(share, 0), 1)*warmingSteps))]
}

// Whole is the course of a ride from full to the limit.
func (w *Warming) Whole() Course { return w.at[warmingSteps] }

func usualRate(cRate float64) float64 { return min(max(cRate, .1), 3) }

// RidingWarmth is by how many kelvin a discharge at so many full charges per
// hour may be expected to warm a pack of 25 °C and of the chemistry's usual
// resistance, on average from full to the limit: what resistance makes of the
// current, less what the air takes.
func (c *Chemistry) RidingWarmth(cRate float64) float64 {
	rate := usualRate(cRate)
	insulated := rate * c.ResistanceAhOhm * SustainedShare * UnevenCurrent * 3600 / c.heatPerAh() // by a full charge at mid-charge resistance
	return insulated * rate * CoolHours * c.Warming(cRate).Whole().Risen.Mean
}

// SelfWarmed is by what factor a current warms a pack more than one of 25 °C,
// which it would warm by riseC: heat goes with resistance, and resistance falls
// as the pack warms, so that its temperature T solves T = fromC + riseC·Factor(T).
// Factor is followed along its tangent at fromC + riseC.
func (t Thermal) SelfWarmed(fromC, riseC float64) float64 {
	at := min(max(fromC+riseC, -30), 60) + zeroC
	activated := (1 - t.Ohmic) * math.Exp(t.ActivationK*(1/at-1/(ReferenceResistanceC+zeroC)))
	slope := activated * t.ActivationK / (at * at) // of Factor's fall
	return (t.Ohmic + activated + slope*riseC) / (1 + slope*riseC)
}
