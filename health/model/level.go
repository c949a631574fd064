package model

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"packwane/health/law"
	"packwane/health/logbook"
)

// Standing is what a rider knows under way: volts at rest, what the meter
// counted since the charge, how far from home. Absent is not known.
type Standing struct {
	RestV     logbook.Num // of the pack
	RestedMin logbook.Num // since the load; long where absent
	UsedAh    logbook.Num // net, since full
	UsedWh    logbook.Num
	OutKm     logbook.Num // ridden from home, out of which UsedAh and UsedWh came
	Way       Way         // conditions: HeadwindKmh on the way out
	ClimbM    float64     // still to climb; none of it is counted to come back
	Risk      float64     // share: how often home may not be reached above the limit
}

// Reach is what is left from where a rider stands.
type Reach struct {
	LevelPct     Draws // of a full charge that is left before the limit
	RemainingWh  Draws
	RemainingKm  Draws // on average in these conditions, straight on
	ThisRideKm   Draws // with the scatter of one ride: wider
	DayPct       Draws // how much more a kilometre takes today than expected; nil where not learned
	FarthestKm   Draws // how much farther out one may go and be home at the limit, with this ride's scatter
	TurnBackKm   float64
	TurnBackV    float64 // rest voltage there, as it reads after RestedMin
	HomeShare    float64 // share of the belief in which home is reached if one turns now
	Agreement    float64 // share of the draws that the two readings together leave; 1 where there is one
	BeyondFull   bool    // the voltage is above that of a full pack
	BelowLimit   bool    // nothing is left
	BelowPct     float64 // of the charge that lies below the limit, never counted
	OutWhPerKm   Draws
	HomeWhPerKm  Draws
	AirC         float64
	AirAssumed   bool
	AirSd        float64
	RestAssumed  bool
	ClimbUnknown bool
}

const (
	longRestMin  = 240.0 // where no rest is given
	dayShare     = .6    // of a ride's scatter that stays with it as it goes on, common practice, no source
	levelStep    = .0025
	mostDeficit  = 1.06
	usedNoise    = .006 // of what a meter counted since full, and of how full that was
	limitDoubt   = .006 // share of the capacity: where the limit comes, beside what the draws hold. Set like discrepancy
	voltDoubt    = .006 // and of a level that volts tell
	windOutRough = .25  // of a wind that the rider feels and states
)

const levels = int(mostDeficit/levelStep) + 1

// Reach works out what is left.
func (fit *Fit) Reach(s Standing) *Reach {
	l := fit.leveller(s)
	l.belief()
	return l.reach()
}

// leveller holds the draws of one question.
type leveller struct {
	fit     *Fit
	s       Standing
	rng     *rand.Rand
	out     *Reach
	outTrip law.Trip
	backTr  law.Trip
	airSd   float64
	warm    warmUp
	steps   []*levelDraw
	picks   []int // draws after weighing by the readings
}

// levelDraw is one draw with its belief of the deficit.
type levelDraw struct {
	d        *draw
	scene    scene // the way out
	back     float64
	climbWh  float64
	drop     float64 // volts of a cell by which the reading lies below rest
	deficit  float64
	evidence float64
}

func (fit *Fit) leveller(s Standing) *leveller {
	m := fit.m
	l := &leveller{fit: fit, s: s, out: &Reach{Agreement: 1}, warm: fit.warmUp()}
	seed := fnv.New64a()
	seed.Write([]byte(m.h.Pack.ID + "\x00reach"))
	l.rng = rand.New(rand.NewPCG(seed.Sum64(), Version))
	w := &l.s.Way
	w.Warmed = true
	if !w.AirC.OK && w.PackC.OK {
		w.AirC = w.PackC
	}
	if !w.AirC.OK {
		w.AirC = logbook.Some(m.season.at(w.day(fit)))
		l.airSd, l.out.AirAssumed = m.season.sd, true
	}
	l.out.AirC, l.out.AirSd = w.AirC.V, l.airSd
	l.outTrip = fit.tripOf(*w)
	back := *w
	back.HeadwindKmh = logbook.Num{V: -w.HeadwindKmh.V, OK: w.HeadwindKmh.OK}
	l.backTr = fit.tripOf(back)
	l.out.RestAssumed = s.RestV.OK && !s.RestedMin.OK
	return l
}

// belief finds each draw's deficit from the readings and weighs the draws by
// how well the readings agree in them.
func (l *leveller) belief() {
	n := len(l.fit.draws)
	density := make([]float64, levels)
	for i := range l.fit.draws {
		ld := l.sceneOf(&l.fit.draws[i])
		best := math.Inf(-1)
		for k := range density {
			density[k] = l.lnLikelihood(ld, float64(k)*levelStep)
			best = max(best, density[k])
		}
		sum := 0.0
		for k := range density {
			density[k] = math.Exp(density[k] - best)
			sum += density[k]
		}
		ld.evidence = best + math.Log(sum)
		ld.deficit = pick(density, sum*l.rng.Float64(), l.rng.Float64())
		l.steps = append(l.steps, ld)
	}
	l.picks = make([]int, n)
	for i := range l.picks {
		l.picks[i] = i
	}
	if !l.s.RestV.OK || !l.s.UsedAh.OK && !l.s.UsedWh.OK {
		return
	}
	l.weigh()
}

// pick returns the level at which the running sum passes u.
func pick(density []float64, u, within float64) float64 {
	for k, v := range density {
		if u -= v; u <= 0 {
			return (float64(k) + within - .5) * levelStep
		}
	}
	return mostDeficit
}

// weigh draws anew by the evidence (systematic resampling).
func (l *leveller) weigh() {
	n := len(l.steps)
	best := math.Inf(-1)
	for _, ld := range l.steps {
		best = max(best, ld.evidence)
	}
	w := make([]float64, n)
	sum, squares := 0.0, 0.0
	for i, ld := range l.steps {
		w[i] = math.Exp(ld.evidence - best)
		sum += w[i]
		squares += w[i] * w[i]
	}
	l.out.Agreement = sum * sum / squares / float64(n)
	u, at, run := l.rng.Float64(), 0, w[0]
	for i := range l.picks {
		for run < (float64(i)+u)*sum/float64(n) && at < n-1 {
			at++
			run += w[at]
		}
		l.picks[i] = at
	}
}

// sceneOf sets one draw on today's way, out and back.
func (l *leveller) sceneOf(d *draw) *levelDraw {
	c := &d.cell
	ld := &levelDraw{d: d}
	w, out, back := l.s.Way, l.outTrip, l.backTr
	if l.airSd > 0 {
		shift := l.airSd * l.rng.NormFloat64()
		w.AirC.V += shift
		out.AirC, back.AirC = w.AirC.V, w.AirC.V
	}
	if l.warm.told && !l.s.Way.PackC.OK {
		w.PackC = logbook.Some(l.warm.at(w.AirC.V) + math.Hypot(l.warm.sd, l.warm.room*(typicalIndoorC-w.AirC.V)/2)*l.rng.NormFloat64()) // from a room or from outdoors
	}
	gust := math.Exp(windOutRough * l.rng.NormFloat64())
	out.HeadwindMs *= gust
	back.HeadwindMs *= gust
	ld.scene = l.fit.sceneOf(d, w, &out)
	effect := math.Exp(l.fit.wayEffect(c, w))
	ld.back = c.road.WhPerKm(back) * effect
	if l.s.ClimbM > 0 {
		up := out
		up.ClimbPerM += l.s.ClimbM / 1000
		ld.climbWh = max(c.road.WhPerKm(up)-c.road.WhPerKm(out), 0) * effect // on one kilometre
	}
	ampere := ld.scene.ampere
	ld.drop = c.relax * ampere * ld.scene.ohm * math.Exp(-l.s.RestedMin.Or(longRestMin)/15)
	return ld
}

// lnLikelihood is how well a deficit goes with the readings.
func (l *leveller) lnLikelihood(ld *levelDraw, deficit float64) float64 {
	m, s := l.fit.m, &ld.scene
	ln := 0.0
	if l.s.RestV.OK && m.voltsKnown {
		v, _ := ld.d.cell.curve.OCV(s.full - deficit)
		sd2 := m.stepVar(l.s.RestV) + m.voltVar() + square(.5*ld.drop)
		ln -= square(l.s.RestV.V/m.series-v-ld.d.cell.voltOffset+ld.drop) / (2 * sd2)
	}
	if l.s.UsedAh.OK {
		ln -= used(l.s.UsedAh, deficit*s.capacity)
	}
	if l.s.UsedWh.OK {
		wh := 0.0
		if deficit > 0 {
			wh = deficit * s.capacity * s.loadV(m, 0, deficit) * m.series
		}
		ln -= used(l.s.UsedWh, wh)
	}
	return ln
}

// used is half the squared distance of what a meter counted from what would
// have been.
func used(count logbook.Num, would float64) float64 {
	sd := math.Sqrt(square(usedNoise*count.V) + square(step(count))/12 + square(.004*(would+count.V)))
	return square(count.V-would) / (2 * sd * sd)
}

// reach turns the beliefs into what is left.
func (l *leveller) reach() *Reach {
	m, r := l.fit.m, l.out
	scatter := m.scale.consumption
	learned := l.s.OutKm.OK && l.s.OutKm.V > 0 && (l.s.UsedWh.OK || l.s.UsedAh.OK)
	atRisk := make([]float64, 0, len(l.picks))
	below := 0.0
	empty := 0
	home := 0
	for _, i := range l.picks {
		ld := l.steps[i]
		s := ld.scene
		day := 0.0
		if learned {
			day = l.learn(ld, scatter)
			r.DayPct = append(r.DayPct, 100*math.Expm1(day))
		}
		s.whPerKm *= math.Exp(day)
		s.ampere *= math.Exp(day)
		back := ld.back * math.Exp(day)
		deficit := ld.deficit + limitDoubt*l.rng.NormFloat64()
		if l.s.RestV.OK {
			deficit += voltDoubt * l.rng.NormFloat64()
		}
		ah, wh, _ := s.onward(m, deficit)
		end := s.endAt()
		below += max(1-end/max(s.full, .1), 0) / float64(len(l.picks))
		if ah == 0 {
			empty++
		}
		left := max(wh-ld.climbWh*math.Exp(day), 0)
		r.LevelPct = append(r.LevelPct, 100*min(max(1-ld.deficit/end, 0), 1.05))
		r.RemainingWh = append(r.RemainingWh, wh)
		r.RemainingKm = append(r.RemainingKm, left/s.whPerKm)
		r.OutWhPerKm, r.HomeWhPerKm = append(r.OutWhPerKm, s.whPerKm), append(r.HomeWhPerKm, back)
		own := scatter
		if learned {
			own *= math.Sqrt(1 - dayShare)
		}
		whim := math.Exp(own * l.rng.NormFloat64()) // of consumption on what is still to come
		limit := math.Exp(m.scale.limit * l.rng.NormFloat64())
		r.ThisRideKm = append(r.ThisRideKm, left*limit/(s.whPerKm*whim))
		out := l.s.OutKm.Or(0)
		farthest := (left*limit - back*whim*out) / ((s.whPerKm + back) * whim)
		if farthest >= 0 {
			home++
		}
		r.FarthestKm = append(r.FarthestKm, farthest)
		atRisk = append(atRisk, farthest)
	}
	r.BelowPct = 100 * below
	r.BelowLimit = empty > len(l.picks)/2
	r.HomeShare = float64(home) / float64(len(l.picks))
	slices.Sort(atRisk)
	r.TurnBackKm = max(Quantile(atRisk, l.s.Risk), 0)
	r.TurnBackV = l.turnV(r.TurnBackKm)
	r.BeyondFull = l.beyondFull()
	return r
}

// learn is ln of what today's kilometre takes over the expected, from the way
// out: its meter and its scatter hide some of it.
func (l *leveller) learn(ld *levelDraw, scatter float64) float64 {
	m, s := l.fit.m, &ld.scene
	wh := l.s.UsedWh.V
	if !l.s.UsedWh.OK {
		q := l.s.UsedAh.V / s.capacity
		wh = l.s.UsedAh.V * s.loadV(m, 0, q) * m.series
	}
	seen := math.Log(wh / l.s.OutKm.V / s.whPerKm)
	common := dayShare * square(scatter)
	noise := (1-dayShare)*square(scatter) + square(usedNoise) + square(.01)
	gain := common / (common + noise)
	return gain*seen + math.Sqrt(common*(1-gain))*l.rng.NormFloat64()
}

// turnV is the middle of what the voltmeter reads at rest where one has to
// turn, as long after the load as now.
func (l *leveller) turnV(km float64) float64 {
	m := l.fit.m
	var volts []float64
	for k, i := range l.picks {
		ld := l.steps[i]
		s := ld.scene
		at := s.after(m, ld.deficit, km*l.out.OutWhPerKm[k])
		v, _ := ld.d.cell.curve.OCV(s.full - at)
		volts = append(volts, (v+ld.d.cell.voltOffset-ld.drop)*m.series)
	}
	return Quantile(volts, .5)
}

// beyondFull reports whether the volts lie above what a full pack shows.
func (l *leveller) beyondFull() bool {
	if !l.s.RestV.OK || !l.fit.m.voltsKnown {
		return false
	}
	v := l.s.RestV.V / l.fit.m.series
	top := l.fit.each(func(d *draw) float64 {
		full, _ := d.cell.curve.OCV(l.fit.m.fullSoc(&d.cell, l.fit.m.ref.fullV))
		return full + d.cell.voltOffset
	})
	return v > Quantile(top, .95)+.05
}

// RestSpan returns the rest volts of the pack when it is full, and where the
// limit is met under load at reference conditions, at the mode of the fit.
func (fit *Fit) RestSpan() (fullV, limitV float64) {
	m := fit.m
	c := &fit.f.p.c
	d := draw{cell: *c}
	w := Way{}
	trip := fit.tripOf(w)
	s := m.sceneOn(c, c.still(c.lnC[len(c.lnC)-1], 0, 0), m.ref.packC, c.road.WhPerKm(trip)*math.Exp(fit.wayEffect(&d.cell, w)), trip.SpeedMs, m.ref.limitV, m.ref.fullV)
	top, _ := c.curve.OCV(s.full)
	low, _ := c.curve.OCV(s.full - s.endAt())
	return (top + c.voltOffset) * m.series, (low + c.voltOffset) * m.series
}
