package model

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

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
	Test      bool        // a range test is ridden; else a ride as others of the log
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
	TurnBackV    float64 // rest voltage there, as it reads after RestedMin; NaN where volts tell nothing or nothing is left
	HomeShare    float64 // share of the belief in which home is reached if one turns now
	Apart        []Apart // what each reading leaves where they do not go together: the least was taken
	Helped       bool    // the way out was so easy that wind or slope may have helped, and nobody says so
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

// Apart is what one reading alone leaves, in the middle of the belief.
type Apart struct {
	Reading Standing // with one of its readings
	LeftWh  float64
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

// Reach works out what is left. Where the readings do not go together one of
// them is wrong: the one that leaves least is taken.
func (fit *Fit) Reach(s Standing) *Reach {
	l := fit.leveller(s)
	if l.belief() {
		return l.reach()
	}
	var least *Reach
	var apart []Apart
	leastWh := math.Inf(1)
	for _, one := range s.readings() {
		l := fit.leveller(one)
		l.belief()
		r := l.reach()
		left := Quantile(r.RemainingWh, .5)
		apart = append(apart, Apart{one, left})
		if left < leastWh {
			least, leastWh = r, left
		}
	}
	least.Apart = apart
	return least
}

// readings returns the standing with each of its readings alone.
func (s Standing) readings() []Standing {
	bare := s
	bare.RestV, bare.UsedAh, bare.UsedWh = logbook.Num{}, logbook.Num{}, logbook.Num{}
	var out []Standing
	if s.RestV.OK {
		one := bare
		one.RestV = s.RestV
		out = append(out, one)
	}
	if s.UsedAh.OK {
		one := bare
		one.UsedAh = s.UsedAh
		out = append(out, one)
	}
	if s.UsedWh.OK {
		one := bare
		one.UsedWh = s.UsedWh
		out = append(out, one)
	}
	return out
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
	steps   []*levelDraw
	picks   []int // draws after weighing by the readings
	// The same where a wind may blow that nobody spoke of: what is left is told for the
	// conditions that were asked for, the way home has to be reached in any.
	homePicks []int
}

// levelDraw is one draw with its belief of the deficit.
type levelDraw struct {
	d        *draw
	scene    scene // the way out
	back     float64
	windLn   float64 // what a usual wind along the way makes of a kilometre, as a standard deviation of its logarithm
	climbWh  float64
	drop     float64 // volts of a cell by which the reading lies below rest
	deficit  float64
	evidence float64
}

func (fit *Fit) leveller(s Standing) *leveller {
	m := fit.m
	l := &leveller{fit: fit, s: s, out: &Reach{}}
	seed := fnv.New64a()
	seed.Write([]byte(m.h.Pack.ID + "\x00reach"))
	l.rng = rand.New(rand.NewPCG(seed.Sum64(), stream))
	w := &l.s.Way
	w.Warmed, w.casual = true, !s.Test
	if !w.AirC.OK && w.PackC.OK {
		w.AirC = w.PackC
	}
	if !w.AirC.OK {
		w.AirC = logbook.Some(m.season.at(dayOf(w.at(fit))))
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

// Readings go together where some draw is no farther from them than this, as
// half a squared distance in standard deviations, and where together they leave
// more than this share of the draws.
const (
	mostApart  = 8.0
	leastShare = .02
)

// belief finds each draw's deficit from the readings and weighs the draws by
// how well the readings agree in them. False where they do not go together.
func (l *leveller) belief() bool {
	n := len(l.fit.draws)
	nearest := math.Inf(-1)
	density := make([]float64, levels)
	for i := range l.fit.draws {
		ld := l.sceneOf(&l.fit.draws[i])
		best := math.Inf(-1)
		for k := range density {
			density[k] = l.lnLikelihood(ld, float64(k)*levelStep)
			best = max(best, density[k])
		}
		nearest = max(nearest, best)
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
	agree := true
	readings := func(ld *levelDraw) float64 { return 0 }
	if len(l.s.readings()) > 1 {
		readings = func(ld *levelDraw) float64 { return ld.evidence }
		var share float64
		l.picks, share = l.weigh(readings)
		agree = share > leastShare && nearest > -mostApart
	}
	l.homePicks = l.picks
	if l.learns() {
		l.picks, _ = l.weigh(func(ld *levelDraw) float64 { return readings(ld) + l.lnWay(ld, 0) })
		l.homePicks, _ = l.weigh(func(ld *levelDraw) float64 { return readings(ld) + l.lnWay(ld, ld.windLn) })
	}
	return agree
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

// weigh draws anew by some evidence (systematic resampling) and tells the share of the
// draws that it leaves.
func (l *leveller) weigh(evidence func(*levelDraw) float64) (picks []int, share float64) {
	n := len(l.steps)
	w := make([]float64, n)
	best := math.Inf(-1)
	for i, ld := range l.steps {
		w[i] = evidence(ld)
		best = max(best, w[i])
	}
	sum, squares := 0.0, 0.0
	for i := range w {
		w[i] = math.Exp(w[i] - best)
		sum += w[i]
		squares += w[i] * w[i]
	}
	picks = make([]int, n)
	u, at, run := l.rng.Float64(), 0, w[0]
	for i := range picks {
		for run < (float64(i)+u)*sum/float64(n) && at < n-1 {
			at++
			run += w[at]
		}
		picks[i] = at
	}
	return picks, sum * sum / squares / float64(n)
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
	if !l.s.Way.PackC.OK {
		w.PackC = logbook.Some(c.heatOnWhole(w.AirC.V).mean + c.packDoubt(w.AirC.V)*l.rng.NormFloat64())
	}
	gust := math.Exp(windOutRough * l.rng.NormFloat64())
	out.HeadwindMs *= gust
	back.HeadwindMs *= gust
	ld.scene = l.fit.sceneOf(d, w, &out)
	effect := math.Exp(l.fit.wayEffect(c, w))
	ld.back = c.road.WhPerKm(back) * effect
	if !w.HeadwindKmh.OK {
		along := l.fit.m.usual.winds.rmsMs / math.Sqrt2
		against, behind := out, out
		against.HeadwindMs, against.Met = along, false
		behind.HeadwindMs, behind.Met = -along, false
		ld.windLn = math.Log(c.road.WhPerKm(against)/c.road.WhPerKm(behind)) / 2
	}
	if l.s.ClimbM > 0 {
		up := out
		up.ClimbPerM += l.s.ClimbM / 1000
		ld.climbWh = max(c.road.WhPerKm(up)-c.road.WhPerKm(out), 0) * effect // on one kilometre
	}
	ampere := ld.scene.ampere
	ld.drop = c.relax * ampere * ld.scene.mean.pulse * math.Exp(-l.s.RestedMin.Or(longRestMin)/15)
	return ld
}

// lnLikelihood is how well a deficit goes with the readings.
func (l *leveller) lnLikelihood(ld *levelDraw, deficit float64) float64 {
	m, s := l.fit.m, &ld.scene
	ln := 0.0
	if l.s.RestV.OK && m.voltsKnown {
		v, _ := s.curve.OCV(s.full - deficit)
		sd2 := m.stepVar(l.s.RestV) + ld.d.cell.restVarNow(m) + square(.5*ld.drop)
		ln -= square(l.s.RestV.V/m.series-v-ld.d.cell.voltOffset+ld.drop) / (2 * sd2)
	}
	if l.s.UsedAh.OK {
		ln -= used(l.s.UsedAh, s.ah(deficit))
	}
	if l.s.UsedWh.OK {
		wh := 0.0
		if deficit > 0 {
			wh = s.ah(deficit) * s.loadV(m, 0, deficit) * m.series
		}
		ln -= used(l.s.UsedWh, wh)
	}
	return ln
}

// justSetOut is how much may have been used where a meter shows none, Ah or Wh. Common
// practice, no source.
const justSetOut = .1

// used is half the squared distance of what a meter counted from what would
// have been.
func used(count logbook.Num, would float64) float64 {
	rounded := step(count)
	if count.V == 0 {
		rounded = min(rounded, justSetOut) // 0 is rather nothing than a rounded figure
	}
	sd := math.Sqrt(square(usedNoise*count.V) + square(rounded)/12 + square(.004*(would+count.V)))
	return square(count.V-would) / (2 * sd * sd)
}
