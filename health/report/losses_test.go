package report

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// lossNow ends the invented logs of this file; day(n) is n days after they begin.
var lossNow = time.Date(2026, time.May, 3, 12, 0, 0, 0, time.UTC)

func day(n float64) time.Time {
	return time.Date(2026, time.March, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(n * 24 * float64(time.Hour)))
}

func lossRide(id string, at, wh, startV, endV float64) *logbook.Ride {
	r := &logbook.Ride{Head: logbook.Head{ID: id, Rev: 1}, Pack: "heron", At: day(at)}
	r.DischargedWh, r.StartRestV, r.EndRestV = given(wh), given(startV), given(endV)
	return r
}

func lossCharge(id string, at, wh float64, full logbook.Flag) *logbook.Charge {
	return &logbook.Charge{Head: logbook.Head{ID: id, Rev: 1}, Pack: "heron", At: day(at), ChargedWh: given(wh), Full: full}
}

func lossCheck(id string, at, v float64) *logbook.Check {
	return &logbook.Check{Head: logbook.Head{ID: id, Rev: 1}, Pack: "heron", At: day(at), RestV: given(v)}
}

func lossService(what string, at float64) *logbook.Service {
	return &logbook.Service{Head: logbook.Head{ID: what, Rev: 1}, Pack: "heron", At: day(at), What: what}
}

// given is absent for 0.
func given(v float64) logbook.Num { return logbook.Num{V: v, OK: v != 0} }

func lossHistory(t *testing.T, records ...logbook.Record) *logbook.History {
	t.Helper()
	pack := &logbook.Pack{Head: logbook.Head{ID: "heron", Rev: 1}, Series: logbook.Some(10)}
	h, err := logbook.NewHistory("heron", append([]logbook.Record{pack}, records...), lossNow)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestLossRoundTrips: the figures are plain quotients of the energies logged,
// worked by hand.
func TestLossRoundTrips(t *testing.T) {
	full, part := logbook.Yes, logbook.No
	wall, regen, ahOnly := lossCharge("b", 3, 200, full), lossRide("r", 2, 200, 0, 0), lossRide("r", 2, 200, 0, 0)
	wall.MeterSide = "ac"
	regen.RegenWh = logbook.Some(20)
	ahOnly.RegenAh = logbook.Some(1)
	first, ride := lossCharge("a", 1, 50, full), lossRide("r", 2, 180, 0, 0)
	for _, tc := range []struct {
		name    string
		records []logbook.Record
		want    []Measured
	}{
		{"one ride", []logbook.Record{first, ride, lossCharge("b", 3, 200, full)}, []Measured{{"b", day(3), 90, false}}},
		{"nothing before the first full charge", []logbook.Record{ride, lossCharge("b", 3, 200, full)}, nil},
		{"two rides and a top-up", []logbook.Record{first, ride, lossCharge("b", 3, 60, part), lossRide("s", 4, 60, 0, 0), lossCharge("c", 5, 190, full)}, []Measured{{"c", day(5), 96, false}}},
		{"a ride without Wh, then one with", []logbook.Record{first, ride, lossRide("s", 2.5, 0, 0, 0), lossCharge("b", 3, 200, full), lossRide("u", 4, 95, 0, 0), lossCharge("c", 5, 100, full)}, []Measured{{"c", day(5), 95, false}}},
		{"at the wall", []logbook.Record{first, ride, wall}, nil},
		{"a top-up without Wh", []logbook.Record{first, ride, lossCharge("b", 3, 0, part), lossCharge("c", 4, 190, full)}, nil},
		{"no ride", []logbook.Record{first, lossCharge("b", 3, 2, full)}, nil},
		{"regenerated energy counts against what came out", []logbook.Record{first, regen, lossCharge("b", 3, 200, full)}, []Measured{{"b", day(3), 90, false}}},
		{"regenerated energy unknown", []logbook.Record{first, ahOnly, lossCharge("b", 3, 200, full)}, nil},
		{"more out than in", []logbook.Record{first, ride, lossCharge("b", 3, 150, full)}, []Measured{{"b", day(3), 120, true}}},
		{"so little out that rides are missing", []logbook.Record{first, ride, lossCharge("b", 3, 400, full)}, []Measured{{"b", day(3), 45, true}}},
		{"other cells", []logbook.Record{first, ride, lossService("cells_replaced", 2.5), lossCharge("b", 3, 200, full)}, nil},
	} {
		got := roundTrips(lossHistory(t, tc.records...), nil)
		if len(got) != len(tc.want) {
			t.Errorf("%s: %+v, want %+v", tc.name, got, tc.want)
			continue
		}
		for i, w := range tc.want {
			if g := got[i]; g.Record != w.Record || !g.At.Equal(w.At) || math.Abs(g.Value-w.Value) > 1e-6 || g.Doubted != w.Doubted {
				t.Errorf("%s: %+v, want %+v", tc.name, g, w)
			}
		}
	}
	aside := doubted{{logbook.KindRide, "r", "discharged_wh"}: true}
	if got := roundTrips(lossHistory(t, first, ride, lossCharge("b", 3, 200, full)), aside); len(got) != 1 || !got[0].Doubted {
		t.Errorf("a doubted ride: %+v", got)
	}
}

// TestLossRests: a straight curve of 10 V from empty to full, so that .1 V is
// 1 % of the charge; a month is a twelfth of 365.25 days.
func TestLossRests(t *testing.T) {
	straight := func(v float64) (float64, bool) { return (v - 30) / 10, v >= 30 && v <= 41 }
	soon := lossRide("r", 1, 100, 39, 36.5)
	soon.EndRestMin = logbook.Some(5)
	ride := lossRide("r", 1, 100, 39, 36.5)
	charge := lossCharge("c", 31, 100, logbook.Yes)
	charge.Start, charge.StartRestV = day(30.4375), logbook.Some(36.2)
	later := lossCheck("k", 11, 36.4)
	for _, tc := range []struct {
		name           string
		records        []logbook.Record
		pct, low, high float64 // none where 0
	}{
		{"a ride, then a charge after a month less a day", []logbook.Record{ride, charge}, 3 * 30.4375 / 29.4375, 2 * 30.4375 / 29.4375, 4 * 30.4375 / 29.4375},
		{"a check after ten days", []logbook.Record{ride, later}, 3.04375, 0, 6.0875},
		{"too short", []logbook.Record{ride, lossCheck("k", 3.9, 36.4)}, 0, 0, 0},
		{"long enough", []logbook.Record{ride, lossCheck("k", 4, 36.4)}, 10.145833, 0, 20.291667},
		{"a ride without volts between", []logbook.Record{ride, lossRide("s", 5, 10, 0, 0), later}, 0, 0, 0},
		{"a charge between", []logbook.Record{ride, lossCharge("c", 5, 10, logbook.No), later}, 0, 0, 0},
		{"a check without volts between", []logbook.Record{ride, lossCheck("j", 5, 0), later}, 3.04375, 0, 6.0875},
		{"balanced between", []logbook.Record{ride, lossService("balance", 5), later}, 0, 0, 0},
		{"read too soon after the ride", []logbook.Record{soon, later}, 0, 0, 0},
		{"off the curve", []logbook.Record{ride, lossCheck("k", 11, 25)}, 0, 0, 0},
	} {
		got := restLosses(lossHistory(t, tc.records...), straight, nil, nil)
		if tc.pct == 0 {
			if len(got) != 0 {
				t.Errorf("%s: %+v, want none", tc.name, got)
			}
			continue
		}
		if len(got) != 1 || math.Abs(got[0].Value-tc.pct) > 1e-5 || math.Abs(got[0].Low-tc.low) > 1e-5 || math.Abs(got[0].High-tc.high) > 1e-5 {
			t.Errorf("%s: %+v, want %v, %v to %v", tc.name, got, tc.pct, tc.low, tc.high)
		}
	}
	aside := doubted{{logbook.KindCheck, "k", "rest_v"}: true}
	if got := restLosses(lossHistory(t, ride, later), straight, aside, nil); len(got) != 1 || !got[0].Doubted || got[0].Before != "r" {
		t.Errorf("a doubted check: %+v", got)
	}
	if got := restLosses(lossHistory(t, ride, later), straight, nil, []logbook.Record{later}); len(got) != 1 || !got[0].Doubted {
		t.Errorf("a ride that was not logged: %+v", got)
	}
}

// TestLossesOfInvented: of the packs that the simulator invents, what is
// measured lies about what the model believes, but for the rides that the
// simulator left out of the log.
func TestLossesOfInvented(t *testing.T) {
	records, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	for _, pack := range []string{"wren-pack", "otter-pack"} {
		h, err := logbook.NewHistory(pack, records, courseNow)
		if err != nil {
			t.Fatal(err)
		}
		l := LossesOf(h, noSiblings(h))
		t.Logf("%s: %d round trips, %d rests, %+v, %+v", pack, len(l.RoundTrips), len(l.Rests), l.RoundTripPct, l.RestPctMonth)
		doubted := 0
		for _, m := range l.RoundTrips {
			if m.Doubted {
				doubted++
			} else if off := m.Value - l.RoundTripPct.Value; off < -15 || off > 5 {
				t.Errorf("%s: %+v", pack, m)
			}
		}
		if len(l.RoundTrips) < 50 || doubted*10 > len(l.RoundTrips) || len(l.Rests) == 0 {
			t.Errorf("%s: %d of %d round trips doubted, %d rests", pack, doubted, len(l.RoundTrips), len(l.Rests))
		}
		for _, r := range l.Rests {
			if !(r.Low <= r.Value && r.Value <= r.High) || r.Days < leastRestDays {
				t.Errorf("%s: %+v", pack, r)
			}
		}
	}
}
