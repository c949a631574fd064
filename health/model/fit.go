package model

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"packwane/health/logbook"
)

// fitter is the problem of one machine for minimise.
type fitter struct {
	m       *machine
	p       pass
	windows [][2]int // of each parameter: the events that feel it
	precise *mat.SymDense
	movers  []mover
	step    float64 // by which they are moved
	answers [together]answer
	cols    []column  // of some events
	resid   []float64 // and their whitened residuals
	told    toldRows  // with the rows of the last normal
}

func newFitter(m *machine) *fitter {
	f := &fitter{m: m, step: paramStep}
	f.p = pass{m: m, robust: true, reject: map[rejectKey]bool{}}
	f.findWindows()
	n := len(m.params)
	f.movers, f.cols = make([]mover, n), make([]column, n)
	f.precise = mat.NewSymDense(n, nil)
	for i := range n {
		if i < numScalars || i >= numScalars+len(m.knots) {
			f.precise.SetSym(i, i, 1)
		}
	}
	m.knotPrior(func(i, j int, w float64) {
		a, b := numScalars+i, numScalars+j
		f.precise.SetSym(a, b, f.precise.At(a, b)+w*square(knotSd))
	})
	return f
}

// findWindows finds for each parameter the events that can feel it: all for
// most, a stretch for a knot or a session, on to the next full charge, where
// the state forgets.
func (f *fitter) findWindows() {
	m := f.m
	n := len(m.events)
	f.windows = make([][2]int, len(m.params))
	for i := range f.windows {
		f.windows[i] = [2]int{0, n}
	}
	f.windows[pStep] = [2]int{0, 0}
	if m.stepFrom >= 0 {
		f.windows[pStep] = [2]int{m.stepFrom, n}
	}
	nk := len(m.knots)
	for k := 1; k < nk; k++ {
		f.windows[numScalars+k] = f.stretch(func(e *event) bool { return e.knot == k || e.knot+1 == k })
	}
	for g, kind := range m.groupKind {
		if kind != groupSession {
			continue
		}
		f.windows[numScalars+nk+g] = f.stretch(func(e *event) bool {
			for _, x := range e.effects {
				if x == g {
					return true
				}
			}
			return false
		})
	}
}

func (f *fitter) stretch(feels func(*event) bool) [2]int {
	lo, hi := -1, 0
	for i := range f.m.events {
		if feels(&f.m.events[i]) {
			if lo < 0 {
				lo = i
			}
			hi = i + 1
		}
	}
	if lo < 0 {
		return [2]int{0, 0}
	}
	for forgets := 0; hi < len(f.m.events) && forgets < 2; hi++ {
		if f.m.events[hi].kind == evCharge && f.m.events[hi].full != logbook.No {
			forgets++
		}
	}
	return [2]int{lo, hi}
}

func (f *fitter) prior() *mat.SymDense { return f.precise }

func (f *fitter) cost(z []float64) float64 { return f.p.base(z) }

// rowOf returns the first tape entry of event i.
func (p *pass) rowOf(i int) int {
	if i < len(p.carry) {
		return p.carry[i].tapeAt
	}
	return len(p.tape)
}

// start returns the point from which the fit begins: the priors, with the
// capacity, the consumption and the resistance moved to where the medians of
// the log put them.
func (f *fitter) start() []float64 {
	m := f.m
	z := make([]float64, len(m.params))
	f.p.base(z)
	var capacity, load, ohm []float64
	for i := range m.events {
		e := &m.events[i]
		c := &f.p.carry[i]
		if e.kind == evRide && known(e.ah) && (e.stop == "limit" || e.stop == "cutoff") && c.reset || e.kind == evRide && known(e.ah) && e.stop == "limit" && c.x0 < .1 {
			capacity = append(capacity, math.Log(e.ah/math.Exp(f.p.c.lnCapacity(e))))
		}
		if e.kind == evRide && known(e.km) {
			wh := e.wh
			if !known(wh) {
				wh = c.qAh * m.chem.NominalV * m.series
			}
			load = append(load, math.Log(wh/e.km)-f.p.c.lnLoad(e))
		}
		if e.kind == evCheck && known(e.ohm) && !e.acMethod {
			ohm = append(ohm, math.Log(e.ohm/(m.series*f.p.c.resistance*f.p.c.thermal.Factor(e.packC))))
		}
	}
	if d := median(capacity); known(d) {
		d = min(max(d+.04, -1.5), 1.5)
		for k := range m.knots {
			z[numScalars+k] = d / knotSd
		}
	}
	if d := median(load); known(d) {
		d = min(max(d, -2), 2)
		z[pRolling], z[pDrag] = d/m.params[pRolling].sd, d/m.params[pDrag].sd
	}
	if d := median(ohm); known(d) {
		most := 3.0
		if len(ohm) < leastAlike { // one may be a slip of the pen
			most = 2 * m.params[pResistance].sd
		}
		z[pResistance] = min(max(d, -most), most) / m.params[pResistance].sd
	}
	return z
}
