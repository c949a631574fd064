package report

import (
	"fmt"
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

func noSiblings(h *logbook.History) *model.Fit { return model.FitHistory(h, nil) }

var courseNow = time.Date(2026, time.May, 3, 12, 0, 0, 0, time.UTC)

// TestCourseOfInvented follows the invented packs: the course is in order and
// whole, its measurements come from the log, and it stays by the truth of the
// simulator, which knows nothing of the model.
func TestCourseOfInvented(t *testing.T) {
	records, truths, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	for _, pack := range []string{"wren-pack", "otter-pack"} {
		h, err := logbook.NewHistory(pack, records, courseNow)
		if err != nil {
			t.Fatal(err)
		}
		c := CourseOf(h, noSiblings(h), 12, noSiblings)
		checkPoints(t, pack+" capacity", c.CapacityAh)
		checkPoints(t, pack+" resistance", c.Resistance)
		checkPoints(t, pack+" range", c.RangeKm)
		checkPoints(t, pack+" season", c.SeasonKm)
		checkMeasured(t, pack, h, c)
		if got, want := c.CapacityAh[len(c.CapacityAh)-1].At, courseNow.AddDate(1, 0, 0); !got.Equal(want) {
			t.Errorf("%s: the course ends %v, want %v", pack, got, want)
		}
		if !c.RangeKm[0].At.Equal(courseNow) {
			t.Errorf("%s: the range begins %v", pack, c.RangeKm[0].At)
		}
		within := 0
		for _, p := range c.CapacityAh {
			truth := truths[pack].At(p.At).CapacityAh
			if off := math.Abs(p.Value/truth - 1); off > .05 {
				t.Errorf("%s on %s: capacity %.2f Ah, truly %.2f", pack, p.At.Format(time.DateOnly), p.Value, truth)
			}
			if *p.Low <= truth && truth <= *p.High {
				within++
			}
		}
		t.Logf("%s: %d of %d times within the 90 %% band", pack, within, len(c.CapacityAh))
		if len(c.Events) == 0 || len(c.Earlier) != 0 {
			t.Errorf("%s: %d events, %d earlier lives", pack, len(c.Events), len(c.Earlier))
		}
	}
}

func checkPoints(t *testing.T, name string, course []CoursePoint) {
	t.Helper()
	if len(course) < 10 {
		t.Errorf("%s: %d points", name, len(course))
	}
	for i, p := range course {
		if p.Low == nil || p.High == nil || !(*p.Low <= p.Value && p.Value <= *p.High) || p.Value <= 0 {
			t.Errorf("%s, point %d: %+v", name, i, p)
		}
		if i > 0 && (!p.At.After(course[i-1].At) || course[i-1].Ahead && !p.Ahead) {
			t.Errorf("%s: point %d does not come after the one before", name, i)
		}
	}
}

// checkMeasured: every measurement of the course is a record that had ended,
// and so many are there as the log has.
func checkMeasured(t *testing.T, name string, h *logbook.History, c *Course) {
	t.Helper()
	at := map[string]time.Time{}
	checks := 0
	for _, r := range h.Rides {
		at[r.ID] = logbook.EndOf(r)
	}
	for _, r := range h.Checks {
		at[r.ID] = r.At
		if model.MeasuredMohm(r) > 0 {
			checks++
		}
	}
	for _, list := range [][]Measured{c.Capacities, c.Resistances, c.Ranges} {
		for _, m := range list {
			if end, ok := at[m.Record]; !ok || end.Sub(m.At).Abs() > time.Second || m.At.After(h.AsOf) || !(m.Value > 0) {
				t.Errorf("%s: measurement %+v", name, m)
			}
		}
	}
	if len(c.Resistances) != checks || len(c.Capacities) < 20 || len(c.Ranges) < 20 {
		t.Errorf("%s: %d of %d checks, %d capacities, %d ranges", name, len(c.Resistances), checks, len(c.Capacities), len(c.Ranges))
	}
}

// TestConsumptionOfInvented: the curve passes through the consumption at the
// reference temperature and rises towards the cold, as air and tyres make it;
// the rides lie about it.
func TestConsumptionOfInvented(t *testing.T) {
	records, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	h, err := logbook.NewHistory("otter-pack", records, courseNow)
	if err != nil {
		t.Fatal(err)
	}
	fit := noSiblings(h)
	c := ConsumptionOf(h, fit)
	if len(c.Curve) != curvePoints+1 || len(c.Rides) < 50 {
		t.Fatalf("%d points, %d rides", len(c.Curve), len(c.Rides))
	}
	want := model.Quantile(fit.At(courseNow).WhPerKm, .5)
	if got := c.value(fit.Reference().AirC); math.Abs(got/want-1) > .002 {
		t.Errorf("at the reference temperature %.3f Wh/km, want %.3f", got, want)
	}
	cold, warm := c.Curve[0], c.Curve[len(c.Curve)-1]
	if cold.AirC >= warm.AirC || cold.Value <= warm.Value {
		t.Errorf("from %+v to %+v", cold, warm)
	}
	var off []float64
	for _, r := range c.Rides {
		off = append(off, r.WhPerKm/c.value(r.AirC)-1)
	}
	if mid := model.Quantile(off, .5); math.Abs(mid) > .03 {
		t.Errorf("the rides lie %.1f %% off the curve, in the middle", 100*mid)
	}
}

// benchLog is an invented pack on the bench, fading by so much a cycle, whose
// cells are replaced after the cycle given, if it is positive.
func benchLog(cycles int, replacedAfter int) []logbook.Record {
	const id = "heron"
	at := time.Date(2025, time.January, 6, 8, 0, 0, 0, time.UTC)
	p := &logbook.Pack{Head: logbook.Head{ID: id, Rev: 1}, Chemistry: "nmc", Series: logbook.Some(10), Parallel: logbook.Some(4), CellCapacityAh: logbook.Some(3), LimitV: logbook.Some(31), CellFullV: logbook.Some(4.2), InService: at}
	out := []logbook.Record{p}
	worn := 0
	for i := range cycles {
		ah := 11.8 * (1 - .002*float64(worn))
		out = append(out,
			&logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("charge-", i), Rev: 1}, Pack: id, At: at, Full: logbook.Yes, ChargedAh: logbook.Some(ah)},
			&logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("ride-", i), Rev: 1}, Pack: id, At: at.Add(time.Hour), End: at.Add(4 * time.Hour), DischargedAh: logbook.Some(ah), Stop: "limit", AmbientC: logbook.Some(25)})
		at = at.AddDate(0, 0, 7)
		if worn++; i+1 == replacedAfter {
			out = append(out, &logbook.Service{Head: logbook.Head{ID: "swap", Rev: 1}, Pack: id, At: at.Add(-time.Hour), What: "cells_replaced", Passed: logbook.Yes})
			worn = 0
		}
	}
	return out
}

func courseOf(t *testing.T, records []logbook.Record, now time.Time, months int) *Course {
	t.Helper()
	h, err := logbook.NewHistory("heron", records, now)
	if err != nil {
		t.Fatal(err)
	}
	return CourseOf(h, noSiblings(h), months, noSiblings)
}

// TestCourseOfTwoLives: replaced cells begin a course of their own; what the
// old ones did is kept beside it.
func TestCourseOfTwoLives(t *testing.T) {
	records := benchLog(30, 18)
	swap := time.Date(2025, time.January, 6, 7, 0, 0, 0, time.UTC).AddDate(0, 0, 18*7)
	c := courseOf(t, records, time.Date(2025, time.September, 1, 0, 0, 0, 0, time.UTC), 6)
	if !c.Bench || len(c.RangeKm) != 0 || len(c.Ranges) != 0 {
		t.Errorf("a pack on the bench has a range: %+v", c.RangeKm)
	}
	if len(c.Earlier) != 1 || len(c.Earlier[0].Earlier) != 0 {
		t.Fatalf("%d earlier lives", len(c.Earlier))
	}
	old := c.Earlier[0]
	if len(c.Capacities) != 12 || len(old.Capacities) != 18 {
		t.Errorf("%d tests before, %d after", len(old.Capacities), len(c.Capacities))
	}
	if last := old.CapacityAh[len(old.CapacityAh)-1].At; last.After(swap) || c.CapacityAh[0].At.Before(swap) {
		t.Errorf("the lives overlap: %v, %v", last, c.CapacityAh[0].At)
	}
	if c.CapacityAh[0].Value < old.CapacityAh[len(old.CapacityAh)-1].Value {
		t.Error("the new cells give less than the old ones did")
	}
}

// TestCourseOfLittle: one record, no records in the time looked at, and a look
// at no months ahead.
func TestCourseOfLittle(t *testing.T) {
	one := courseOf(t, benchLog(1, 0), time.Date(2025, time.March, 1, 0, 0, 0, 0, time.UTC), 0)
	if len(one.Capacities) != 1 || len(one.CapacityAh) < 2 || !one.CapacityAh[0].At.Before(one.AsOf) {
		t.Errorf("of one test: %+v", one)
	}
	last := one.CapacityAh[len(one.CapacityAh)-1]
	if !last.At.Equal(one.AsOf) || !last.Ahead {
		t.Errorf("it ends with %+v", last)
	}
	check := []logbook.Record{
		&logbook.Pack{Head: logbook.Head{ID: "heron", Rev: 1}, Series: logbook.Some(10)},
		&logbook.Check{Head: logbook.Head{ID: "check-0", Rev: 1}, Pack: "heron", At: courseNow, ResistanceMohm: logbook.Some(90), PackC: logbook.Some(25), SocPct: logbook.Some(50)},
	}
	c := courseOf(t, check, courseNow, 3)
	if len(c.CapacityAh)+len(c.Capacities)+len(c.RangeKm)+len(c.Ranges) != 0 || c.RetireAh != nil || len(c.Resistances) != 1 {
		t.Errorf("of one check: %+v", c)
	}
}

func TestSpaced(t *testing.T) {
	from := courseNow
	for _, tc := range []struct {
		hours float64
		n     int
		want  int
	}{{1, 10, 1}, {24, 10, 1}, {48, 10, 2}, {24 * 100, 10, 10}, {24 * 7300, 72, 72}} {
		to := from.Add(time.Duration(tc.hours * float64(time.Hour)))
		got := spaced(from, to, tc.n)
		if len(got) != tc.want || !got[0].Equal(from) || !got[len(got)-1].Before(to) {
			t.Errorf("%v h in %d: %v", tc.hours, tc.n, got)
		}
	}
}
