package report

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"packwane/health/logbook"
	"packwane/health/model"
)

// Plan is the answer to "how many range tests tell that difference apart?".
type Plan struct {
	Packs           []string     `json:"packs"`
	AsOf            string       `json:"as_of"`
	DifferenceKm    float64      `json:"difference_km"`
	Paired          bool         `json:"paired"`
	RangeKm         *Estimate    `json:"range_km"`         // of one full charge, the mean of the packs
	RepeatabilityKm *Estimate    `json:"repeatability_km"` // standard deviation of one corrected test
	TestsUsed       int          `json:"tests_used"`       // of the logs
	PairsUsed       int          `json:"pairs_used"`
	TestsEach       *int         `json:"tests_each"` // outings where paired
	TestsEachLow    *int         `json:"tests_each_low"`
	TestsEachHigh   *int         `json:"tests_each_high"` // by the bounds of repeatability_km
	LevelPct        float64      `json:"level_pct"`
	PowerPct        float64      `json:"power_pct"`
	DetectableKm    []Detectable `json:"detectable_km"`
	Power           []PowerPoint `json:"power"`
	Warnings        []Warning    `json:"warnings"`
}

// Detectable is the difference that so many tests each tell apart.
type Detectable struct {
	Tests int     `json:"tests"`
	Km    float64 `json:"km"`
}

// PowerPoint is how often so many tests each find the difference.
type PowerPoint struct {
	Tests    int     `json:"tests"`
	PowerPct float64 `json:"power_pct"`
}

var planTests = []int{2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30}

// The weight of what is known of such tests before any was ridden, in tests,
// and the share of the day in their scatter then.
const (
	priorTests    = 4.0
	priorDayShare = .4
)

// spreadOf is a standard deviation with the readings that it stands on.
type spreadOf struct{ sd, dof float64 }

// estimate gives its interval: dof·s²/σ² is χ²-distributed.
func (s spreadOf) estimate() *Estimate {
	chi := distuv.ChiSquared{K: s.dof}
	return &Estimate{
		Value: tidy(s.sd), Low: bound(s.sd * math.Sqrt(s.dof/chi.Quantile((1+Confidence)/2))), High: bound(s.sd * math.Sqrt(s.dof/chi.Quantile((1-Confidence)/2))),
		Confidence: Confidence,
	}
}

func (s spreadOf) scaled(by float64) spreadOf { return spreadOf{s.sd * by, s.dof} }

// deviation is the standard deviation of values about their mean (or about 0 for
// free = 0), drawn towards a prior.
func deviation(v []float64, free float64, prior float64) spreadOf {
	mean, sum := 0.0, 0.0
	if free > 0 {
		for _, x := range v {
			mean += x / float64(len(v))
		}
	}
	for _, x := range v {
		sum += (x - mean) * (x - mean)
	}
	dof := max(float64(len(v))-free, 0) + priorTests
	return spreadOf{math.Sqrt((sum + priorTests*prior*prior) / dof), dof}
}

// PlanOf plans tests of two packs (or of one pack against itself after a
// change) for a difference in km. Paired tests ride both on the same outing.
func PlanOf(packs []Known, differenceKm float64, paired bool) *Plan {
	p := &Plan{AsOf: logbook.FormatTime(packs[0].History.AsOf), DifferenceKm: differenceKm, Paired: paired, LevelPct: 100 * planLevel, PowerPct: 100 * planPower,
		DetectableKm: []Detectable{}, Power: []PowerPoint{}, Warnings: []Warning{}}
	km := make(model.Draws, 0)
	for _, k := range packs {
		p.Packs = append(p.Packs, k.History.Pack.ID)
		known := k.Fit.Known()
		p.Warnings = append(p.Warnings, untold(k)...)
		if !known.Capacity || !known.Road || k.Fit.Bench() {
			return p
		}
		range_ := k.Fit.Apart(k.Fit.At(k.History.AsOf).RangeKm)
		if len(km) == 0 {
			km = make(model.Draws, len(range_))
		}
		for i, v := range range_ {
			km[i] += v / float64(len(packs))
		}
	}
	p.RangeKm = estimate(km)
	one := p.oneTest(packs)
	unit := one // what the difference is held against: one test, or the difference of a pair
	if paired {
		unit = p.ofPairs(packs, one)
		one = unit.scaled(1 / math.Sqrt2)
	}
	at := p.RangeKm.Value
	p.RepeatabilityKm = one.scaled(at).estimate()
	p.count(unit.scaled(at))
	return p
}

// oneTest is how far one corrected test lies from the mean of many, as a
// logarithm: pooled over the packs.
func (p *Plan) oneTest(packs []Known) spreadOf {
	var all []float64
	prior := 0.0
	for _, k := range packs {
		var own []float64
		for _, r := range k.Fit.Repeats() {
			own = append(own, r.Ln)
		}
		p.TestsUsed += len(own)
		mean := 0.0
		for _, v := range own {
			mean += v / float64(len(own))
		}
		for _, v := range own {
			all = append(all, v-mean)
		}
		prior += k.Fit.TestScatter() / float64(len(packs))
	}
	free := 0.0
	if len(all) > 0 {
		free = float64(len(packs))
	}
	s := deviation(all, 0, prior)
	s.dof = max(float64(len(all))-free, 0) + priorTests
	if p.TestsUsed < 4 {
		p.Warnings = append(p.Warnings, Warning{Code: "few_tests", Text: "the logs hold few rides from full to the limit: how well a test repeats is mostly what is usual"})
	}
	return s
}

// ofPairs is how far the difference of two tests of one outing lies from the
// mean difference.
func (p *Plan) ofPairs(packs []Known, one spreadOf) spreadOf {
	prior := one.sd * math.Sqrt(2*(1-priorDayShare))
	if len(packs) < 2 {
		p.Warnings = append(p.Warnings, Warning{Code: "no_pairs", Text: "one pack cannot be ridden against itself: what a day adds is taken as usual"})
		return spreadOf{prior, priorTests}
	}
	by := map[string]float64{}
	for _, r := range packs[0].Fit.Repeats() {
		if r.Ride.Session != "" {
			by[r.Ride.Session] = r.Ln
		}
	}
	var diffs []float64
	for _, r := range packs[1].Fit.Repeats() {
		if a, ok := by[r.Ride.Session]; ok && r.Ride.Session != "" {
			diffs = append(diffs, a-r.Ln)
		}
	}
	p.PairsUsed = len(diffs)
	if len(diffs) < 3 {
		p.Warnings = append(p.Warnings, Warning{Code: "few_pairs", Text: "the logs hold few tests of both packs on one outing (session): what a day adds is mostly what is usual"})
	}
	free := 0.0
	if len(diffs) > 1 {
		free = 1
	}
	return deviation(diffs, free, prior)
}

// count fills in the numbers of tests.
func (p *Plan) count(unit spreadOf) {
	e := unit.estimate()
	whole := func(sd float64) *int {
		n := testsFor(p.DifferenceKm/sd, p.Paired)
		if math.IsInf(n, 0) {
			return nil
		}
		k := int(math.Ceil(n - 1e-9))
		return &k
	}
	p.TestsEach, p.TestsEachLow, p.TestsEachHigh = whole(unit.sd), whole(*e.Low), whole(*e.High)
	if p.TestsEach == nil {
		p.Warnings = append(p.Warnings, Warning{Code: "too_many_tests", Text: "no number of tests that anyone would ride tells such a small difference apart"})
	}
	for _, n := range planTests {
		p.DetectableKm = append(p.DetectableKm, Detectable{n, tidy(detectable(n, p.Paired) * unit.sd)})
	}
	most := 30
	if p.TestsEach != nil {
		most = min(max(2*(*p.TestsEach), 12), 200)
	}
	for n := 2; n <= most; n += max(1, most/40) {
		p.Power = append(p.Power, PowerPoint{n, tidy(100 * testPower(float64(n), p.DifferenceKm/unit.sd, p.Paired))})
	}
}

// PowerAt is how often so many tests each find the difference, percent.
func (p *Plan) PowerAt(tests int) float64 {
	if p.RepeatabilityKm == nil || p.RepeatabilityKm.Value <= 0 {
		return 0
	}
	unit := p.RepeatabilityKm.Value
	if p.Paired {
		unit *= math.Sqrt2
	}
	return 100 * testPower(float64(tests), p.DifferenceKm/unit, p.Paired)
}
