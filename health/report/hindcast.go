package report

import (
	"math"
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// Hindcast is the answer to "how good were the forecasts?": the model is
// fitted to the log as it was at past dates, and what it then expected of
// later measurements is held against them.
type Hindcast struct {
	Pack           string     `json:"pack"`
	AsOf           string     `json:"as_of"`
	Forecasts      []Forecast `json:"forecasts"`
	Coverage       *float64   `json:"coverage"` // share of measurements within their 90 % interval
	MedianErrorPct *float64   `json:"median_error_pct"`
	IntervalScore  *float64   `json:"interval_score_pct"` // mean 90 % interval score over the measured value, percent: lower is better
	Baselines      []Baseline `json:"baselines"`
	Warnings       []Warning  `json:"warnings"`
}

// Forecast is one prediction of one measurement.
type Forecast struct {
	MadeAt   string   `json:"made_at"`
	For      string   `json:"for"`
	Record   string   `json:"record"`
	Quantity string   `json:"quantity"`
	Forecast Estimate `json:"forecast"`
	Came     float64  `json:"came"`
}

// Baseline is what a plain method would have said of the same measurements.
type Baseline struct {
	Method         string  `json:"method"`
	Forecasts      int     `json:"forecasts"`
	MedianErrorPct float64 `json:"median_error_pct"`
}

// hindcastDates is how many past dates are tried, hindcastAhead how many
// later measurements of a kind are scored for each.
const (
	hindcastDates = 6
	hindcastAhead = 8
)

// Fitter fits a model to a history; the caller may keep fits.
type Fitter func(*logbook.History) *model.Fit

// HindcastOf refits at past dates spread evenly over the later measurements.
func HindcastOf(h *logbook.History, fit Fitter) *Hindcast {
	out := &Hindcast{Pack: h.Pack.ID, AsOf: logbook.FormatTime(h.AsOf), Forecasts: []Forecast{}, Baselines: []Baseline{}, Warnings: []Warning{}}
	tests := measurements(h)
	if len(tests) < 4 {
		out.Warnings = append(out.Warnings, Warning{Code: "too_few_tests", Text: "a hindcast needs at least four full rides or resistance checks: log rides from full to the limit"})
		return out
	}
	records := everyRecord(h)
	base := newBaselines()
	last := 0
	for i := range hindcastDates {
		first := len(tests)/4 + i*(len(tests)*3/4)/hindcastDates
		if first < 2 || first >= len(tests) || first == last || i > 0 && tests[first].at.Equal(tests[first-1].at) {
			continue
		}
		last = first
		madeAt := tests[first-1].at
		past, err := logbook.NewHistory(h.Pack.ID, records, madeAt)
		if err != nil {
			continue
		}
		f := fit(past)
		later := slices.DeleteFunc(slices.Clone(tests[first:]), func(m measurement) bool { return changedSince(h, madeAt, m) })
		out.score(f, madeAt, later, base, tests[:first])
	}
	out.summarise(base)
	return out
}

// measurement is one figure that a forecast can be held against.
type measurement struct {
	at       time.Time
	record   logbook.Record
	quantity string
	came     float64
}

// measurements lists the full rides and the resistance checks in order of
// their ends.
func measurements(h *logbook.History) []measurement {
	var out []measurement
	full := startedFull(h)
	for _, r := range h.Rides {
		if r.Stop != "limit" || !full[r] {
			continue
		}
		at := logbook.EndOf(r)
		switch {
		case r.DistanceKm.OK && r.DistanceKm.V > 0:
			out = append(out, measurement{at, r, "distance_km", r.DistanceKm.V})
		case r.DischargedAh.OK && r.DischargedAh.V > 0:
			out = append(out, measurement{at, r, "discharged_ah", r.DischargedAh.V})
		}
	}
	for _, c := range h.Checks {
		if v := model.MeasuredMohm(c); v > 0 {
			out = append(out, measurement{c.At, c, "resistance_mohm", v})
		}
	}
	slices.SortStableFunc(out, func(a, b measurement) int { return a.at.Compare(b.at) })
	return out
}

// changedSince reports whether the pack, or the board of a ride, was set up anew or the
// cells replaced between a forecast and what it is held against: that could not be
// foreseen.
func changedSince(h *logbook.History, madeAt time.Time, m measurement) bool {
	if at := replacedAt(h); madeAt.Before(at) && !m.at.Before(at) {
		return true // other cells
	}
	ride, isRide := m.record.(*logbook.Ride)
	return isRide && (h.PackAt(madeAt) != h.PackAt(ride.At) || h.BoardAt(h.RideBoard(ride), madeAt) != h.BoardAt(h.RideBoard(ride), ride.At))
}

// startedFull tells which rides began right after a charge that finished, or
// in a log without charges.
func startedFull(h *logbook.History) map[*logbook.Ride]bool {
	out := make(map[*logbook.Ride]bool, len(h.Rides))
	next, full := 0, len(h.Charges) == 0
	for _, r := range h.Rides {
		for next < len(h.Charges) && !h.Charges[next].At.After(r.At) {
			full = h.Charges[next].Full == logbook.Yes
			next++
		}
		out[r] = full
		full = len(h.Charges) == 0
	}
	return out
}

func (out *Hindcast) score(f *model.Fit, madeAt time.Time, later []measurement, base *baselines, earlier []measurement) {
	known := f.Known()
	seen := map[string]int{}
	for _, m := range later {
		if seen[m.quantity] >= hindcastAhead {
			continue
		}
		var d model.Draws
		switch r := m.record.(type) {
		case *logbook.Ride:
			p := f.Predict(r)
			if d = p.DischargedAh; m.quantity == "distance_km" {
				d = p.DistanceKm
			}
			if !known.Capacity || m.quantity == "distance_km" && !known.Road {
				continue
			}
		case *logbook.Check:
			if !known.Resistance {
				continue
			}
			d = f.PredictCheck(r)
		}
		e := estimate(d)
		if e == nil || e.Low == nil || e.High == nil {
			continue // nothing that a measurement could be held against
		}
		seen[m.quantity]++
		out.Forecasts = append(out.Forecasts, Forecast{logbook.FormatTime(madeAt), logbook.FormatTime(m.at), logbook.HeadOf(m.record).ID, m.quantity, *e, tidy(m.came)})
		base.add(m, earlier)
	}
}

func (out *Hindcast) summarise(base *baselines) {
	n := float64(len(out.Forecasts))
	if n == 0 {
		out.Warnings = append(out.Warnings, Warning{Code: "nothing_to_score", Text: "at no past date did the log tell enough for a forecast"})
		return
	}
	hits, score := 0.0, 0.0
	errs := make([]float64, 0, len(out.Forecasts))
	for _, f := range out.Forecasts {
		low, high := *f.Forecast.Low, *f.Forecast.High
		if f.Within() {
			hits++
		}
		errs = append(errs, f.ErrorPct())
		score += IntervalScore(low, high, f.Came, 1-Confidence) / f.Came * 100 / n
	}
	coverage, mid, mean := hits/n, middle(errs), tidy(score)
	out.Coverage, out.MedianErrorPct, out.IntervalScore = &coverage, &mid, &mean
	out.Baselines = base.summary()
}

// IntervalScore is the score of a central 1-alpha interval: its width, and
// 2/alpha times how far the value lies outside (T. Gneiting, A. Raftery 2007,
// J. Am. Stat. Assoc. 102, 359). Lower is better.
func IntervalScore(low, high, came, alpha float64) float64 {
	return high - low + 2/alpha*max(low-came, came-high, 0)
}

func middle(v []float64) float64 { return tidy(model.Quantile(v, .5)) }

// baselines are what a spreadsheet would have said.
type baselines struct{ last, line []float64 }

func newBaselines() *baselines { return &baselines{} }

// add holds a measurement against the mean of the last three of its kind and
// against a straight line through all of them.
func (b *baselines) add(m measurement, earlier []measurement) {
	var x, y []float64
	for _, e := range earlier {
		if e.quantity == m.quantity {
			x, y = append(x, e.at.Sub(m.at).Hours()), append(y, e.came)
		}
	}
	if len(y) < 3 {
		return
	}
	mean := (y[len(y)-1] + y[len(y)-2] + y[len(y)-3]) / 3
	b.last = append(b.last, 100*math.Abs(mean/m.came-1))
	var sx, sy, sxx, sxy float64
	n := float64(len(x))
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	if d := n*sxx - sx*sx; d > 0 {
		slope := (n*sxy - sx*sy) / d
		b.line = append(b.line, 100*math.Abs((sy-slope*sx)/n/m.came-1)) // the line at x = 0, the time of m
	}
}

func (b *baselines) summary() []Baseline {
	out := []Baseline{}
	if len(b.last) > 0 {
		out = append(out, Baseline{"mean of the last three", len(b.last), middle(b.last)})
	}
	if len(b.line) > 0 {
		out = append(out, Baseline{"straight line", len(b.line), middle(b.line)})
	}
	return out
}
