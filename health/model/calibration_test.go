package model

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"packwane/health/law"
	"packwane/health/logbook"
)

// sbcTruth is a pack drawn from the model's own priors.
type sbcTruth struct {
	cell                   cellState
	fade                   fade
	departure              float64 // of ln C, constant over a log this short
	capacity, road, resist float64 // discrepancies of the figures, ln
	drop                   float64 // likewise, of what trips the limit at reference conditions
}

// sbcLog draws a pack from the priors and writes a small log by the model's
// own laws and noises: full charges, rides to the limit and checks.
func sbcLog(seed uint64, cycles int) (*logbook.History, *sbcTruth) {
	rng := rand.New(rand.NewPCG(seed, 0x736263))
	some := logbook.Some
	p := &logbook.Pack{
		Head: logbook.Head{ID: fmt.Sprint("sbc-", seed), Rev: 1}, Board: "board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: some(3), CellFullV: some(4.2), LimitV: some(31),
		InService: time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC), RefSpeedKmh: some(24), RefRiderKg: some(80),
	}
	b := &logbook.Board{Head: logbook.Head{ID: "board", Rev: 1}, MassKg: some(14), RefTyreKpa: some(300)}
	h := &logbook.History{Pack: p, Boards: map[string]*logbook.Board{"board": b}, AsOf: p.InService}
	m := prepare(h)
	truth := &sbcTruth{}
	z := make([]float64, len(m.params))
	for i := range numScalars {
		z[i] = rng.NormFloat64()
	}
	m.decode(z, &truth.cell)
	// the prior of how riding warms the pack goes with the current that the log will show
	usual := law.Trip{MassKg: 94, AirC: 18, SpeedMs: 24 / law.KmhPerMs}
	cRate := truth.cell.road.WhPerKm(usual) * 24 / (m.chem.NominalV * m.series * m.ratedAh)
	truth.cell.warm = scalars(m.chem, m.ratedAh, cRate)[pWarm].value(z[pWarm])
	prior := m.fadePrior()
	truth.fade = fade{shape: anyShape(rng, prior), q: prior.q}
	at := prior.mean
	for a := range at {
		at[a] += prior.sd[a] * rng.NormFloat64()
	}
	truth.fade.set(at)
	truth.departure = math.Hypot(wanderSd, nuggetSd) * rng.NormFloat64()
	truth.capacity, truth.road, truth.resist = discrepancy.capacity*rng.NormFloat64(), discrepancy.road*rng.NormFloat64(), discrepancy.resistance*rng.NormFloat64()
	truth.drop = discrepancy.drop * rng.NormFloat64()
	truth.cell.lnC = []float64{truth.fade.lnC0 + truth.departure, truth.fade.lnC0 + truth.departure}
	w := sbcWriter{Rand: rng, m: m, truth: truth, h: h, now: p.InService.Add(30 * time.Hour)}
	w.cycled = dayOf(w.now)
	for i := range cycles {
		w.charge(i)
		if i%4 == 0 {
			w.check(i)
		}
		w.ride(i)
	}
	h.AsOf = w.now
	return h, truth
}

// anyShape draws a shape of the library by its weight.
func anyShape(rng *rand.Rand, prior fadePrior) *law.Shape {
	list := candidates(prior, library(), nil)
	total := 0.0
	for _, c := range list {
		total += c.weight
	}
	left := total * rng.Float64()
	for _, c := range list {
		if left -= c.weight; left < 0 {
			return c.shape
		}
	}
	return list[len(list)-1].shape
}

// sbcWriter lives through the log.
type sbcWriter struct {
	*rand.Rand
	m       *machine
	truth   *sbcTruth
	h       *logbook.History
	now     time.Time
	x       float64 // deficit, share
	through float64 // Ah

	cycled, recent, usual float64 // when the pack last rode, days, and what lies on it, full cycles (tired.go)
}

func (w *sbcWriter) age() age {
	return age{years: w.now.Sub(w.h.Pack.InService).Hours() / 24 / yearDays, cycles: w.through / w.m.ratedAh}
}

// lnRested is ln of the whole capacity of the pack, rested as usual; lnC that
// of the moment.
func (w *sbcWriter) lnRested() float64 {
	a := w.age()
	v, _ := w.truth.fade.lnC(a.cycles, a.years)
	return v + w.truth.departure
}

func (w *sbcWriter) lnC() float64 {
	days := dayOf(w.now) - w.cycled
	w.cycled += days
	w.recent *= math.Exp(-days / restDays)
	w.usual += (w.recent - w.usual) * (1 - math.Exp(-days/usualDays))
	return w.lnRested() - w.truth.cell.tired*(w.recent-w.usual)
}

func (w *sbcWriter) charge(i int) {
	c := &w.truth.cell
	capacity := math.Exp(w.lnC())
	if i == 0 {
		w.x = .3 + .4*w.Float64()
	}
	left := .0025 * w.NormFloat64()
	q := w.x - left
	start := w.now
	w.now = w.now.Add(3 * time.Hour)
	small := .004 / max(q, .002)
	day := priorScales.meter * w.NormFloat64()
	in := math.Log1p(c.coulomb)
	ah := q * capacity * math.Exp(in+day+math.Hypot(small, .001)*w.NormFloat64())
	wh := q * capacity * (c.curve.MeanV(1-w.x, 1-left) + c.chargeDrop*c.grown(w.lnC(), w.age().years, w.age().cycles)) * w.m.series * math.Exp(in+day+math.Hypot(small, .003)*w.NormFloat64())
	w.h.Charges = append(w.h.Charges, &logbook.Charge{
		Head: logbook.Head{ID: fmt.Sprintf("c%03d", i), Rev: 1}, Pack: w.h.Pack.ID, Start: start, At: w.now, Full: logbook.Yes, HoldMin: logbook.Some(60),
		ChargedAh: logbook.Some(math.Round(ah*1000) / 1000), ChargedWh: logbook.Some(math.Round(wh*100) / 100), PackC: logbook.Some(20),
	})
	w.x = left
	w.now = w.now.Add(time.Minute)
}

func (w *sbcWriter) check(i int) {
	c := &w.truth.cell
	a := w.age()
	ohm := w.m.series * c.groupOhm(w.lnC(), a.years, a.cycles) * c.thermal.Factor(20) * law.LowCharge(.5, c.steepness)
	w.h.Checks = append(w.h.Checks, &logbook.Check{
		Head: logbook.Head{ID: fmt.Sprintf("k%03d", i), Rev: 1}, Pack: w.h.Pack.ID, At: w.now, SocPct: logbook.Some(50), PackC: logbook.Some(20),
		ResistanceMohm: logbook.Some(math.Round(1e5*ohm*math.Exp(math.Hypot(.04, .015)*w.NormFloat64())) / 100),
	})
	w.now = w.now.Add(time.Minute)
}

func (w *sbcWriter) ride(i int) {
	c, m := &w.truth.cell, w.m
	a, lnC := w.age(), w.lnC()
	capacity := math.Exp(lnC)
	air, kmh := 8+20*w.Float64(), 18+12*w.Float64()
	t := c.heatOnWhole(air)
	t = t.at(t.mean + wholeWarmSd*w.NormFloat64())
	trip := law.Trip{MassKg: 94, AirC: air, SpeedMs: kmh / law.KmhPerMs, SpeedVarMs2: square(3 / law.KmhPerMs)}
	load := math.Log(c.road.WhPerKm(trip))
	limitNoise, roadNoise, day, whNoise := priorScales.limit*w.NormFloat64(), math.Hypot(priorScales.consumption, .005)*w.NormFloat64(), priorScales.meter*w.NormFloat64(), .003*w.NormFloat64()
	long := c.groupOhm(lnC, a.years, a.cycles) * c.ohmsAt(t.mean).long
	q, wh, km := 0.0, 0.0, 0.0
	ampere := math.Exp(load) * kmh / (m.chem.NominalV * m.series)
	for range 30 { // the current that the log shows: Ah over hours
		atLimit := c.toLimitAh(m, lnC, a.years, a.cycles, t.end, ampere, c.peak, m.ref.limitV, m.ref.fullV) / capacity
		q = atLimit - w.x - limitNoise
		volts := c.curve.MeanV(1-w.x, 1-w.x-q) - ampere*long*law.MeanLowCharge(1-w.x, max(1-w.x-q, 0), c.steepness)
		wh = q * capacity * volts * m.series
		km = wh / math.Exp(load) * math.Exp(roadNoise)
		ampere = q * capacity * math.Exp(day) / (km / kmh)
	}
	start := w.now
	w.now = w.now.Add(time.Duration(km / kmh * float64(time.Hour)))
	w.h.Rides = append(w.h.Rides, &logbook.Ride{
		Head: logbook.Head{ID: fmt.Sprintf("r%03d", i), Rev: 1}, Pack: w.h.Pack.ID, At: start, End: w.now, Stop: "limit", AmbientC: logbook.Some(air), MovingSpeedKmh: logbook.Some(kmh), SpeedSdKmh: logbook.Some(3),
		DistanceKm: logbook.Some(math.Round(1000*km) / 1000), DischargedAh: logbook.Some(math.Round(1000*q*capacity*math.Exp(day)) / 1000), DischargedWh: logbook.Some(math.Round(100*wh*math.Exp(day+whNoise)) / 100),
		RiderKg: logbook.Some(80), TyreKpa: logbook.Some(300), HeadwindKmh: logbook.Some(0), ClimbM: logbook.Some(0), DescentM: logbook.Some(0),
	})
	w.x += q
	w.through += q * capacity
	w.recent++
	w.now = w.now.Add(time.Minute)
}

// TestDrawsAreCalibrated: simulation-based calibration (S. Talts et al. 2018,
// arXiv:1804.06788). Packs drawn from the priors write small logs by the
// model's own laws; the ranks of their true figures among the draws of the fit
// are uniform. Chi-square over ten bins at the 0.1 % level, a figure at a time.
// What the fit does not share with such a pack (misreadings, doubt about the
// law) is drawn for the truth as well. Over 3,200 logs they still
// are for capacity (chi-square 11.2) and resistance (17.8); consumption is low by a tenth
// of its spread (53).
func TestDrawsAreCalibrated(t *testing.T) {
	n := 150
	if long, err := strconv.Atoi(os.Getenv("PACKWANE_LONG")); err == nil && long > 0 {
		n = 8 * long
	}
	const bins = 10
	ranks := map[string][]float64{}
	add := func(name string, draws Draws, truth float64) {
		sorted := slices.Sorted(slices.Values(draws))
		below, _ := slices.BinarySearch(sorted, truth)
		ranks[name] = append(ranks[name], float64(below)/float64(len(sorted)+1))
	}
	for seed := range n {
		h, truth := sbcLog(uint64(seed), 12)
		fit := FitHistory(h, nil)
		now := fit.At(h.AsOf)
		a := age{years: h.AsOf.Sub(h.Pack.InService).Hours() / 24 / yearDays}
		for _, r := range h.Rides {
			a.cycles += r.DischargedAh.V / fit.m.ratedAh
		}
		lnC, _ := truth.fade.lnC(a.cycles, a.years)
		truth.cell.sag(math.Exp(truth.drop))
		ref := truth.cell.reference(fit.m, lnC+truth.departure+truth.capacity, a.years, a.cycles, even(fit.m.ref.packC), &fit.m.ref.trip)
		add("capacity", now.CapacityAh, ref.ah)
		add("consumption", now.WhPerKm, ref.whPerKm*math.Exp(truth.road*fit.roadDoubt()/discrepancy.road))
		add("resistance", now.ResistanceMohm, 1000*fit.m.series*truth.cell.groupOhm(lnC+truth.departure, a.years, a.cycles)*math.Exp(truth.resist*fit.resistanceDoubt()/discrepancy.resistance))
	}
	limit := distuv.ChiSquared{K: bins - 1}.Quantile(.999)
	for name, list := range ranks {
		count := make([]float64, bins)
		for _, r := range list {
			count[min(int(r*bins), bins-1)]++
		}
		chi, want := 0.0, float64(len(list))/bins
		for _, c := range count {
			chi += square(c-want) / want
		}
		t.Logf("%s: ranks of %d logs in tenths %v, chi-square %.1f (at most %.1f)", name, len(list), count, chi, limit)
		if chi > limit {
			t.Errorf("%s: chi-square of the ranks %.1f, want at most %.1f: %v", name, chi, limit, count)
		}
	}
}
