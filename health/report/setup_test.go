package report

import (
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// setUpLater is the demo's pack whose limit is set anew half a year before the end, and the
// board's tyres a month later: volts up to the time are those of the old limit.
func setUpLater(t *testing.T) (h *logbook.History, changed time.Time) {
	t.Helper()
	all, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	changed = courseNow.AddDate(0, -6, 0)
	board := ""
	for _, r := range all {
		if p, ok := r.(*logbook.Pack); ok && p.ID == "wren-pack" {
			board = p.Board
		}
	}
	all = append(all,
		&logbook.Setup{Head: logbook.Head{ID: "raised", Rev: 1}, Pack: "wren-pack", At: changed, LimitV: logbook.Some(41)},
		&logbook.Setup{Head: logbook.Head{ID: "tyres", Rev: 1}, Board: board, At: changed.AddDate(0, 1, 0), Tyre: "other", MassKg: logbook.Some(40)})
	return pastOf(t, all, "wren-pack", courseNow), changed
}

// TestRidesAreHeldAgainstTheLimitOfTheirDay: none of before is a deep discharge by a limit
// that came later, and volts between the two are at rest only after a stop at the lower.
func TestRidesAreHeldAgainstTheLimitOfTheirDay(t *testing.T) {
	h, changed := setUpLater(t)
	deep := 0
	for _, r := range h.Rides {
		if r.At.Before(changed) && belowLimit(h, r) {
			t.Errorf("%s of %v went to %v V: by a limit of later", r.ID, r.At, r.MinV.V)
		}
		if !r.At.Before(changed) && belowLimit(h, r) {
			deep++
		}
	}
	if deep == 0 {
		t.Error("no ride since went below the new limit: nothing is tested")
	}
	a := &audit{h: h}
	old := &logbook.Ride{At: changed.Add(-time.Hour), Stop: "limit"}
	since := &logbook.Ride{At: changed.Add(time.Hour), Stop: "limit"}
	if !a.aboveLimit(old, 40) || a.aboveLimit(since, 40) {
		t.Error("40 V lie above the limit of before, not above that of since")
	}
	empty := func(r *logbook.Ride) string {
		return a.expected(model.Misreading{Record: r, Field: "end_rest_v", Expected: 40}, logbook.Field{}).in(0)
	}
	if got := empty(since); !strings.Contains(got, "empty") || strings.Contains(empty(old), "empty") {
		t.Errorf("40 V at rest: %q since, %q before", got, empty(old))
	}
}

// TestForecastsEndWithASetup: what was set up between a forecast and a ride could not be
// foreseen, and is not held against it.
func TestForecastsEndWithASetup(t *testing.T) {
	h, changed := setUpLater(t)
	got := HindcastOf(h, plainFit)
	rides := 0
	for _, f := range got.Forecasts {
		made, _ := time.Parse(time.RFC3339, f.MadeAt)
		came, _ := time.Parse(time.RFC3339, f.For)
		if f.Quantity == "resistance_mohm" {
			continue
		}
		rides++
		if made.Before(changed) && came.After(changed.Add(24*time.Hour)) {
			t.Errorf("%s of %s was forecast on %s, before the limit was raised", f.Record, f.For, f.MadeAt)
		}
	}
	if rides < 10 {
		t.Errorf("only %d rides are forecast", rides)
	}
}

// TestOtherGearIsNamed: a ride on other tyres than now says that they and not their pressure
// alone made the difference; compared with one since, each keeps the mass of its day.
func TestOtherGearIsNamed(t *testing.T) {
	h, changed := setUpLater(t)
	fit := plainFit(h)
	ends := func(after bool) *logbook.Ride {
		for _, r := range h.Rides {
			if _, ok := fit.RideAs(r, model.Way{}); ok && r.Stop == "limit" && r.At.After(changed.AddDate(0, 1, 1)) == after {
				return r
			}
		}
		t.Fatal("no ride to the limit")
		return nil
	}
	old, now := ends(false), ends(true)
	name := func(r *logbook.Ride) string {
		x, err := ExplainOf(h, fit, r)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range x.Causes {
			if c.Cause == "tyre_pressure" {
				return c.Name()
			}
		}
		return ""
	}
	if name(old) != "other tyres and their pressure" || name(now) != "tyre pressure" {
		t.Errorf("%q before, %q since", name(old), name(now))
	}
	known := Known{h, fit}
	entries := CompareRides([]RideOf{{known, old}, {known, now}}, Overrides{}).Entries
	_, way := conditionsOf(known, []Known{known}, Overrides{})
	way.Board = h.Pack.Board
	asNow, _ := fit.RideAs(old, way)
	way.SetUpAt = old.At
	asThen, _ := fit.RideAs(old, way)
	if got := entries[0].RangeKm.Value; got != estimate(asThen.RangeKm).Value || got == estimate(asNow.RangeKm).Value {
		t.Errorf("%v km; as the board was %v km, as it is now %v km", got, estimate(asThen.RangeKm).Value, estimate(asNow.RangeKm).Value)
	}
}

// TestUnloggedRestsAreDoubted: a rest before which the fit misses a ride is doubted in the
// losses of a whole log.
func TestUnloggedRestsAreDoubted(t *testing.T) {
	all, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	h := pastOf(t, all, "wren-pack", courseNow)
	// A rest of ten days at whose end a part of the charge is gone, as two more readings say.
	last := h.Rides[len(h.Rides)-1]
	end := logbook.EndOf(last)
	rest := func(id string, at time.Time, v float64) logbook.Record {
		return &logbook.Check{Head: logbook.Head{ID: id, Rev: 1}, Pack: "wren-pack", At: at, RestV: logbook.Some(v)}
	}
	h = pastOf(t, append(all, rest("z1", end.Add(5*time.Hour), 48), rest("z2", end.AddDate(0, 0, 10), 42.5), rest("z3", end.AddDate(0, 0, 11), 42.5), rest("z4", end.AddDate(0, 0, 12), 42.5)), "wren-pack", end.AddDate(0, 0, 13))
	fit := plainFit(h)
	rests := LossesOf(h, fit).Rests
	if n := len(rests); n == 0 || rests[n-1].Record != "z2" || !rests[n-1].Doubted {
		t.Errorf("the last rest: %+v", rests)
	}
	if aside := putAside(fit); aside.of(h.Checks[len(h.Checks)-3], "rest_v") || aside.of(h.Checks[len(h.Checks)-4], "rest_v") {
		t.Error("its volts were put aside: nothing is tested")
	}
}

// TestOtherCells: what was forecast of the old cells is not held against the new ones; and new
// cells that hold more than the record's rating, which nobody amended, are found to.
func TestOtherCells(t *testing.T) {
	all, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	changed := courseNow.AddDate(0, -9, 0)
	const more = 1.3
	for i, r := range all {
		switch r := r.(type) {
		case *logbook.Ride:
			if r.Pack == "wren-pack" && r.At.After(changed) {
				n := *r
				n.DischargedAh.V, n.DischargedWh.V, n.DistanceKm.V, n.OdometerKm = n.DischargedAh.V*more, n.DischargedWh.V*more, n.DistanceKm.V*more, logbook.Num{}
				n.MovingMin.V *= more
				n.End = n.At.Add(time.Duration(float64(logbook.EndOf(r).Sub(r.At)) * more))
				all[i] = &n
			}
		case *logbook.Charge:
			if r.Pack == "wren-pack" && r.At.After(changed) {
				n := *r
				n.ChargedAh.V, n.ChargedWh.V = n.ChargedAh.V*more, n.ChargedWh.V*more
				all[i] = &n
			}
		}
	}
	before := pastOf(t, all, "wren-pack", changed)
	was := HealthOf(before, plainFit(before)).CapacityAh
	all = append(all, &logbook.Service{Head: logbook.Head{ID: "new", Rev: 1}, Pack: "wren-pack", At: changed, What: "cells_replaced"})
	h := pastOf(t, all, "wren-pack", courseNow)
	is := HealthOf(h, plainFit(h)).CapacityAh
	if share := is.Value / was.Value; share < more-.06 || share > more+.12 || !(*is.Low > 1.15*was.Value) {
		t.Errorf("%v Ah before, %v [%v %v] Ah with cells of 1.3 times as much", was.Value, is.Value, *is.Low, *is.High)
	}
	early := pastOf(t, all, "wren-pack", changed.AddDate(0, 0, 12))
	if e := HealthOf(early, plainFit(early)).CapacityAh; e == nil || !(*e.High > more*was.Value-.3) {
		t.Errorf("twelve days after: %+v, want room for %.2f Ah", e, more*was.Value)
	}
	for _, f := range HindcastOf(h, plainFit).Forecasts {
		made, _ := time.Parse(time.RFC3339, f.MadeAt)
		came, _ := time.Parse(time.RFC3339, f.For)
		if made.Before(changed) && came.After(changed.Add(24*time.Hour)) {
			t.Errorf("%s of %s was forecast on %s, of the old cells", f.Record, f.For, f.MadeAt)
		}
	}
}
