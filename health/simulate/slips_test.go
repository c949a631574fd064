package simulate

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

func TestWrongEntriesAreWhatTheySay(t *testing.T) {
	seen := map[Slip]int{}
	var records, wrong, rides, logged int
	for seed := range uint64(40) {
		l := run(t, Preset(Messy, seed))
		by := map[string]logbook.Record{}
		for _, r := range l.Records {
			by[r.Kind().String()+logbook.HeadOf(r).ID] = r
			if k := r.Kind(); k == logbook.KindRide || k == logbook.KindCharge {
				records++
			}
		}
		for _, w := range l.Truth.Wrong {
			r, ok := by[w.Kind.String()+w.Record]
			if !ok {
				t.Fatalf("%d: %+v is not in the log", seed, w)
			}
			wrong++
			seen[w.Slip]++
			f, ok := logbook.FieldNamed(w.Kind, w.Field)
			if !ok || f.Number(r).V != w.Is || w.Is == w.Was {
				t.Fatalf("%d: %+v, but the record says %s", seed, w, logbook.AppendJSON(nil, r))
			}
			want := map[Slip]float64{MilesAsKm: 1 / 1.609344, PsiAsKpa: 1 / 6.894757}[w.Slip] // NIST SP 811
			if want > 0 && math.Abs(w.Is/w.Was/want-1) > 0.02 {
				t.Errorf("%d: %+v", seed, w)
			}
		}
		for _, r := range l.Truth.Rides() {
			if rides++; r.ID != "" {
				logged++
			}
		}
	}
	for _, s := range []Slip{MilesAsKm, PsiAsKpa, ShiftedDecimal, MeterRestarted, UnderLoad, TooSoon} {
		if seen[s] < 5 {
			t.Errorf("%s only %d times in 40 logs", s, seen[s])
		}
	}
	if share := float64(wrong) / float64(records); share < 0.025 || share > 0.035 {
		t.Errorf("%.4f of the records are wrong, want 0.03", share)
	}
	if share := 1 - float64(logged)/float64(rides); share < 0.06 || share > 0.09 {
		t.Errorf("%.4f of the rides are not in the log, want 0.08 of those not to the limit", share)
	}
}

func TestOtherStylesHaveNoWrongEntries(t *testing.T) {
	for _, style := range Styles {
		if l := run(t, Preset(style, 1)); style != Messy && len(l.Truth.Wrong) > 0 {
			t.Errorf("%v: %+v", style, l.Truth.Wrong)
		}
	}
}

func TestDemoEndsWhenItIsTold(t *testing.T) {
	end := time.Date(2026, 5, 3, 18, 0, 0, 0, time.FixedZone("", 7200))
	records, truths, err := Demo(end)
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]map[logbook.Kind]int{}
	var last time.Time
	for _, r := range records {
		if err := logbook.Validate(r); err != nil {
			t.Fatal(err)
		}
		if logbook.EndOf(r).After(end) {
			t.Errorf("%s ends after the demo", logbook.HeadOf(r).ID)
		}
		if at := logbook.EndOf(r); at.After(last) {
			last = at
		}
		id := logbook.PackOf(r)
		if count[id] == nil {
			count[id] = map[logbook.Kind]int{}
		}
		count[id][r.Kind()]++
	}
	if end.Sub(last) > 14*24*time.Hour {
		t.Errorf("the last record is of %v", last)
	}
	for _, id := range []string{"wren-pack", "otter-pack"} {
		c := count[id]
		if c[logbook.KindPack] != 1 || c[logbook.KindRide] < 100 || c[logbook.KindCharge] < 60 || c[logbook.KindCheck] < 8 || c[logbook.KindService] < 2 {
			t.Errorf("%s: %v", id, c)
		}
		if f := truths[id].At(end); f.SohPct < 80 || f.SohPct > 97 || f.RangeKm < 20 {
			t.Errorf("%s: %+v", id, f)
		}
	}
}
