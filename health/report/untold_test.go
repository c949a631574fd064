package report

import (
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// knownFrom fits what a few lines of an invented log say of the pack kite-a.
func knownFrom(t *testing.T, lines ...string) Known {
	t.Helper()
	var records []logbook.Record
	for e, err := range logbook.Read(strings.NewReader(strings.Join(lines, "\n")+"\n"), "invented") {
		if err != nil {
			t.Fatal(err)
		}
		records = append(records, e.Record)
	}
	h, err := logbook.NewHistory("kite-a", records, time.Date(2026, 5, 3, 12, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return Known{h, model.FitHistory(h, nil)}
}

// TestNewLifeIsNoBench: where the cells are new, what is lacking is a record of
// them, not a road.
func TestNewLifeIsNoBench(t *testing.T) {
	k := knownFrom(t,
		`{"record":"pack","id":"kite-a","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"limit_v":31}`,
		`{"record":"ride","pack":"kite-a","board":"kite","at":"2026-03-01T10:00:00Z","distance_km":25,"discharged_ah":11.4,"stop":"limit"}`,
		`{"record":"board","id":"kite"}`,
		`{"record":"service","pack":"kite-a","at":"2026-04-01T10:00:00Z","kind":"cells_replaced"}`)
	for _, w := range append(HealthOf(k.History, k.Fit).Warnings, untold(k)...) {
		if w.Code == "no_road_rides" {
			t.Errorf("says %q", w.Text)
		}
	}
	if w := untold(k); len(w) != 1 || w[0].Code != "capacity_unknown" {
		t.Errorf("says %+v, want capacity_unknown", w)
	}
}

// TestNoLimitIsGuessed: a pack without a limit is not told to be ridden to one,
// and an unknown charge is no reason to stop.
func TestNoLimitIsGuessed(t *testing.T) {
	stated := `{"record":"pack","id":"kite-a","series":10,"limit_v":31}`
	for _, tc := range []struct {
		pack  string
		given bool
	}{{stated, true}, {`{"record":"pack","id":"kite-a"}`, false}, {`{"record":"pack","id":"kite-a","series":10}`, false}} {
		k := knownFrom(t, tc.pack)
		sheet := TestSheetOf(k.History, k.Fit)
		reach := ReachOf(k.History, k.Fit, model.Standing{RestV: logbook.Some(40), Risk: .05})
		for _, text := range []string{strings.Join(sheet.Cautions, " "), strings.Join(reach.Cautions, " ")} {
			if names := strings.Contains(text, "V under load"); names != tc.given {
				t.Errorf("%s: %q", tc.pack, text)
			}
			if !strings.Contains(text, "never ride on below it") {
				t.Errorf("%s: no caution in %q", tc.pack, text)
			}
		}
		for _, l := range sheet.Set {
			if l.What == "end" && (l.Fig != nil) != tc.given {
				t.Errorf("%s: to end at %+v", tc.pack, l)
			}
		}
		for _, w := range reach.Warnings {
			if w.Code == "nothing_left" {
				t.Errorf("%s at 40 V: %s", tc.pack, w.Text)
			}
		}
	}
}

// TestLimitThatLeavesLittle: a limit just under the full charge, typed for one of the
// pack's own, is said to leave nothing; a plausible one is not.
func TestLimitThatLeavesLittle(t *testing.T) {
	for limit, want := range map[string]bool{"31": false, "41.7": true} {
		lines := strings.Replace(auditLog(), `"limit_v":31`, `"limit_v":`+limit, 1)
		h := pastOf(t, records(t, lines), "heron-a", at(t, "2024-04-01T00:00:00Z"))
		r := HealthOf(h, model.FitHistory(h, nil))
		is := slices.ContainsFunc(r.Warnings, func(w Warning) bool { return w.Code == "limit_leaves_little" })
		if is != want {
			t.Errorf("limit %s V, capacity %+v: warned %v", limit, r.CapacityAh, is)
		}
	}
}
