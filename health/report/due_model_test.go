package report

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// fading is a bench cell that is cycled once a day from full to the limit and
// loses a share of its capacity each day; its resistance grows by another.
func fading(days int, lossADay, growthADay float64) []logbook.Record {
	p := &logbook.Pack{
		Head: logbook.Head{ID: "heron-a", Rev: 1}, Chemistry: "nmc", Series: logbook.Some(1), Parallel: logbook.Some(1), CellCapacityAh: logbook.Some(3), CellFullV: logbook.Some(4.2), LimitV: logbook.Some(2.8), AsnewAh: logbook.Some(3),
		InService: time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC),
	}
	out := []logbook.Record{p}
	for i := range days {
		at := time.Date(2024, 1, 1+i, 8, 0, 0, 0, time.UTC)
		ah := math.Round(300*(1-lossADay*float64(i))) / 100
		out = append(out,
			&logbook.Ride{Head: logbook.Head{ID: fmt.Sprint("run-", i), Rev: 1}, Pack: p.ID, At: at, End: at.Add(2 * time.Hour), DischargedAh: logbook.Some(ah), AmbientC: logbook.Some(25), PackC: logbook.Some(27), Stop: "limit"},
			&logbook.Charge{Head: logbook.Head{ID: fmt.Sprint("fill-", i), Rev: 1}, Pack: p.ID, Start: at.Add(3 * time.Hour), At: at.Add(7 * time.Hour), ChargedAh: logbook.Some(ah), Full: logbook.Yes, AmbientC: logbook.Some(25), PackC: logbook.Some(26)})
		if i%5 == 0 {
			ohm := 30 * (1 + growthADay*float64(i))
			out = append(out, &logbook.Check{Head: logbook.Head{ID: fmt.Sprint("pulse-", i), Rev: 1}, Pack: p.ID, At: at.Add(-time.Hour), Method: "dc", ResistanceMohm: logbook.Some(ohm), SocPct: logbook.Some(50), PackC: logbook.Some(25)})
		}
	}
	return out
}

func dueOn(t *testing.T, all []logbook.Record, pack string, now time.Time) ([]Reminder, *logbook.History, *model.Fit) {
	t.Helper()
	h := pastOf(t, all, pack, now)
	fit := model.FitHistory(h, nil)
	return DueOf(h, fit, now), h, fit
}

// Capacity falls by 0.3 % a day: it is at 80 % on day 67 and at 70 % on day
// 100 of the year.
func TestHealthFromNotDueToDueToDone(t *testing.T) {
	all := fading(110, .003, .004)
	day := func(n int) time.Time { return time.Date(2024, 1, n, 20, 0, 0, 0, time.UTC) }
	has := func(all []logbook.Record, n int, rule string) (Reminder, bool) {
		list, _, _ := dueOn(t, all, "heron-a", day(n))
		return byRule(list, rule)
	}
	if r, is := has(all, 25, "health_below_80"); is {
		t.Errorf("day 25: %s", r.Because)
	}
	// A month ahead it is told of, with the day on which it is expected.
	if r, is := has(all, 55, "health_below_80"); !is || r.OverdueDays != 0 || !r.Due.After(day(55)) {
		t.Errorf("day 55: %v, due %s", is, r.Due)
	}
	r, is := has(all, 85, "health_below_80")
	if off := r.Due.Sub(day(68)).Hours() / 24; !is || math.Abs(off) > 8 || r.OverdueDays == 0 {
		t.Errorf("day 85: %v, due %s, %.0f days from the day of 80 %%", is, r.Due, off)
	}
	if r, is := has(all, 85, "health_at_retire_level"); is && !r.Due.After(day(85)) {
		t.Errorf("day 85: %s", r.Because)
	}
	r, is = has(all, 110, "health_at_retire_level")
	if off := r.Due.Sub(day(101)).Hours() / 24; !is || math.Abs(off) > 8 {
		t.Errorf("day 110: retire %v, due %s", is, r.Due)
	}
	inspected := append(slices.Clone(all), &logbook.Service{Head: logbook.Head{ID: "looked", Rev: 1}, Pack: "heron-a", What: "inspection", Passed: logbook.Yes, At: day(80)})
	if r, is := has(inspected, 85, "health_below_80"); is {
		t.Errorf("after the inspection: %s", r.Because)
	}
	if _, is := has(inspected, 110, "health_at_retire_level"); !is {
		t.Error("an inspection ended the retirement")
	}
	if r, is := has(inspected, 80+365-10, "health_below_80"); !is || r.Due.String() != day(80+365).Format(logbook.DateLayout) {
		t.Errorf("a year after the inspection: %v, due %s, want %s", is, r.Due, day(80+365).Format(logbook.DateLayout))
	}
}

func TestResistanceAboveWhatTheFadeExplains(t *testing.T) {
	now := time.Date(2024, 3, 31, 20, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name         string
		loss, growth float64 // a day, over ninety days
		want         bool
	}{
		{"a sound cell", .001, .0015, false},
		{"grown by 70 % at 80 %", .0022, .008, false}, // well below 2.5 x 20 + 50
		{"one and a half times, hardly faded", .0003, .009, true},
		{"two and a half times at 80 %", .0022, .018, true},
	} {
		all := fading(90, c.loss, c.growth)
		list, _, fit := dueOn(t, all, "heron-a", now)
		if !fit.Known().Growth {
			t.Fatalf("%s: the fit does not know the growth", c.name)
		}
		r, is := byRule(list, "resistance_above_fade")
		if is != c.want {
			s := fit.At(now)
			t.Errorf("%s: %v; growth %.0f %%, state of health %.0f %%", c.name, is, model.Quantile(s.GrowthPct, .5), model.Quantile(s.SohPct, .5))
		}
		if is && (len(r.Evidence.Records) == 0 || len(r.Evidence.Figures) < 3) {
			t.Errorf("%s: evidence %v", c.name, r.Evidence)
		}
	}
}

// No sound cell of two published ageing data sets would be called to an
// inspection on its way to 70 %: T. Baumhöfer et al. 2014 (NMC, 16 cells) and
// CALCE CS2 (LCO, 2 cells).
func TestSoundCellsGrowAsTheFadeExplains(t *testing.T) {
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	type point struct{ capacity, ohm float64 }
	cells := map[string][]point{}
	read := func(file string, cell func([]string) string, capacity, ohm int) {
		f, err := os.Open(filepath.Join(dir, file))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rows, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			c, err1 := strconv.ParseFloat(row[capacity], 64)
			r, err2 := strconv.ParseFloat(row[ohm], 64)
			if err1 == nil && err2 == nil {
				cells[cell(row)] = append(cells[cell(row)], point{c, r})
			}
		}
	}
	read("ageing_curves.csv", func(row []string) string { return row[0] + row[1] }, 6, 7)
	read("calce_cs2_capacity_resistance.csv", func(row []string) string { return row[0] }, 2, 3)
	if len(cells) < 18 {
		t.Fatalf("%d cells", len(cells))
	}
	for name, points := range cells {
		new := points[0]
		for _, p := range points {
			soh, growth := 100*p.capacity/new.capacity, 100*(p.ohm/new.ohm-1)
			if soh >= 70 && growth-growthPerFade*(100-soh) > growthExcessPct {
				t.Errorf("%s: %.0f %% growth at %.0f %%", name, growth, soh)
			}
		}
	}
}

// The need against the range in the cold, on one fit: the need does not enter
// the model.
func TestNeedInTheColdSeason(t *testing.T) {
	log, err := simulate.Run(simulate.Preset(simulate.Rich, 5))
	if err != nil {
		t.Fatal(err)
	}
	id := simulate.Preset(simulate.Rich, 5).Pack.ID
	summer := log.Truth.End.AddDate(0, 0, -240) // about the first of July
	h := pastOf(t, log.Records, id, summer)
	fit := model.FitHistory(h, nil)
	pack := *h.Pack
	h.Pack = &pack
	need := func(km float64, now time.Time) (Reminder, bool) {
		pack.NeedRangeKm = logbook.Some(km)
		return byRule(DueOf(h, fit, now), "need_not_met")
	}
	d := newDuty(h, fit, summer)
	coldest := d.coldest()
	if m := coldest.Month(); m != time.December && m != time.January && m != time.February {
		t.Fatalf("the coldest day is %s", coldest)
	}
	cold := model.Quantile(fit.SeasonRangeKm(coldest), .5)
	warm := model.Quantile(fit.SeasonRangeKm(summer), .5)
	if r, is := need(cold*.99, summer); is {
		t.Errorf("met: %s", r.Because)
	}
	r, is := need(cold*1.01, summer)
	if !is || r.OverdueDays != 0 || !r.Due.After(summer) || r.Due.After(coldest.AddDate(0, 0, 1)) {
		t.Fatalf("not met in the cold: %v, due %s", is, r.Due)
	}
	// The day named is the first on which half of what is believable is short.
	on := func(day time.Time) float64 { return model.Quantile(fit.SeasonRangeKm(day), .5) }
	due := time.Date(r.Due.Year(), r.Due.Month(), r.Due.Day(), summer.Hour(), summer.Minute(), 0, 0, summer.Location())
	if on(due) >= cold*1.01 || on(due.AddDate(0, 0, -1)) < cold*1.01 {
		t.Errorf("due %s: %.2f km then, %.2f km the day before, need %.2f", r.Due, on(due), on(due.AddDate(0, 0, -1)), cold*1.01)
	}
	if r, is := need(warm*1.2, summer); !is || r.Due.After(summer) {
		t.Errorf("not met in summer: %v, due %s", is, r.Due)
	}
}

// A test is asked for where it would change what the rider knows, and only
// there.
func TestWhenARangeTestIsWorthItsCycle(t *testing.T) {
	all := fading(20, .001, .001)
	_, _, fit := dueOn(t, all, "heron-a", time.Date(2024, 1, 25, 0, 0, 0, 0, time.UTC))
	scatter := fit.TestScatter()
	of := func(mid, half, spread float64) belief {
		lo, hi := mid-half, mid+half
		return belief{&Estimate{Value: mid, Low: &lo, High: &hi}, spread}
	}
	some := func(km float64) logbook.Num { return logbook.Some(km) }
	for _, c := range []struct {
		name   string
		need   logbook.Num
		inCold bool
		b      belief
		want   bool
	}{
		{"as narrow as a test makes it", some(20), false, of(20, 1, scatter*.99), false},
		{"the need lies within", some(20), false, of(20.9, 1, scatter*1.01), true},
		{"the need lies just outside", some(20), false, of(21.01, 1, scatter*1.01), false},
		{"the need is met by far, however wide up to 30 %", some(10), false, of(20, 2.99, scatter*2), false},
		{"too wide to plan by, though the need is met", some(10), false, of(20, 3.01, scatter*2), true},
		{"open in the cold", some(10), true, of(20, 1, scatter*2), true},
		{"no need, narrow", logbook.Num{}, false, of(20, 1.99, scatter*2), false},
		{"no need, wide", logbook.Num{}, false, of(20, 2.01, scatter*2), true},
		{"nothing believed", logbook.Num{}, false, belief{}, false},
	} {
		a := &asking{fit: fit, need: c.need, inCold: c.inCold}
		if got := a.due(c.b); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// One whole log: the day that is named for the test is the first on which it
// would be worth its cycle, and a test is done when the need is settled.
func TestRetestOnAWholeLog(t *testing.T) {
	cfg := simulate.Preset(simulate.Monthly, 3)
	log, err := simulate.Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	now := log.Truth.End.AddDate(-1, -5, 0)
	h := pastOf(t, log.Records, cfg.Pack.ID, now)
	fit := model.FitHistory(h, nil)
	pack := *h.Pack
	h.Pack = &pack
	s := fit.At(now)
	for _, share := range []float64{.3, 1, 1.06} {
		need := share * model.Quantile(s.RangeKm, .5)
		pack.NeedRangeKm = logbook.Some(need)
		d := newDuty(h, fit, now)
		a := d.asking(fit)
		r, is := byRule(DueOf(h, fit, now), "range_uncertain")
		if !is {
			for n := 0; n <= 365; n += 73 {
				if a.due(a.on(now.AddDate(0, 0, n))) {
					t.Errorf("need %.1f km: a test is worth its cycle in %d days and none is asked for", need, n)
				}
			}
			continue
		}
		if days := int(r.Due.Sub(d.today).Hours() / 24); days > 0 {
			if !a.due(a.on(now.AddDate(0, 0, days))) || a.due(a.on(now.AddDate(0, 0, days-1))) {
				t.Errorf("need %.1f km: %s is not the first day", need, r.Due)
			}
		}
		if len(r.Evidence.Records) == 0 || len(r.Evidence.Figures) < 3 {
			t.Errorf("need %.1f km: evidence %v", need, r.Evidence)
		}
	}
	if share := model.Quantile(s.RangeKm, .05) / model.Quantile(s.RangeKm, .5); share > .3 {
		pack.NeedRangeKm = logbook.Some(.3 * model.Quantile(s.RangeKm, .05))
		if r, is := byRule(DueOf(h, fit, now), "range_uncertain"); is && r.OverdueDays == 0 && !r.Due.After(now) {
			w := (model.Quantile(s.RangeKm, .95) - model.Quantile(s.RangeKm, .05)) / model.Quantile(s.RangeKm, .5)
			if w <= wideShareNeed {
				t.Errorf("a need that is met by far asks for a test: %s", r.Because)
			}
		}
	}
}

// Whole logs: what is listed hangs together, and is the same each time.
func TestDueOfWholeLogs(t *testing.T) {
	for _, style := range simulate.Styles {
		cfg := simulate.Preset(style, 6)
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		h := pastOf(t, log.Records, cfg.Pack.ID, log.Truth.End)
		fit := model.FitHistory(h, nil)
		all := DueOf(h, fit, log.Truth.End)
		again := DueOf(h, model.FitHistory(h, nil), log.Truth.End)
		ids := map[string]bool{}
		for _, r := range log.Records {
			ids[logbook.HeadOf(r).ID] = true
		}
		uids := map[string]bool{}
		for i, r := range all {
			if i > 0 && all[i-1].Action.rank() > r.Action.rank() {
				t.Errorf("%s: %s is listed before %s", style, all[i-1].Action, r.Action)
			}
			if uids[r.UID] {
				t.Errorf("%s: uid of %s is not its own", style, r.Rule)
			}
			uids[r.UID] = true
			for _, id := range r.Evidence.Records {
				if !ids[id] {
					t.Errorf("%s: %s names %q, which is no record", style, r.Rule, id)
				}
			}
			if i >= len(again) || again[i].Because != r.Because || again[i].UID != r.UID || !again[i].Due.Equal(r.Due.Time) {
				t.Errorf("%s: %s is not the same the second time", style, r.Rule)
			}
			if r.Because == "" || r.Do == "" || r.Source == "" {
				t.Errorf("%s: %s is silent", style, r.Rule)
			}
		}
	}
}

// Logs that have just begun, and logs in any order, are answered too.
func TestDueAndAuditOfSmallLogs(t *testing.T) {
	for _, style := range simulate.Styles {
		cfg := simulate.Preset(style, 7)
		cfg.Years = .1
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range []int{2, 3, 4, 6, 9, 14} {
			some := slices.Clone(log.Records[:min(n, len(log.Records))])
			now := logbook.EndOf(some[len(some)-1]).AddDate(0, 0, 40)
			if now.Year() < 2000 {
				now = log.Truth.End
			}
			h := pastOf(t, some, cfg.Pack.ID, now)
			fit := model.FitHistory(h, nil)
			due, odd := DueOf(h, fit, now), AuditOf(h, fit)
			for _, r := range due {
				if r.Action == StopRiding || r.Action == Retire && r.Rule != "need_not_met" {
					t.Errorf("%s, %d records: %s", style, n, r.Because)
				}
			}
			slices.Reverse(some)
			back := pastOf(t, some, cfg.Pack.ID, now)
			again := model.FitHistory(back, nil)
			if d := DueOf(back, again, now); len(d) != len(due) {
				t.Errorf("%s, %d records: %d reminders, %d in the other order", style, n, len(due), len(d))
			}
			if f := AuditOf(back, again); len(f) != len(odd) {
				t.Errorf("%s, %d records: %d findings, %d in the other order", style, n, len(odd), len(f))
			}
		}
	}
}

// A third of the cells comes off, which nobody writes down: it is a stop until an
// inspection passes, and health says so too. The same log without that is none.
func TestLostAtOnce(t *testing.T) {
	const day = 250
	for _, share := range []float64{0, .33} {
		cfg := simulate.Preset(simulate.Rich, 513)
		cfg.Years, cfg.Keeping.Wrong = 1, 0
		cfg.Events = append(cfg.Events, simulate.Event{Day: day, What: simulate.StringLost, Share: share})
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		now := cfg.Start.AddDate(0, 0, day+60)
		h := pastOf(t, log.Records, cfg.Pack.ID, now)
		fit := model.FitHistory(h, nil)
		r, is := byRule(DueOf(h, fit, now), "capacity_lost_at_once")
		warned := slices.ContainsFunc(HealthOf(h, fit).Warnings, func(w Warning) bool { return w.Code == "capacity_fell_at_once" })
		if is != (share > 0) || warned != is {
			t.Fatalf("%.0f %% lost: due %v, warned %v", 100*share, is, warned)
		}
		if lost := HealthOf(h, fit).Fade.AtOncePct; (lost != nil) != is {
			t.Errorf("%.0f %% lost: at once %v", 100*share, lost)
		}
		if share == 0 {
			continue
		}
		if r.Action != StopRiding || len(r.Evidence.Records) != 1 || r.Due.Before(cfg.Start.AddDate(0, 0, day-1)) || r.Due.After(now) {
			t.Errorf("%+v", r)
		}
		if left := r.Evidence.Figures[0]; !(*left.Low < 67 && *left.High > 67) {
			t.Errorf("67 %% is left: %.2f [%.2f %.2f]", left.Value, *left.Low, *left.High)
		}
		looked := &logbook.Service{Head: logbook.Head{ID: "looked"}, Pack: cfg.Pack.ID, At: now.AddDate(0, 0, -1), What: "inspection", Passed: logbook.Yes}
		h = pastOf(t, append(log.Records, looked), cfg.Pack.ID, now)
		if r, is := byRule(DueOf(h, model.FitHistory(h, nil), now), "capacity_lost_at_once"); is {
			t.Errorf("after an inspection: %s", r.Because)
		}
	}
}
