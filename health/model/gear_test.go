package model_test

import (
	"math"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestOtherTyres: from the middle of a log on tyres roll better and the same energy
// goes 8 % farther. Where the log says when they were put on, the range is that of the
// new ones, a ride before tells what the old ones cost, and a board that is named
// instead is told apart as well.
func TestOtherTyres(t *testing.T) {
	const farther = 1.08
	pack, records, end := shortLog(t, simulate.Rich, 1)
	middle := end.AddDate(0, -6, 0)
	var h *logbook.History
	fitOf := func(change bool, more ...logbook.Record) *model.Fit {
		var err error
		all := append(copiesOf(t, records), more...)
		for _, r := range all {
			if r, ok := r.(*logbook.Ride); ok {
				r.OdometerKm, r.MovingMin = logbook.Num{}, logbook.Num{}
				if change && r.At.After(middle) {
					r.DistanceKm.V *= farther
				}
			}
		}
		if h, err = logbook.NewHistory(pack, all, end); err != nil {
			t.Fatal(err)
		}
		return model.FitHistory(h, nil)
	}
	km := func(f *model.Fit) (mid, half float64) {
		d := f.At(end).RangeKm
		return model.Quantile(d, .5), (model.Quantile(d, .95) - model.Quantile(d, .05)) / 2
	}
	before, _ := km(fitOf(false))
	unsaid, _ := km(fitOf(true))
	board := ""
	for _, r := range records {
		if r, ok := r.(*logbook.Ride); ok && r.Board != "" {
			board = r.Board
		}
	}
	said := fitOf(true, &logbook.Setup{Head: logbook.Head{ID: "tyres", Rev: 1}, Board: board, At: middle, Tyre: "slick"})
	after, half := km(said)
	t.Logf("%.2f km; after the change %.2f, and %.2f ± %.2f where it is said", before, unsaid, after, half)
	if math.Abs(after/before/farther-1) > .015 || half > .05*after {
		t.Errorf("%.2f ± %.2f km, want %.2f", after, half, farther*before)
	}
	if math.Abs(unsaid/before/farther-1) < 2*math.Abs(after/before/farther-1) {
		t.Error("saying so makes no difference: the change tests nothing")
	}

	// What the old tyres cost a ride before, to the limit and from full.
	var old *logbook.Ride
	for _, r := range h.Rides {
		if r.Stop == "limit" && r.At.Before(middle) {
			old = r
		}
	}
	x, ok := said.Explain(old)
	if !ok {
		t.Fatal("the ride is not explained")
	}
	cost := model.Quantile(x.Km[2], .5) / model.Quantile(x.ReferenceKm, .5)
	if want := 1/farther - 1; model.Causes[2] != "tyre_pressure" || math.Abs(cost-want) > .02 {
		t.Errorf("the old tyres made %.3f of the range, want %.3f", cost, want)
	}

	// New tyres that nobody has ridden yet leave the range open.
	_, plain := km(fitOf(false))
	_, doubt := km(fitOf(false, &logbook.Setup{Head: logbook.Head{ID: "tyres", Rev: 1}, Board: board, At: end.AddDate(0, 0, -1).Add(1), Tyre: "slick"}))
	if doubt < 2*plain {
		t.Errorf("± %.2f km with tyres that were never ridden, ± %.2f with those that were", doubt, plain)
	}
}
