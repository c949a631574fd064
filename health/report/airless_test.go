package report

import (
	"strings"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// TestAirless: wheels without air have no pressure that a sheet, a hint or an explanation
// could ask for.
func TestAirless(t *testing.T) {
	all, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		tyre string
		asks bool
	}{{"road", true}, {"", true}, {"90 mm Urethane", false}, {"8in solid", false}} {
		records := append([]logbook.Record(nil), all...)
		for i, r := range records {
			switch r := r.(type) {
			case *logbook.Board:
				b := *r
				b.Tyre, b.RefTyreKpa = c.tyre, logbook.Num{}
				records[i] = &b
			case *logbook.Ride:
				ride := *r
				ride.TyreKpa = logbook.Num{}
				records[i] = &ride
			}
		}
		h := pastOf(t, records, "wren-pack", courseNow)
		fit := plainFit(h)
		s := TestSheetOf(h, fit)
		said := ""
		for _, l := range append(append(s.Set, s.Record...), s.Weak...) {
			said += l.What + " "
		}
		x, err := ExplainOf(h, fit, h.Rides[len(h.Rides)-1])
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range x.Assumptions {
			said += a.Cause + " "
		}
		for _, word := range []string{"tyre ", "tyre_kpa ", "tyre_pressure "} {
			if strings.Contains(said, word) != c.asks {
				t.Errorf("%q: %s: %s", c.tyre, word, said)
			}
		}
	}
}
