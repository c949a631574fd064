package report

import (
	"strings"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
	"packwane/health/units"
)

// TestLimitAsSetUp: the limit is that of the last setup, and one that lies below the volts
// at which protection opens is never told as one to ride to.
func TestLimitAsSetUp(t *testing.T) {
	const pack = `{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_full_v":4.2,"cutoff_v":28`
	const setup = `{"record":"setup","id":"s","pack":"heron-a","at":"2026-05-01T10:00:00Z",`
	for _, c := range []struct {
		name, lines string
		v, below    float64
		stated      bool
		words       string
	}{
		{"none", pack + "}", 30, 0, false, "is not in the log"},
		{"the pack's", pack + `,"limit_v":31}`, 31, 0, true, "Never ride on below 31 V"},
		{"set anew", pack + `,"limit_v":31}` + "\n" + setup + `"limit_v":33}`, 33, 0, true, "Never ride on below 33 V"},
		{"only set up", pack + "}\n" + setup + `"limit_v":33}`, 33, 0, true, "Never ride on below 33 V"},
		{"set below the cut-off", pack + `,"limit_v":31}` + "\n" + setup + `"limit_v":24}`, 28, 24, false, "24 V, lies below the 28 V"},
		{"the cut-off set above it", pack + `,"limit_v":31}` + "\n" + setup + `"cutoff_v":32}`, 32, 31, false, "31 V, lies below the 32 V"},
		{"below what cells may be drawn to", strings.Replace(pack, `,"cutoff_v":28`, "", 1) + `,"limit_v":15}`, 30, 15, false, "15 V, is lower than"},
		{"a board's tells nothing of the pack", pack + `,"limit_v":31}` + "\n" + strings.Replace(setup, `"pack":"heron-a"`, `"board":"heron"`, 1) + `"limit_v":33}`, 31, 0, true, "Never ride on below 31 V"},
	} {
		h := pastOf(t, records(t, c.lines+"\n"), "heron-a", at(t, "2026-07-01T00:00:00Z"))
		fit := plainFit(h)
		l := LimitOf(h, fit)
		if l.V != c.v || l.Low.V != c.below || l.Stated != c.stated {
			t.Errorf("%s: %+v, want %v V, stated %v", c.name, l, c.v, c.stated)
		}
		if got := l.Caution(units.Metric, "set it"); !strings.Contains(got, c.words) || strings.Contains(got, "Never ride on below 24") {
			t.Errorf("%s: %s", c.name, got)
		}
		reach := ReachOf(h, fit, model.Standing{RestV: logbook.Some(36)})
		if said := strings.Contains(strings.Join(reach.Cautions, " "), "Stop at the limit"); said != c.stated {
			t.Errorf("%s: %v", c.name, reach.Cautions)
		}
		codes := ""
		for _, w := range HealthOf(h, fit).Warnings {
			codes += w.Code + " "
		}
		if strings.Contains(codes, "limit_too_low") != (c.below > 0) || strings.Contains(codes, "limit_assumed") != (c.name == "none") {
			t.Errorf("%s: %s", c.name, codes)
		}
	}
}

// TestImpossibleReadings: a rider who reads off volts that no pack should have, or more than it
// ever holds, is told so, with what to do where it is true.
func TestImpossibleReadings(t *testing.T) {
	all, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	h := pastOf(t, all, "wren-pack", courseNow)
	fit := plainFit(h)
	for _, c := range []struct {
		name string
		s    model.Standing
		code string
	}{
		{"above full", model.Standing{RestV: logbook.Some(56)}, "above_full"},
		{"below the cut-off", model.Standing{RestV: logbook.Some(27)}, "below_cutoff"},
		{"more Wh than it holds", model.Standing{UsedWh: logbook.Some(9999)}, "used_more_than_full"},
		{"more Ah than it holds", model.Standing{UsedAh: logbook.Some(40)}, "used_more_than_full"},
		{"in between", model.Standing{RestV: logbook.Some(45)}, ""},
	} {
		got := ""
		r := ReachOf(h, fit, c.s)
		if never := c.code == "above_full" || c.code == "below_cutoff"; strings.Contains(r.Words(units.Metric), "must not be ridden") != never {
			t.Errorf("%s: %s", c.name, r.Words(units.Metric))
		}
		for _, w := range r.Warnings {
			switch w.Code {
			case "above_full", "below_cutoff", "used_more_than_full":
				got += w.Code
			}
		}
		if got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
	}
}
