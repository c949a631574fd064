package model

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"packwane/health/law"
	"packwane/health/logbook"
)

// Version names the model: a kept fit of another version is of no use.
const Version = 73

// stream chooses among the streams of random numbers. It stays as it is, so
// that answers of different versions differ by what the versions do.
const stream = 9

// DefaultDraws is how many draws a fit returns.
const DefaultDraws = 400

// Fit is what the records of one pack say: draws of everything that was
// unknown.
type Fit struct {
	m      *machine
	f      *fitter
	z      []float64 // the mode
	Status Status

	mix     *mixture
	own     int       // how many of its parts are the library's
	through []float64 // gross Ah by the end of each event, at the mode
	pace    pace      // of use, lately
	draws   []draw
	order   conditional
}

// draw is one sample of all unknowns.
type draw struct {
	cell   cellState
	fade   fade
	left   float64    // departure of ln C from the fade at the end of the log
	wander float64    // standard normal: where it wanders from there
	pace   float64    // standard normal of the pace of the further loss
	usage  float64    // standard normal of the rate of use
	guess  float64    // standard normal of what riding was worked out, not measured
	lost   float64    // standard normal of what share of the loss so far the model misses
	meter  float64    // standard normal of what the meter counted of all riding
	test   [3]float64 // standard normals of one test's scatter: capacity, meter, road

	// What follows from those, asked for again and again.
	throughAh float64 // gross charge taken out in the log, all of it
	fadeNow   float64 // ln C of the fade at the end of the log
	ref       cycle   // at reference conditions
	asNewAh   float64 // capacity_ah as new: as measured, else as the draw has it
}

// FitHistory fits the model to one history. siblings are what fits of other
// packs of the rider with the same cells showed of their fades, each from its
// own history alone. The result depends on the arguments alone.
func FitHistory(h *logbook.History, siblings []Sibling) *Fit {
	return fitWith(h, library(), siblings)
}

// library lists the shapes that every pack's fade may follow.
func library() []law.Shape { return append(slices.Clone(law.Shapes), squareRoot) }

// fitWith fits with a library of shapes of the caller's choice.
func fitWith(h *logbook.History, shapes []law.Shape, siblings []Sibling) *Fit {
	m := prepare(h)
	fit := settled(m).orStepped()
	fit.finish(shapes, nil, nil) // siblings have no say in where the mode is
	for round := 0; round < mostNearer && fit.strayed(); round++ {
		fit = fit.nearer()
		fit.finish(shapes, nil, nil)
	}
	if len(siblings) > 0 {
		fit.finish(shapes, slices.Clone(fit.mix.parts[:fit.own]), siblings)
	}
	return fit
}

// settled is a fit at its mode.
func settled(m *machine) *Fit {
	f := newFitter(m)
	return settledFrom(m, f.start())
}

// settledFrom is the same from where another fit of the records ended.
func settledFrom(m *machine, z []float64) *Fit {
	fit := &Fit{m: m, f: newFitter(m), z: slices.Clone(z)}
	fit.settle()
	return fit
}

// finish reads the draws off the mode. own are the parts of the mixture that
// the library gives, nil where they are to be weighed first.
func (fit *Fit) finish(shapes []law.Shape, own []component, siblings []Sibling) {
	fit.f.p.base(fit.z)
	fit.addThrough()
	fit.pace = fit.usage()
	fit.weighFades(shapes, own, siblings)
	fit.draw(DefaultDraws)
}

// settle finds the mode, then estimates the noises and puts aside the
// misreadings, and finds it again.
func (fit *Fit) settle() {
	f := fit.f
	f.p.felt = make([]felt, len(fit.m.events))
	defer func() { f.p.felt = nil }()
	if len(fit.m.events) == 0 {
		fit.Status = NoRecords
		f.p.base(fit.z)
	}
	enough := [...]float64{1, .3, .1, .03} // no need to settle well before the misreadings are out
	for round := range enough {
		var hessian *mat.SymDense
		most := mostBefore
		if round == len(enough)-1 {
			most = mostIterations
		}
		hessian, _, status := minimise(f, fit.z, enough[round], most)
		fit.order.hessian = hessian
		if fit.Status != NoRecords {
			fit.Status = status
		}
		if round == len(enough)-1 {
			break
		}
		f.putAside()
		f.rescale(hessian)
	}
}

// addThrough works out the gross charge taken out by the end of each event.
func (fit *Fit) addThrough() {
	f := fit.f
	fit.through = make([]float64, len(fit.m.events))
	for i := range fit.m.events {
		if i+1 < len(fit.m.events) {
			fit.through[i] = f.p.carry[i+1].start.throughAh
		} else {
			fit.through[i] = f.p.end.throughAh
		}
	}
}

// mostScale bounds the noises: where figures lie farther apart than that, they
// are wrong rather than noisy.
const mostScale = .5

// weighFades turns the knots' likelihood into the mixture over fades.
func (fit *Fit) weighFades(shapes []law.Shape, own []component, siblings []Sibling) {
	m := fit.m
	nk := len(m.knots)
	precision := fit.order.split(nk)
	e := &evidence{l: mat.NewSymDense(nk, nil), h: make([]float64, nk)}
	for k := range nk {
		cycles, years := fit.ageOfKnot(k)
		e.cycles, e.years = append(e.cycles, cycles), append(e.years, years)
	}
	precise := fit.f.precise
	s := knotSd
	for i := range nk {
		for j := range nk {
			e.h[i] += precision.At(i, j) * fit.z[numScalars+j] / s
			if j >= i {
				e.l.SetSym(i, j, (precision.At(i, j)-precise.At(numScalars+i, numScalars+j))/(s*s))
			}
		}
	}
	for i := range nk {
		for j := range nk {
			e.h[i] += e.l.At(i, j) * m.params[numScalars+j].mean
		}
	}
	prior := m.fadePrior()
	for k := range nk {
		e.moments = append(e.moments, momentOf(e.cycles[k], e.years[k], prior.q))
	}
	fit.mix = newMixture(e, math.Exp(prior.mean[1]))
	list := candidates(prior, shapes, siblings)
	if fit.mix.parts = own; own == nil {
		fit.mix.add(list[:len(shapes)])
	}
	fit.own = len(fit.mix.parts)
	fit.mix.add(list[len(shapes):])
	fit.mix.total()
}

// ageOfKnot returns the cycles (of the rated capacity) and years in service
// at a knot.
func (fit *Fit) ageOfKnot(k int) (cycles, years float64) {
	m := fit.m
	if k == 0 {
		return 0, 0
	}
	i, _ := slices.BinarySearchFunc(m.events, m.knots[k]-1e-9, func(e event, age float64) int {
		switch {
		case e.age < age:
			return -1
		case e.age > age:
			return 1
		}
		return 0
	})
	i = min(i, len(m.events)-1)
	if i < 0 {
		return m.before, max(m.nowDay-dayOf(m.born), 0) / yearDays
	}
	at := m.before + fit.f.p.carry[i].start.throughAh/m.ratedAh
	return at, m.events[i].years
}

// draw samples the posterior.
func (fit *Fit) draw(n int) {
	m := fit.m
	seed := fnv.New64a()
	seed.Write([]byte(m.h.Pack.ID))
	rng, laws := rand.New(rand.NewPCG(seed.Sum64(), stream)), rand.New(rand.NewPCG(seed.Sum64(), stream+1))
	nk := len(m.knots)
	z := make([]float64, len(m.params))
	lnC, e := make([]float64, nk), make([]float64, len(fit.order.rest))
	level := fit.newPinned()
	road, ohm := fit.roadDoubt(), fit.resistanceDoubt()
	fit.draws = make([]draw, n)
	lists := make([]float64, 0, n*(len(m.params)-numScalars)) // those of all draws
	for i := range fit.draws {
		d := &fit.draws[i]
		d.wander, d.pace, d.usage, d.guess, d.meter = rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()
		d.test = [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
		d.fade = fit.mix.sample((float64(i)+.5)/float64(n), rng)
		last := fit.mix.capacities(&d.fade, rng, lnC)
		d.left = lnC[nk-1] - last + discrepancy.capacity*rng.NormFloat64()
		for k := range nk {
			p := m.params[numScalars+k]
			z[numScalars+k] = (lnC[k] - p.mean) / p.sd
		}
		fit.sampleRest(z, rng, e)
		d.cell.lnC, lists = cut(lists, nk)
		d.cell.groups, lists = cut(lists, len(m.groupNames))
		m.decode(z, &d.cell)
		moved := level.straighten(z, &d.cell)
		d.fade.lnC0 += moved
		last += moved
		d.cell.doubt(rng, road, ohm)
		d.cell.sag(math.Exp(discrepancy.drop * laws.NormFloat64())) // peaks differ from one way to another
		d.cell.tired *= math.Exp(discrepancy.tired * laws.NormFloat64())
		d.lost = laws.NormFloat64()
		d.fadeNow = last
		fit.complete(d)
		if m.pastUnknown() {
			d.asNewAh /= 1 - m.lostBefore(d.cell.lnC[0]-math.Log(m.ratedAh), laws)
		}
	}
}

// complete works out what follows from a draw.
func (fit *Fit) complete(d *draw) {
	m := fit.m
	d.throughAh = fit.throughAh(d)
	d.ref = d.cell.cycle(m, even(m.ref.packC), &m.ref.trip)
	d.asNewAh, _, _ = d.cell.cycleAh(m, &d.ref, d.cell.lnC[0], age{})
	if known(m.asNewAh) { // measured down to the limit of that time
		d.asNewAh = m.asNewAh * (d.asNewAh / d.cell.firstAh(m, d.ref))
	}
}

// cut takes a list with room for n numbers from the room behind list.
func cut(list []float64, n int) (taken, rest []float64) {
	return list[:0:n], list[n:n:cap(list)]
}

// sample draws a fade; u in 0..1 chooses the shape, so that stratified u
// spread the draws over the shapes by their weights.
func (mix *mixture) sample(u float64, rng *rand.Rand) fade {
	k, sum := 0, 0.0
	for k = range mix.parts {
		sum += math.Exp(mix.parts[k].lnWeight - mix.lnTotal)
		if u < sum {
			break
		}
	}
	f := mix.resampled(&mix.parts[k], rng)
	last := len(mix.e.cycles) - 1
	lost := 0.0
	if n := mix.e.cycles[last]; n > 0 {
		lost, _ = f.shape.LossAt(math.Exp(min(math.Exp(f.lnWarp)*(math.Log(n)-f.lnN), 5)))
	}
	f.knee = drawKnee(mix.parts[k].knee, lost, rng)
	return f
}

// gaussian draws x from N(0, A⁻¹) for the Cholesky factor of A.
func gaussian(chol *mat.Cholesky, rng *rand.Rand, x []float64) {
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	u := chol.RawU().(mat.RawTriangular).RawTriangular()
	for i := len(x) - 1; i >= 0; i-- { // solves U·x = e in place
		row := u.Data[i*u.Stride:][:len(x)]
		s := x[i]
		for j := i + 1; j < len(x); j++ {
			s -= float64(row[j] * x[j])
		}
		x[i] = s / row[i]
	}
}

// capacities draws ln C at the knots given a fade; last is the fade's own at
// the last knot.
func (mix *mixture) capacities(f *fade, rng *rand.Rand, out []float64) (last float64) {
	gaussian(&mix.m, rng, out)
	for i := range out {
		out[i] += mix.base.AtVec(i)
	}
	for j, t := range mix.e.moments {
		last, _ = f.lnCAt(t)
		for i := range out {
			out[i] += float64(mix.gain.At(i, j) * last)
		}
	}
	return last
}

// sampleRest fills the parameters beside the knots, given the knots; e is room
// for as many numbers.
func (fit *Fit) sampleRest(z []float64, rng *rand.Rand, e []float64) {
	c := &fit.order
	nk := len(fit.m.knots)
	gaussian(&c.chol, rng, e)
	for i, x := range c.rest {
		v := fit.z[x] + e[i]
		slope := c.slope.RawRowView(i)
		for k := range nk {
			v += slope[k] * (z[numScalars+k] - fit.z[numScalars+k])
		}
		z[x] = min(max(v, -8), 8)
	}
}
