package report

import (
	"fmt"
	"testing"
	"time"

	"packwane/health/logbook"
)

const serviceBoard = `{"record":"board","id":"heron","service_every_km":300,"service_every_days":365}
{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10}
{"record":"pack","id":"heron-b","board":"heron","chemistry":"nmc","series":10}
`

func leap(id, pack, at string, km, odo float64) string {
	line := fmt.Sprintf(`{"record":"ride","id":%q,"pack":%q,"board":"heron","at":%q`, id, pack, at)
	if km > 0 {
		line += fmt.Sprintf(`,"distance_km":%g`, km)
	}
	if odo > 0 {
		line += fmt.Sprintf(`,"odometer_km":%g`, odo)
	}
	return line + "}\n"
}

func init() {
	dueWalks = append(dueWalks,
		walk{"board_service_days", "a year from a leap day", serviceBoard + leap("a", "heron-a", "2024-02-29T10:00:00Z", 5, 0) + `{"record":"service","id":"done","board":"heron","kind":"inspection","passed":true,"at":"2025-03-10T10:00:00Z"}
`, []step{
			{"2024-03-01T10:00:00Z", "", 0}, {"2025-01-28T10:00:00Z", "", 0}, {"2025-01-29T10:00:00Z", "2025-02-28", 0}, {"2025-03-01T10:00:00Z", "2025-02-28", 1},
			{"2025-03-10T10:00:00Z", "", 0}, {"2026-03-11T10:00:00Z", "2026-03-10", 1},
		}, nil},
		walk{"board_service_days", "a service that failed does not count", serviceBoard + leap("a", "heron-a", "2024-02-29T10:00:00Z", 5, 0) + `{"record":"service","id":"bad","board":"heron","kind":"inspection","passed":false,"at":"2025-03-10T10:00:00Z"}
`, []step{{"2025-03-11T10:00:00Z", "2025-02-28", 11}}, nil},
		walk{"board_service_days", "snoozed on the board", serviceBoard + leap("a", "heron-a", "2024-02-29T10:00:00Z", 5, 0) + `{"record":"service","id":"later","board":"heron","kind":"snooze","at":"2025-03-01T10:00:00Z","until":"2025-03-15T10:00:00Z"}
`, []step{{"2025-02-28T10:00:00Z", "2025-02-28", 0}, {"2025-03-02T10:00:00Z", "", 0}, {"2025-03-15T10:00:00Z", "2025-02-28", 15}}, nil},
		walk{"board_service_km", "with both packs, by the odometer", serviceBoard +
			leap("a", "heron-a", "2024-01-01T10:00:00Z", 10, 110) + leap("b", "heron-b", "2024-01-11T10:00:00Z", 0, 210) + leap("c", "heron-a", "2024-01-21T10:00:00Z", 0, 299.5) + leap("d", "heron-b", "2024-01-31T10:00:00Z", 0, 301) +
			`{"record":"service","id":"done","board":"heron","kind":"repair","at":"2024-02-02T10:00:00Z"}
` + leap("e", "heron-a", "2024-02-05T10:00:00Z", 20, 0) + leap("f", "heron-a", "2024-03-06T10:00:00Z", 0, 601.5),
			[]step{
				{"2024-01-02T10:00:00Z", "", 0}, {"2024-01-22T10:00:00Z", "2024-01-23", 0}, {"2024-02-01T10:00:00Z", "2024-01-31", 1}, {"2024-02-02T10:00:00Z", "", 0}, {"2024-03-08T10:00:00Z", "2024-03-06", 2},
			}, nil},
		walk{"board_service_km", "without an odometer, by the distances", serviceBoard + repeat(31, "2024-01-01T10:00:00Z", `{"record":"ride","pack":"heron-a","board":"heron","at":"%s","id":"r%d","distance_km":10}`),
			[]step{{"2024-01-30T09:00:00Z", "2024-01-31", 0}, {"2024-01-30T10:00:00Z", "2024-01-30", 0}}, nil},
		walk{"board_service_km", "a board that had gone far before the log", serviceBoard + leap("a", "heron-a", "2024-01-01T10:00:00Z", 10, 5000) + leap("b", "heron-a", "2024-06-01T10:00:00Z", 0, 5289) + leap("c", "heron-a", "2024-12-01T10:00:00Z", 0, 5290),
			[]step{{"2024-01-02T10:00:00Z", "", 0}, {"2024-12-01T10:00:00Z", "2024-12-01", 0}}, nil},
	)
}

// A reading that contradicts the rest is not believed: typed tenfold, or of
// an odometer that began anew.
func TestOdometerReadingsThatFit(t *testing.T) {
	for _, c := range []struct {
		name string
		odo  []float64
		want float64 // after the last ride; each goes 10 km
	}{
		{"all fit", []float64{110, 120, 130, 140}, 140},
		{"one tenfold", []float64{110, 1200, 130, 140}, 140},
		{"the last one a hundredfold", []float64{110, 120, 130, 14000}, 140},
		{"one too low", []float64{110, 12, 130, 140}, 140},
		{"none", []float64{0, 0, 0, 0}, 40},
		{"the first is late", []float64{0, 0, 130, 140}, 140},
	} {
		lines := serviceBoard
		for i, odo := range c.odo {
			when := time.Date(2024, 1, 1+i, 10, 0, 0, 0, time.UTC)
			lines += leap(fmt.Sprint("r", i), "heron-a", when.Format(time.RFC3339), 10, odo)
		}
		now := at(t, "2024-02-01T00:00:00Z")
		d := newDuty(pastOf(t, records(t, lines), "heron-a", now), nil, now)
		legs := d.legs("heron")
		if got := legs[len(legs)-1].km; got != c.want {
			t.Errorf("%s: %g km, want %g", c.name, got, c.want)
		}
		for i := 1; i < len(legs); i++ {
			if legs[i].km < legs[i-1].km {
				t.Errorf("%s: the odometer falls: %v", c.name, legs)
			}
		}
	}
}

// risingReadings is held against trying every subset.
func TestRisingReadingsIsTheLongestRun(t *testing.T) {
	rides := make([]*logbook.Ride, 9)
	for seed := range 400 {
		x := uint32(seed*2654435761 + 1)
		for i := range rides {
			x = x*1664525 + 1013904223
			rides[i] = &logbook.Ride{}
			if x>>28 != 0 {
				rides[i].OdometerKm = logbook.Some(float64(x >> 20 & 7))
			}
		}
		got := 0
		last := -1.0
		for i, is := range risingReadings(rides) {
			if is {
				if rides[i].OdometerKm.V < last {
					t.Fatal("the run falls")
				}
				got, last = got+1, rides[i].OdometerKm.V
			}
		}
		if want := longestByTrying(rides); got != want {
			t.Fatalf("seed %d: a run of %d, want %d", seed, got, want)
		}
	}
}

func longestByTrying(rides []*logbook.Ride) (best int) {
	for set := range 1 << len(rides) {
		n, last, ok := 0, -1.0, true
		for i, r := range rides {
			if set>>i&1 == 1 {
				ok = ok && r.OdometerKm.OK && r.OdometerKm.V >= last
				n, last = n+1, r.OdometerKm.V
			}
		}
		if ok {
			best = max(best, n)
		}
	}
	return best
}
