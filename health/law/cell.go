package law

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/interp"
)

// Chemistry is the set of sourced values that cells of one chemistry share.
type Chemistry struct {
	Name     string
	NominalV float64 // of a cell
	FullV    float64 // of a cell at the end of its usual charge
	LimitV   float64 // of a cell: where riding stops if the pack does not say
	CutoffV  float64 // of a cell: where protection opens if the pack does not say

	// ModeV is how far, as a standard deviation in volts, cells of the chemistry
	// differ from the mean curve in each deformation (see Curve).
	ModeV [Modes]float64

	ResistanceAhOhm   float64 // 10 s resistance times capacity of one cell, Ω·Ah, median
	ColdPerC          float64 // capacity lost per kelvin about 25 °C beside what the resistance costs (see ColdShare); from memory
	CyclesTo80        float64 // equivalent full cycles to 80 %, median of measured cells
	CyclesTo80Spread  float64 // standard deviation of its logarithm
	CalendarPerYear   float64 // capacity share lost in the first year at 25 °C, half charged
	CalendarSpread    float64 // standard deviation of its logarithm
	CalendarExponent  float64
	SelfDischargePctM float64 // of the cells, percent a month

	ocv []float64 // volts at ocvSoc
}

// Modes is the number of smooth deformations of an open-circuit curve.
const Modes = 6

// ocvSoc are the charge levels at which the curves below are typed.
var ocvSoc = []float64{0, .01, .02, .03, .04, .05, .06, .08, .10, .12, .15, .20, .25, .30, .35, .40, .45, .50, .55, .60, .65, .70, .75, .80, .85, .90, .95, .98, .99, 1}

// Open-circuit volts at ocvSoc by slow discharge (C/32 or C/20): S. Sunil,
// Piecewise-Battery-OCV (2025), MIT licence. Five cells used in light
// vehicles; every third row of the published tables or so.
var (
	ocvM50T = []float64{2.520, 2.831, 2.965, 3.052, 3.115, 3.162, 3.198, 3.253, 3.304, 3.351, 3.401, 3.475, 3.521, 3.576, 3.614, 3.644, 3.676, 3.717, 3.765, 3.817, 3.875, 3.920, 3.965, 4.018, 4.067, 4.092, 4.116, 4.148, 4.165, 4.194}
	ocvP28A = []float64{2.703, 2.886, 3.006, 3.087, 3.148, 3.194, 3.231, 3.297, 3.350, 3.387, 3.434, 3.484, 3.538, 3.585, 3.621, 3.654, 3.691, 3.736, 3.783, 3.837, 3.883, 3.920, 3.963, 4.019, 4.063, 4.083, 4.107, 4.142, 4.162, 4.188}
	ocvP42A = []float64{2.506, 2.817, 2.959, 3.050, 3.117, 3.169, 3.211, 3.278, 3.334, 3.374, 3.421, 3.475, 3.529, 3.581, 3.621, 3.656, 3.695, 3.742, 3.789, 3.844, 3.890, 3.926, 3.975, 4.034, 4.070, 4.080, 4.101, 4.139, 4.162, 4.193}
	ocv40T  = []float64{2.500, 2.886, 3.002, 3.084, 3.145, 3.192, 3.230, 3.301, 3.355, 3.393, 3.436, 3.482, 3.542, 3.590, 3.623, 3.655, 3.692, 3.738, 3.786, 3.842, 3.888, 3.923, 3.971, 4.031, 4.072, 4.085, 4.108, 4.143, 4.162, 4.200}
	// The LFP cell. The last two points stand for a cell at rest after its
	// charge, from memory: the published curve still climbs to 3.6 V there.
	ocvAPR = []float64{2.010, 2.702, 2.864, 2.956, 3.021, 3.072, 3.114, 3.177, 3.203, 3.208, 3.216, 3.241, 3.262, 3.278, 3.288, 3.295, 3.297, 3.299, 3.301, 3.303, 3.307, 3.316, 3.333, 3.337, 3.339, 3.341, 3.343, 3.348, 3.365, 3.430}
	// LCO: a C/2 charge and a 1C discharge of cell CS2_35 (CALCE Battery
	// Research Group, University of Maryland), each weighed by the other's
	// current so that the ohmic drop cancels; below 6 %, where the two part
	// too far for that, from memory.
	ocvCS2 = []float64{2.700, 3.150, 3.340, 3.450, 3.530, 3.590, 3.640, 3.682, 3.701, 3.715, 3.737, 3.769, 3.791, 3.803, 3.814, 3.827, 3.842, 3.860, 3.881, 3.903, 3.926, 3.952, 3.981, 4.015, 4.054, 4.098, 4.145, 4.174, 4.184, 4.194}
	// LMO: a spinel cathode over graphite, from memory; its modes are wide.
	ocvSpinel = []float64{2.700, 3.000, 3.180, 3.300, 3.380, 3.440, 3.490, 3.560, 3.610, 3.650, 3.700, 3.760, 3.800, 3.830, 3.855, 3.880, 3.905, 3.930, 3.950, 3.970, 3.985, 4.000, 4.020, 4.050, 4.075, 4.095, 4.120, 4.150, 4.165, 4.190}
)

func meanCurve(curves ...[]float64) []float64 {
	out := make([]float64, len(ocvSoc))
	for i := range out {
		for _, c := range curves {
			out[i] += c[i] / float64(len(curves))
		}
	}
	return out
}

// Nominal, full, limit and cutoff volts: common practice, no source. The
// deformations are wider than the four nickel-rich cells above lie from their
// mean, so that cells of other makes lie within them: half cells of four papers are
// held against them in the test. A curve that cannot bend as far as the pack's does
// has its error in common to hundreds of rest volts, which then outvote the
// counted full cycles. Ω·Ah: UR18650E 0.087,
// CS2 0.10 (the given ageing data), 30Q 0.12, P42A about 0.07; LFP 0.035 where it
// is made for power, 0.06 to 0.08 where it is not (18650 of 1.5 Ah with 45 mΩ, 32700 of 6 Ah with 10 mΩ; from memory). Calendar:
// Schmalstieg 2014 (NMC: t^0.75; others found its square root, from memory:
// between), Naumann 2018 (LFP: t^0.5), in part-charged use. Cycles to 80 %: the
// given ageing data (470 to 700 for NMC and NCA, 890 to 2100 for LFP at full
// depth) times about 1.4, since packs are seldom cycled at full depth
// (Schmalstieg 2014: half depth costs 4 and 9 % where full depth costs 7 and
// 15.5), and as wide as the cell models of the given data lie apart. Cold: from memory, wide in the fit.
var chemistries = map[string]Chemistry{
	"nmc": {Name: "nmc", NominalV: 3.6, FullV: 4.2, LimitV: 3.0, CutoffV: 2.6, ModeV: [Modes]float64{.030, .250, .025, .015, .012, .010},
		ResistanceAhOhm: .095, ColdPerC: .0010, CyclesTo80: 900, CyclesTo80Spread: 1, CalendarPerYear: .022, CalendarSpread: .5, CalendarExponent: .65, SelfDischargePctM: 1, ocv: meanCurve(ocvM50T, ocvP28A, ocvP42A, ocv40T)},
	"nca": {Name: "nca", NominalV: 3.6, FullV: 4.2, LimitV: 3.0, CutoffV: 2.6, ModeV: [Modes]float64{.030, .250, .025, .015, .012, .010},
		ResistanceAhOhm: .095, ColdPerC: .0010, CyclesTo80: 800, CyclesTo80Spread: 1, CalendarPerYear: .025, CalendarSpread: .5, CalendarExponent: .65, SelfDischargePctM: 1, ocv: meanCurve(ocvM50T, ocvP42A, ocv40T)},
	"lco": {Name: "lco", NominalV: 3.7, FullV: 4.2, LimitV: 3.1, CutoffV: 2.8, ModeV: [Modes]float64{.030, .120, .020, .015, .012, .010},
		ResistanceAhOhm: .100, ColdPerC: .0020, CyclesTo80: 800, CyclesTo80Spread: 1, CalendarPerYear: .030, CalendarSpread: .6, CalendarExponent: .6, SelfDischargePctM: 1, ocv: ocvCS2},
	"lmo": {Name: "lmo", NominalV: 3.8, FullV: 4.2, LimitV: 3.1, CutoffV: 2.8, ModeV: [Modes]float64{.050, .200, .030, .015, .012, .010},
		ResistanceAhOhm: .090, ColdPerC: .0020, CyclesTo80: 700, CyclesTo80Spread: 1, CalendarPerYear: .035, CalendarSpread: .6, CalendarExponent: .6, SelfDischargePctM: 1.5, ocv: ocvSpinel},
	"lfp": {Name: "lfp", NominalV: 3.2, FullV: 3.6, LimitV: 2.7, CutoffV: 2.3, ModeV: [Modes]float64{.012, .120, .008, .006, .005, .004},
		ResistanceAhOhm: .055, ColdPerC: .0012, CyclesTo80: 2400, CyclesTo80Spread: 1, CalendarPerYear: .025, CalendarSpread: .5, CalendarExponent: .5, SelfDischargePctM: 1, ocv: ocvAPR},
}

// ChemistryNamed returns the chemistry of that name; an unknown name gives
// nmc, the commonest, and false.
func ChemistryNamed(name string) (Chemistry, bool) {
	c, ok := chemistries[name]
	if !ok {
		c = chemistries["nmc"]
	}
	return c, ok
}

// CurvePoints is the number of grid points of a Curve; CurveStep their
// distance in charge level.
const (
	CurvePoints = 201
	CurveStep   = 1.0 / (CurvePoints - 1)
)

// Curve is an open-circuit curve on a uniform grid of charge levels 0..1 with
// its integral, below 0 and above 1 going on in a straight line. It is the
// mean curve of a chemistry plus each deformation times its height: a few
// numbers, since a fit holds hundreds of them.
type Curve struct {
	mean   *grid
	modes  *[Modes]grid
	height [Modes]float64 // V
	held   *grid          // where that would fall and is held level, else nil
}

// grid is a curve's volts, and volts times charge level from 0.
type grid struct{ v, integral [CurvePoints]float64 }

func (g *grid) integrate() {
	for i := 1; i < CurvePoints; i++ {
		g.integral[i] = g.integral[i-1] + (g.v[i]+g.v[i-1])*(CurveStep/2)
	}
}

// modes are the deformations, each of about unit height: one bow over the
// whole range, one at the low end, and waves of two to five half periods.
var modes = sync.OnceValue(func() *[Modes]grid {
	var m [Modes]grid
	for i := range CurvePoints {
		s := float64(i) * CurveStep
		m[0].v[i] = math.Sin(math.Pi * s)
		m[1].v[i] = math.Exp(-s / .06)
		for k := 2; k < Modes; k++ {
			m[k].v[i] = math.Sin(float64(k) * math.Pi * s)
		}
	}
	for k := range m {
		m[k].integrate()
	}
	return &m
})

// MeanCurve returns the chemistry's mean open-circuit curve, monotone between
// the typed points (Fritsch-Butland).
func (c Chemistry) MeanCurve() *Curve {
	var spline interp.FritschButland
	if err := spline.Fit(ocvSoc, c.ocv); err != nil {
		panic("law: the typed open-circuit points do not increase: " + err.Error())
	}
	mean := new(grid)
	for i := range mean.v {
		mean.v[i] = spline.Predict(float64(i) * CurveStep)
	}
	mean.integrate()
	return &Curve{mean: mean, modes: modes()}
}

// leastRise is what a curve rises from one grid point to the next, V.
const leastRise = 1e-6

// Deform sets c to the mean curve plus each deformation times its height in
// volts. A curve that would fall is held level, so that it can be inverted.
func (c *Curve) Deform(mean *Curve, heightV [Modes]float64) {
	*c = Curve{mean: mean.mean, modes: mean.modes, height: heightV}
	last := c.volts(0)
	for i := 1; i < CurvePoints; i++ {
		now := c.volts(i)
		if now < last+leastRise {
			c.hold()
			return
		}
		last = now
	}
}

func (c *Curve) hold() {
	g := new(grid)
	for i := range g.v {
		g.v[i] = c.volts(i)
		if i > 0 {
			g.v[i] = max(g.v[i], g.v[i-1]+leastRise)
		}
	}
	g.integrate()
	c.held = g
}

// volts are those at grid point i.
func (c *Curve) volts(i int) float64 {
	if c.held != nil {
		return c.held.v[i]
	}
	m := c.modes
	v := c.mean.v[i]
	for k := range c.height {
		v += float64(c.height[k] * m[k].v[i])
	}
	return v
}

// integral is volts times charge level from 0 to grid point i.
func (c *Curve) integral(i int) float64 {
	if c.held != nil {
		return c.held.integral[i]
	}
	m := c.modes
	v := c.mean.integral[i]
	for k := range c.height {
		v += float64(c.height[k] * m[k].integral[i])
	}
	return v
}

// TopV is the volts of a cell at charge level 1.
func (c *Curve) TopV() float64 { return c.volts(CurvePoints - 1) }

func cellOf(s float64) (int, float64) {
	x := s / CurveStep
	i := min(max(int(x), 0), CurvePoints-2)
	return i, x - float64(i)
}

// OCV returns the open-circuit volts of a cell at charge level s, and their
// slope in volts per unit of charge level.
func (c *Curve) OCV(s float64) (volts, slope float64) {
	i, w := cellOf(s)
	v := c.volts(i)
	d := c.volts(i+1) - v
	return v + float64(d*w), d / CurveStep
}

// MeanV returns the mean open-circuit volts between the charge levels a and b.
func (c *Curve) MeanV(a, b float64) float64 {
	if math.Abs(a-b) < 1e-6 {
		v, _ := c.OCV((a + b) / 2)
		return v
	}
	return (c.integralAt(a) - c.integralAt(b)) / (a - b)
}

func (c *Curve) integralAt(s float64) float64 {
	i, w := cellOf(s)
	v := c.volts(i)
	return c.integral(i) + float64(w*CurveStep)*(v+float64((c.volts(i+1)-v)*w/2))
}

// Soc returns the charge level whose open-circuit volts are v.
func (c *Curve) Soc(v float64) float64 {
	lo, hi := 0, CurvePoints-1
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if c.volts(mid) <= v {
			lo = mid
		} else {
			hi = mid
		}
	}
	at := c.volts(lo)
	return (float64(lo) + (v-at)/(c.volts(lo+1)-at)) * CurveStep
}

// beyondFullV is how many volts stand for a whole charge above full, where no curve
// tells: such cells rise by about as much from empty to full. It goes on for so many.
const beyondFullV, mostBeyondV = 1.0, 5.0

// SocUnderLoad returns the charge level at which the volts under load,
// OCV(s) - drop·LowCharge(s), fall to limit: where a discharge ends. It is 0
// where the limit lies below all of the curve. Where the drop is so large that
// riding could not begin it is above 1, by as much as volts are missing: a fit that
// strayed there is shown the way back.
func (c *Curve) SocUnderLoad(limit, dropV, steepness float64) float64 {
	over := func(i int) float64 { return c.volts(i) - dropV*(1+steepness*lowChargeAt[i]) - limit }
	if over(0) >= 0 {
		return 0
	}
	if missing := -over(CurvePoints - 1); missing > 0 {
		return 1 + min(missing, mostBeyondV)/beyondFullV
	}
	lo, hi := 0, CurvePoints-1 // under the limit, and not
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; over(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	below, above := over(lo), over(hi)
	return (float64(hi) - above/(above-below)) * CurveStep
}

// Plateau reports whether the positive electrode's volts hardly depend on the
// charge level.
func (c *Chemistry) Plateau() bool { return c.Name == "lfp" }

// UsualLoss is the share of the capacity that cells of the chemistry usually have
// lost after so many years and equivalent full cycles, at most a half.
func (c *Chemistry) UsualLoss(years, cycles float64) float64 {
	return min(c.UsualCycleLoss(cycles)+c.CalendarPerYear*math.Pow(max(years, 0), c.CalendarExponent), .5)
}

// UsualCycleLoss is what of it the cycles take: a fifth at CyclesTo80, at a power from
// memory, and no more than at three times as many.
func (c *Chemistry) UsualCycleLoss(cycles float64) float64 {
	return .2 * math.Pow(min(max(cycles, 0)/c.CyclesTo80, 3), .9)
}

// ShortOfFullV is how far below its full volts a cell rests at most that was charged to
// them: one that rests lower was not. An lfp cell settles far below its charging volts.
// Common practice, no source.
func (c Chemistry) ShortOfFullV() float64 {
	if c.Name == "lfp" {
		return .33
	}
	return .10
}
