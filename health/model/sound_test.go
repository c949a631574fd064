package model_test

import (
	"encoding/json"
	"fmt"
	"math"
	"runtime/debug"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
)

// soundness asks everything of the fit of one log and returns what is wrong
// with the answers: a panic, a NaN where a figure must be, an interval that
// does not hold its value, a document that JSON cannot hold. Deep asks for what
// takes long, too: courses, and the causes of several rides.
func soundness(pack string, records []logbook.Record, asOf time.Time, deep bool) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v\n%s", r, debug.Stack())
		}
	}()
	h, err := logbook.NewHistory(pack, records, asOf)
	if err != nil {
		return err
	}
	fit := model.FitHistory(h, nil)
	s := &sounder{deep: deep}
	s.snapshot("now", fit, fit.At(asOf))
	s.snapshot("in a year", fit, fit.At(asOf.AddDate(1, 0, 0)))
	s.snapshot("in 30 years", fit, fit.At(asOf.AddDate(30, 0, 0)))
	s.life(fit)
	s.rest(h, fit)
	s.road(h, fit)
	s.documents(h, fit)
	return s.err
}

type sounder struct {
	err  error
	deep bool
}

func (s *sounder) wrong(format string, args ...any) {
	if s.err == nil {
		s.err = fmt.Errorf(format, args...)
	}
}

// finite demands draws that are all finite numbers within bounds.
func (s *sounder) finite(what string, d model.Draws, low, high float64) {
	if len(d) != model.DefaultDraws {
		s.wrong("%s: %d draws, want %d", what, len(d), model.DefaultDraws)
	}
	for i, v := range d {
		if !(v >= low && v <= high) || math.IsInf(v, 0) {
			s.wrong("%s: draw %d is %v, want %v to %v", what, i, v, low, high)
			return
		}
	}
	s.ordered(what, d)
}

// ordered demands quantiles that do not fall.
func (s *sounder) ordered(what string, d model.Draws) {
	l, m, h := model.Quantile(d, .05), model.Quantile(d, .5), model.Quantile(d, .95)
	if l > m || m > h {
		s.wrong("%s: quantiles %v, %v, %v do not rise", what, l, m, h)
	}
}

func (s *sounder) absent(what string, d model.Draws) {
	for i, v := range d {
		if !math.IsNaN(v) {
			s.wrong("%s: draw %d of a bench is %v, want NaN", what, i, v)
			return
		}
	}
}

const huge = math.MaxFloat64

func (s *sounder) snapshot(when string, fit *model.Fit, p model.Snapshot) {
	at := func(name string) string { return name + " " + when }
	s.finite(at("CapacityAh"), p.CapacityAh, 0, huge)
	s.finite(at("CapacityWh"), p.CapacityWh, 0, huge)
	s.finite(at("SohPct"), p.SohPct, 0, huge)
	s.finite(at("ResistanceMohm"), p.ResistanceMohm, 0, huge)
	s.finite(at("GrowthPct"), p.GrowthPct, -100, huge)
	s.finite(at("EquivalentFullCycles"), p.EquivalentFullCycles, -1e-6, huge)
	s.finite(at("TotalAh"), p.TotalAh, -1e-6, huge)
	s.finite(at("TotalKwh"), p.TotalKwh, -1e-6, huge)
	road := s.finite
	if fit.Bench() {
		road = func(what string, d model.Draws, _, _ float64) { s.absent(what, d) }
	}
	road(at("RangeKm"), p.RangeKm, 0, huge)
	road(at("NextTestKm"), p.NextTestKm, 0, huge)
	road(at("WhPerKm"), p.WhPerKm, 0, huge)
}

// life asks for ends of life: an end may never come, but it is never NaN.
func (s *sounder) life(fit *model.Fit) {
	for _, level := range []float64{.99, .8, .7, .01} {
		cycles, day := fit.EndOfLife(level)
		for i := range cycles {
			if math.IsNaN(cycles[i]) || cycles[i] < -1e-6 || math.IsNaN(day[i]) || math.IsInf(day[i], -1) {
				s.wrong("EndOfLife(%g): draw %d is cycle %v, day %v", level, i, cycles[i], day[i])
			}
		}
		s.ordered("EndOfLife cycles", cycles)
		s.ordered("EndOfLife day", day)
	}
	f := fit.Fade()
	s.finite("CycleLossPct", f.CycleLossPct, -huge, huge)
	s.finite("CalendarLossPct", f.CalendarLossPct, 0, huge)
	s.finite("CyclesTo80", f.CyclesTo80, 0, huge)
	total := 0.0
	for _, share := range f.Families {
		total += share
	}
	if math.Abs(total-1) > 1e-9 {
		s.wrong("shares of the families add up to %v", total)
	}
}

// rest asks for everything else that a fit answers.
func (s *sounder) rest(h *logbook.History, fit *model.Fit) {
	s.finite("RoundTripPct", fit.RoundTripPct(), 0, huge)
	s.finite("SelfDischargePctMonth", fit.SelfDischargePctMonth(), 0, huge)
	s.finite("StandbyW", fit.StandbyW(), 0, huge)
	if v := fit.TestScatter(); !(v > 0) || math.IsInf(v, 0) {
		s.wrong("TestScatter %v", v)
	}
	season := fit.SeasonRangeKm(h.AsOf.AddDate(0, 6, 0))
	if fit.Bench() {
		s.absent("SeasonRangeKm", season)
	} else {
		s.finite("SeasonRangeKm", season, 0, huge)
	}
	if c, sd := fit.UsualAirC(h.AsOf); math.IsNaN(c) || !(sd > 0) {
		s.wrong("UsualAirC %v, %v", c, sd)
	}
	for _, days := range []int{-100000, -400, -30, 0, 30, 4000} {
		ah, mohm := fit.Course(h.AsOf.AddDate(0, 0, days))
		s.finite(fmt.Sprint("Course Ah ", days), ah, 0, huge)
		s.finite(fmt.Sprint("Course mohm ", days), mohm, 0, huge)
	}
	for _, t := range fit.Tests() {
		for name, v := range map[string]float64{"CapacityAh": t.CapacityAh, "CapacityWh": t.CapacityWh, "RangeKm": t.RangeKm, "ResistanceMohm": t.ResistanceMohm} {
			if math.IsInf(v, 0) || v < 0 {
				s.wrong("test %s: %s %v", logbook.HeadOf(t.Record).ID, name, v)
			}
		}
	}
	for _, m := range fit.Misreadings() {
		if math.IsNaN(m.Figure) || math.IsNaN(m.Expected) || math.IsInf(m.Expected, 0) || !(m.Surprise >= 0) || m.Field == "" {
			s.wrong("misreading %+v", m)
		}
	}
	for i, r := range h.Rides {
		if i > 3 {
			break
		}
		p := fit.Predict(r)
		s.finite("Predict Ah", p.DischargedAh, 0, huge)
		s.finite("Predict Wh", p.DischargedWh, 0, huge)
		if r.DistanceKm.V > 0 {
			s.finite("Predict Wh/km", p.WhPerKm, 0, huge)
			s.finite("Predict km", p.DistanceKm, 0, huge)
		}
	}
	for i, c := range h.Checks {
		if i > 3 {
			break
		}
		s.finite("PredictCheck", fit.PredictCheck(c), 0, huge)
	}
}

// road asks for full cycles in other conditions, for the causes of rides and
// for what is left under way.
func (s *sounder) road(h *logbook.History, fit *model.Fit) {
	if s, ok := fit.Sibling(); ok && (math.IsNaN(s.LnLife) || math.IsInf(s.LnLife, 0) || !(s.LnLifeSd > 0)) {
		panic(fmt.Sprintf("sibling %+v", s))
	}
	for _, r := range fit.Repeats() {
		if math.IsNaN(r.Ln) || math.IsInf(r.Ln, 0) {
			s.wrong("repeat of %s: %v", r.Ride.ID, r.Ln)
		}
	}
	if fit.Bench() {
		return
	}
	some := logbook.Some
	way := model.Way{AirC: some(-5), Warmed: true, SpeedKmh: some(32), RiderKg: some(95), TyreKpa: some(250), HeadwindKmh: some(12), ClimbMPerKm: some(9), DescentMPerKm: some(9)}
	for name, w := range map[string]model.Way{"reference": {}, "hard": way} {
		g := fit.Go(w)
		s.finite(name+" way: Ah", g.CapacityAh, 0, huge)
		s.finite(name+" way: Wh", g.CapacityWh, 0, huge)
		s.finite(name+" way: km", g.RangeKm, 0, huge)
		s.finite(name+" way: Wh/km", g.WhPerKm, 0, huge)
	}
	for i, r := range h.Rides {
		if i > 0 && !s.deep || i > 3 {
			break
		}
		if g, ok := fit.RideAs(r, way); ok {
			s.finite("RideAs km", g.RangeKm, 0, huge)
		}
		if x, ok := fit.Explain(r); ok {
			s.finite("Explain reference", x.ReferenceKm, 0, huge)
			s.finite("Explain ride", x.RideKm, 0, huge)
			s.finite("Explain rest", x.UnexplainedKm, -huge, huge)
			for _, km := range x.Km {
				s.finite("Explain cause", km, -huge, huge)
			}
		}
	}
	full, limit := fit.RestSpan()
	for _, st := range []model.Standing{
		{Risk: .05}, {RestV: some((full + limit) / 2), Risk: .05}, {RestV: some(.01), RestedMin: some(0), UsedAh: some(1e4), OutKm: some(30), Way: way, Risk: .5},
		{RestV: some(1500), UsedAh: some(.1), OutKm: some(0), ClimbM: 1000, Risk: .01},
	} {
		r := fit.Reach(st)
		s.finite("Reach Wh", r.RemainingWh, 0, huge)
		s.finite("Reach km", r.RemainingKm, 0, huge)
		s.finite("Reach this ride", r.ThisRideKm, 0, huge)
		if !(r.HomeShare >= 0 && r.HomeShare <= 1) || !(r.TurnBackKm >= 0) || math.IsNaN(r.TurnBackV) != (r.BelowLimit || !h.Pack.Series.OK) || math.IsInf(r.TurnBackKm, 0) {
			s.wrong("Reach %+v: home share %v, turn back at %v km, %v V", st, r.HomeShare, r.TurnBackKm, r.TurnBackV)
		}
	}
}

// documents encodes what the reports say and looks at every estimate in them.
func (s *sounder) documents(h *logbook.History, fit *model.Fit) {
	again := func(past *logbook.History) *model.Fit { return model.FitHistory(past, nil) }
	documents := map[string]any{"health": report.HealthOf(h, fit), "outlook": report.OutlookOf(h, fit, 2)}
	if s.deep {
		documents["outlook"], documents["course"], documents["consumption"] = report.OutlookOf(h, fit, 24), report.CourseOf(h, fit, 12, again), report.ConsumptionOf(h, fit)
		documents["hindcast"] = report.HindcastOf(h, again)
	}
	for name, doc := range documents {
		raw, err := json.Marshal(doc)
		if err != nil {
			s.wrong("%s: %v", name, err)
			continue
		}
		var tree any
		if err := json.Unmarshal(raw, &tree); err != nil {
			s.wrong("%s: %v", name, err)
		}
		s.estimates(name, tree)
	}
}

// estimates walks a document and demands low <= value <= high everywhere.
func (s *sounder) estimates(where string, tree any) {
	switch t := tree.(type) {
	case []any:
		for i, v := range t {
			s.estimates(fmt.Sprintf("%s[%d]", where, i), v)
		}
	case map[string]any:
		if v, ok := t["value"].(float64); ok {
			low, isLow := t["low"].(float64)
			high, isHigh := t["high"].(float64)
			if isLow && low > v || isHigh && high < v {
				s.wrong("%s: %v does not hold its value", where, t)
			}
		}
		if v, ok := t["value"].(string); ok { // dates compare as texts
			low, isLow := t["low"].(string)
			high, isHigh := t["high"].(string)
			if isLow && low > v || isHigh && high < v {
				s.wrong("%s: %v does not hold its value", where, t)
			}
		}
		for k, v := range t {
			s.estimates(where+"."+k, v)
		}
	}
}

// TestAnyLog asks everything of the fits of many logs that only a bad keeper
// could write: no panic, no NaN, intervals that hold their value.
func TestAnyLog(t *testing.T) {
	inParallel(envCount("PACKWANE_LONG", 60), func(seed int) {
		records, asOf := model.AnyLog(uint64(seed))
		if err := soundness(model.AnyPack, records, asOf, seed%3 == 0); err != nil {
			t.Errorf("seed %d, %d records: %v", seed, len(records), err)
		}
	})
}

// FuzzAnyLog does the same for any seed.
func FuzzAnyLog(f *testing.F) {
	for seed := range uint64(8) {
		f.Add(1000 + seed)
	}
	f.Fuzz(func(t *testing.T, seed uint64) {
		records, asOf := model.AnyLog(seed)
		if err := soundness(model.AnyPack, records, asOf, seed%3 == 0); err != nil {
			t.Fatal(err)
		}
	})
}
