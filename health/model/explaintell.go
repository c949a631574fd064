package model

import (
	"math"
	"slices"

	"packwane/health/law"
)

// rideNoise is what one ride's distance says of how it differed from the
// expected, and through how much noise.
type rideNoise struct {
	seen       bool // the distance is there and not a misreading
	doubted    bool
	atLimit    bool // the ride ended at the limit: its distance is its range
	innovation float64
	lnLoad     float64 // ln Wh/km at the mode, against which innovation stands
	road       float64 // variance of the ride's own consumption
	limit      float64 // variance of where the limit came
	other      float64 // variance of what was measured
	part       float64 // share of a full charge over which it was seen
}

// leastRoad is how much two rides in the same recorded conditions differ at
// least, as a standard deviation of ln Wh/km: where energy is not metered on
// the ride the log cannot tell its scatter from its meters'. Common practice,
// no source.
const leastRoad = .025

// likeItself is how much of what one part of a way had of its own the rest of
// it has too. Common practice, no source.
const likeItself = .5

// rideNoise reads the tape for ride i.
func (fit *Fit) rideNoise(i int) rideNoise {
	m, p, e := fit.m, &fit.f.p, &fit.m.events[i]
	n := rideNoise{road: square(max(m.scale.consumption, leastRoad) * max(e.lever, 1)), limit: square(m.scale.limit), atLimit: e.stop == "limit", part: e.share}
	for k, to := p.rowsOf(i); k < to; k++ {
		t := &p.tape[k]
		if t.kind != obDistance {
			continue
		}
		if n.doubted = t.rejected; n.doubted {
			return n
		}
		n.seen, n.innovation = true, t.innovation
		n.lnLoad = p.c.lnLoad(e)
		n.other = min(max(square(t.sd)-n.road-e.tripVar, square(distanceNoise)), 1)
	}
	if n.atLimit {
		n.other = min(square(distanceNoise)+square(e.roundKm/e.km)/12, 1)
	} else {
		n.limit = 0
	}
	return n
}

// told is one draw of a ride: its conditions, and what was its own.
type told struct {
	c         conditions
	x0        float64
	capacity  float64 // factor of the capacity on the ride: the draws' discrepancy
	own       float64 // ln of its consumption over the expected
	measured  float64 // its distance where that is its range, else NaN
	daysShare float64 // ln factor of the session
}

// km is the ride's way to the limit where the model expects full.
func (t *told) km(full float64) float64 {
	if known(t.measured) {
		return t.measured
	}
	return full * math.Exp(-t.own-t.daysShare)
}

// tell draws what the record leaves open, given what the ride's distance says
// (a sample of the prior moved by the difference between what it implies and
// what was seen, in proportion to each one's part in the variance).
func (x *explainer) tell(d *draw) told {
	n := &x.noise
	t := told{c: x.own, x0: x.start(), capacity: math.Exp(discrepancy.capacity * x.rng.NormFloat64()), measured: math.NaN()}
	z := make([]float64, len(x.doubts))
	implied, total := 0.0, n.road+n.limit+n.other
	for j := range z {
		z[j] = x.rng.NormFloat64()
		implied -= x.doubts[j].gain * z[j]
		total += square(x.doubts[j].gain)
	}
	t.own = math.Sqrt(n.road) * x.rng.NormFloat64()
	implied -= t.own
	implied += math.Sqrt(n.limit)*x.rng.NormFloat64() + math.Sqrt(n.other)*x.rng.NormFloat64()
	shown := x.rng.NormFloat64()
	for _, g := range x.session {
		t.daysShare += d.cell.groups[g]
	}
	if n.seen {
		move := x.share(z, min(max(x.surprise(d, t.x0), -mostTold), mostTold)-implied, total)
		t.own -= n.road * move
		if n.atLimit {
			t.measured = x.e.km * math.Exp(math.Sqrt(n.other)*shown+x.rounded(&d.cell))
		}
		if !n.atLimit { // the rest of the way to the limit has whims of its own
			t.own *= n.part + (1-n.part)*likeItself
			t.own += (1 - n.part) * math.Sqrt(n.road*(1-square(likeItself))) * x.rng.NormFloat64()
		}
	}
	for j := range z {
		x.doubts[j].move(&t.c, z[j])
	}
	return t
}

// share moves what the record leaves open by its part of what the distance says
// otherwise, and returns by how much each variance was moved. A rider who would have to
// weigh what none does is not the reason, and is thought to weigh what others do: the
// wind did it, or nothing that is known.
func (x *explainer) share(z []float64, off, total float64) float64 {
	for j := range z {
		if d := &x.doubts[j]; d.cause == causeMass && math.Abs(d.gain*off/total) > mostHeavy {
			total -= square(d.gain)
		}
	}
	move := off / total
	for j := range z {
		if d := &x.doubts[j]; d.cause != causeMass || math.Abs(d.gain*move) <= mostHeavy {
			z[j] = min(max(z[j]-d.gain*move, -mostOdd), mostOdd)
		}
	}
	return move
}

// surprise is ln of how much farther the ride went than the draw expects of
// its energy (or, at the limit, of its charge).
func (x *explainer) surprise(d *draw, x0 float64) float64 { return x.surpriseIn(d, &x.own, x0) }

func (x *explainer) surpriseIn(d *draw, at *conditions, x0 float64) float64 {
	c := &d.cell
	ln := math.Log(c.road.WhPerKm(at.trip))
	for cause := range x.effects {
		ln += x.effect(c, cause)
	}
	for _, more := range at.ln {
		ln += more
	}
	for _, g := range x.session {
		ln += c.groups[g]
	}
	if !x.noise.atLimit {
		return x.noise.innovation + ln + x.rounded(c) - x.noise.lnLoad
	}
	s := x.still(d)
	scene := x.fit.m.sceneOn(c, s, x.heat(c, at), math.Exp(ln), at.trip.SpeedMs, x.e.limitV, x.e.fullV)
	scene.uneven = c.road.Unevenness(at.trip)
	_, _, km := scene.onward(x.fit.m, x0)
	return math.Log(x.e.km/max(km, .05)) + x.rounded(c)
}

// rounded is ln of the distance that was ridden over the one that was written.
func (x *explainer) rounded(c *cellState) (ln float64) {
	for _, g := range x.written {
		ln += c.groups[g]
	}
	return ln
}

// still is the draw's pack as it was on the ride.
func (x *explainer) still(d *draw) still {
	return d.cell.still(x.fit.m, d.cell.lnCapacity(&x.e), x.e.years, x.e.cycles)
}

// heat is how warm the pack was, had the ride gone on to the limit.
func (x *explainer) heat(c *cellState, at *conditions) heat {
	air := at.trip.AirC
	full := c.heatOnWhole(air)
	mean, sd := full.mean, c.packDoubt(air)
	if known(at.packC) {
		mean += float64(at.whole * (at.packC - mean))
		sd = math.Hypot(readPackC, (1-at.whole)*sd)
	}
	return full.at(mean + float64(sd*at.packZ))
}

func (x *explainer) effect(c *cellState, cause int) float64 {
	sum := 0.0
	for _, e := range x.effects[cause] {
		sum += float64(e.w * c.groups[e.group])
	}
	return sum
}

// referenceEffectOf is the part of referenceEffect that riders, routes or boards make.
func (x *explainer) referenceEffectOf(c *cellState, kinds ...groupKind) float64 {
	sum := 0.0
	for _, e := range x.fit.m.ref.effects {
		if slices.Contains(kinds, x.fit.m.groupKind[e.group]) {
			sum += float64(e.w * c.groups[e.group])
		}
	}
	return sum
}

// fullDoubt is how far even a full charge's deficit is known, as a share.
const fullDoubt = .003

// valuesOf fills in the kilometres for every set of causes in which the ride's
// conditions take the place of the reference's.
func (x *explainer) valuesOf(d *draw, t *told, values *[1 << numCauses]float64) {
	m, c, own := x.fit.m, &d.cell, &t.c
	ages := [2]still{c.still(m, c.lnC[0], 0, 0), x.still(d)}
	ages[1].capacity *= t.capacity
	temps := [2]heat{even(m.ref.packC), x.heat(c, own)}
	full := m.fullSoc(c, x.e.fullV)
	mean := [2]ohms{c.ohmsAt(temps[0].mean), c.ohmsAt(temps[1].mean)}
	end := [2]ohms{c.ohmsAt(temps[0].end), c.ohmsAt(temps[1].end)}
	chills := [2]chill{c.chillAt(temps[0].end), c.chillAt(temps[1].end)}
	mass := [2]float64{x.referenceEffectOf(c, groupRider), x.effect(c, causeMass) + own.ln[causeMass]}
	if len(x.effects[causeMass]) == 0 { // no name: the usual riders' factor
		mass[1] += mass[0]
	}
	route := [2]float64{x.referenceEffectOf(c, groupRoute), x.effect(c, causeRoute) + own.ln[causeRoute]}
	gear := [2]float64{x.referenceEffectOf(c, groupBoard, groupTyres), x.effect(c, causeTyre)}
	casual := x.effect(c, causeSpeed)
	for road := 0; road < 1<<numCauses; road += 2 {
		if road&(1<<causeStart) != 0 {
			break
		}
		has := func(cause int) int { return road >> cause & 1 }
		trip := mixTrip(&m.ref.trip, &own.trip, road)
		ln := mass[has(causeMass)] + route[has(causeRoute)] + gear[has(causeTyre)] + float64(casual*float64(has(causeSpeed)))
		for _, cause := range [...]int{causeClimb, causeSpeed, causeTemperature} {
			ln += float64(own.ln[cause] * float64(has(cause)))
		}
		whPerKm := c.road.WhPerKm(trip) * math.Exp(ln)
		warm := has(causeTemperature)
		s := scene{cell: c, chill: chills[warm], full: full, whPerKm: whPerKm, uneven: c.road.Unevenness(trip), limitV: x.e.limitV, fullV: x.e.fullV, peak: c.peak}
		for a, age := range ages {
			s.capacity, s.curve, s.mean, s.end = age.capacity, age.curve, mean[warm].times(age.ohm), end[warm].times(age.ohm)
			s.ampere = c.amperes(m, whPerKm, trip.SpeedMs, s.mean.long)
			_, _, values[road|a] = s.onward(m, 0)
			_, _, values[road|a|1<<causeStart] = s.onward(m, t.x0)
		}
	}
}

// mixTrip is the reference trip with the ride's conditions of the causes in
// the set.
func mixTrip(ref, own *law.Trip, set int) law.Trip {
	t := *ref
	has := func(cause int) bool { return set&(1<<cause) != 0 }
	if has(causeTemperature) {
		t.AirC = own.AirC
	}
	if has(causeTyre) {
		t.LogPressure = own.LogPressure
	}
	if has(causeMass) {
		t.MassKg = own.MassKg
	}
	if has(causeSpeed) {
		t.SpeedMs, t.SpeedVarMs2, t.StoppedSPerM = own.SpeedMs, own.SpeedVarMs2, own.StoppedSPerM
	}
	if has(causeWind) {
		t.HeadwindMs, t.Met, t.CrossRoundMs = own.HeadwindMs, own.Met, own.CrossRoundMs
	}
	if has(causeClimb) {
		t.ClimbPerM, t.DescentPerM = own.ClimbPerM, own.DescentPerM
	}
	return t
}
