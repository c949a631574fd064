package model_test

import (
	"math"
	"slices"
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

// TestAnotherBoard: every fourth ride is on a second board, on which the same energy goes
// a sixth less far. A ride on it that ended on the way is told to go as far as one to
// the limit does there, its board's share once; where the second board becomes the
// usual one, the range is its own; and a board that nobody ever rode leaves it open.
func TestAnotherBoard(t *testing.T) {
	const farther = 5.0 / 6
	pack, records, end := shortLog(t, simulate.Rich, 2)
	usual := ""
	fitOf := func(board string) (*logbook.History, *model.Fit) {
		all, n := copiesOf(t, records), 0
		for _, r := range all {
			switch r := r.(type) {
			case *logbook.Pack:
				usual, r.Board = r.Board, board
			case *logbook.Ride:
				r.OdometerKm, r.MovingMin = logbook.Num{}, logbook.Num{}
				if r.Board = usual; n%4 == 0 {
					r.Board = "second"
					r.DistanceKm.V *= farther
				}
				n++
			}
		}
		for _, r := range records {
			if b, ok := r.(*logbook.Board); ok {
				for _, id := range []string{"second", "third"} {
					other := *b
					other.ID = id
					all = append(all, &other)
				}
			}
		}
		h, err := logbook.NewHistory(pack, all, end)
		if err != nil {
			t.Fatal(err)
		}
		return h, model.FitHistory(h, nil)
	}
	rangeOf := func(f *model.Fit) (mid, half float64) {
		d := f.At(end).RangeKm
		return model.Quantile(d, .5), (model.Quantile(d, .95) - model.Quantile(d, .05)) / 2
	}
	for _, r := range records {
		if p, ok := r.(*logbook.Pack); ok {
			usual = p.Board
		}
	}
	h, fit := fitOf(usual)
	first, _ := rangeOf(fit)
	// goes is how far rides on a board go that ended on the way, started full, of a full
	// charge as new: the middle of the latest forty.
	goes := func(board string) float64 {
		var shares []float64
		for _, r := range slices.Backward(h.Rides) {
			if r.Board != board || r.Stop == "limit" || len(shares) == 40 {
				continue
			}
			if x, ok := fit.Explain(r); ok && x.Residual {
				shares = append(shares, (model.Quantile(x.RideKm, .5)-model.Quantile(x.Km[8], .5))/model.Quantile(x.ReferenceKm, .5))
			}
		}
		return middleOf(shares)
	}
	if got := goes("second") / goes(usual); !(math.Abs(got/farther-1) < .05) {
		t.Errorf("rides on the second board go %.3f of the way of the first, want %.3f", got, farther)
	}
	_, fit = fitOf("second")
	second, half := rangeOf(fit)
	t.Logf("%.2f km on the first, %.2f ± %.2f km on the second", first, second, half)
	if math.Abs(second/first/farther-1) > .03 || half > .07*second {
		t.Errorf("%.2f ± %.2f km on the second board, want %.2f", second, half, farther*first)
	}
	_, fit = fitOf("third")
	if third, half := rangeOf(fit); half < .15*third {
		t.Errorf("%.2f ± %.2f km on a board that nobody rode", third, half)
	}
}

// TestPackWithoutABoard: where the pack names no usual board, the reference is the one that
// it was ridden on, and known as well.
func TestPackWithoutABoard(t *testing.T) {
	pack, records, end := shortLog(t, simulate.Rich, 3)
	rangeOf := func(named bool) (mid, half float64) {
		all := copiesOf(t, records)
		usual := ""
		for _, r := range all {
			if p, ok := r.(*logbook.Pack); ok {
				if usual = p.Board; !named {
					p.Board = ""
				}
			}
		}
		for _, r := range all {
			if ride, ok := r.(*logbook.Ride); ok {
				ride.Board = usual
			}
		}
		h, err := logbook.NewHistory(pack, all, end)
		if err != nil {
			t.Fatal(err)
		}
		d := model.FitHistory(h, nil).At(end).RangeKm
		return model.Quantile(d, .5), (model.Quantile(d, .95) - model.Quantile(d, .05)) / 2
	}
	with, half := rangeOf(true)
	without, open := rangeOf(false)
	if math.Abs(without/with-1) > .005 || math.Abs(open/half-1) > .2 {
		t.Errorf("%.2f ± %.2f km without a usual board, %.2f ± %.2f km with it", without, open, with, half)
	}
}
