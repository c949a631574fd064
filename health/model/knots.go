package model

import (
	"math"
	"slices"
)

// Nominal figures turn what was used into one age for the placing of knots;
// only that, so they need not be true.
const (
	nominalWhPerKm         = 14.0
	cyclesPerAge           = 500.0
	yearsPerAge            = 4.0
	mostKnots              = 20
	recordsPerKnot         = 4
	knotSd                 = .25 // of ln C about its typical course: weak, taken out again later
	knotStepSd, stepPerAge = .05, .30
)

// placeKnots gives every event its age, spreads the knots over the ages at
// which the capacity shows, and writes the parameter list.
func (m *machine) placeKnots() {
	ages := m.nominalAges()
	m.knots = m.knotAges(ages)
	for i := range m.events {
		k, _ := slices.BinarySearch(m.knots, ages[i])
		k = min(max(k-1, 0), len(m.knots)-2)
		m.events[i].knot = k
		m.events[i].knotW = min(max((ages[i]-m.knots[k])/(m.knots[k+1]-m.knots[k]), 0), 1)
	}
	m.params = scalars(m.chem, m.ratedAh, m.usual.cRate)
	for _, age := range m.knots {
		typical := math.Log(m.ratedAh) + math.Log(1-m.chem.UsualCycleLoss(age*cyclesPerAge))
		m.params = append(m.params, param{name: "capacity", mean: typical, sd: knotSd})
	}
	for g, kind := range m.groupKind {
		m.params = append(m.params, m.groupPrior(kind, m.groupNames[g]))
	}
}

// nominalAges returns each event's age, never falling.
func (m *machine) nominalAges() []float64 {
	ages := make([]float64, len(m.events))
	ah := m.before * m.ratedAh
	volts := m.chem.NominalV * m.series
	for i := range m.events {
		e := &m.events[i]
		ah += e.unloggedKm * nominalWhPerKm / volts
		e.cycles = ah / m.ratedAh
		e.usualLoss = m.chem.UsualLoss(e.years, e.cycles)
		ages[i] = e.cycles/cyclesPerAge + e.years/yearsPerAge
		if i > 0 {
			ages[i] = max(ages[i], ages[i-1])
		}
		e.age = ages[i]
		if e.kind != evRide {
			continue
		}
		switch {
		case known(e.grossAh):
			ah += min(e.grossAh, 1.5*m.ratedAh)
		case known(e.wh):
			ah += min(e.wh/volts, 1.5*m.ratedAh)
		case known(e.km):
			ah += min(e.km*nominalWhPerKm/volts, 1.2*m.ratedAh)
		case e.stop == "limit":
			ah += m.ratedAh
		}
	}
	return ages
}

// knotAges places the first knot at age 0, the last at the end of the log,
// and others between at equal shares of the records.
func (m *machine) knotAges(ages []float64) []float64 {
	knots := []float64{0}
	n := len(ages)
	if n == 0 {
		return append(knots, max((m.nowDay-dayOf(m.born))/yearDays/yearsPerAge, .01))
	}
	inner := min(max(n/recordsPerKnot, 1), mostKnots-1)
	last := ages[n-1]
	for i := range inner {
		q := i * (n - 1) / max(inner-1, 1)
		if inner == 1 {
			q = n - 1
		}
		age := ages[q]
		// half by records, half by age: a long lull still gets its knots
		if inner > 1 {
			age = .5*age + .5*(ages[0]+(last-ages[0])*float64(i)/float64(inner-1))
		}
		if age > knots[len(knots)-1]+1e-3 {
			knots = append(knots, age)
		}
	}
	if last > knots[len(knots)-1]+1e-6 {
		knots = append(knots, last)
	}
	if len(knots) == 1 {
		knots = append(knots, 1e-3)
	}
	return knots
}

// knotPrior adds the weak prior of the knots to the upper half of a precision
// matrix in terms of ln C: each about its typical course, and neighbours'
// departures from it near each other.
func (m *machine) knotPrior(add func(i, j int, w float64)) {
	for k := range m.knots {
		add(k, k, m.held/square(m.lnLoose()))
		if k > 0 {
			w := m.held / (square(knotStepSd) + square(stepPerAge*(m.knots[k]-m.knots[k-1])))
			add(k, k, w)
			add(k-1, k-1, w)
			add(k-1, k, -w)
		}
	}
}
