package report

import (
	"fmt"
	"strings"
	"testing"

	"packwane/health/logbook"
	"packwane/health/units"
)

// A long log is cut to its latest records, a short one is not, and a record
// that lies before the cut is looked at in the whole log.
func TestInsightOfALongLog(t *testing.T) {
	lines := func(n int) string {
		var b strings.Builder
		b.WriteString(duePack)
		for i := range n {
			fmt.Fprintf(&b, `{"record":"ride","id":"r%d","pack":"heron-a","board":"heron","at":"%04d-%02d-%02dT10:00:00Z","distance_km":8,"discharged_wh":110}`+"\n", i, 2020+i/336, i/28%12+1, i%28+1)
		}
		return b.String()
	}
	for n, want := range map[int]int{mostRecords: mostRecords, 2 * mostRecords: mostRecords} {
		all := records(t, lines(n))
		h := pastOf(t, all, "heron-a", at(t, "2024-01-01T00:00:00Z"))
		short, cut := shorten(h, h.Rides[n-1])
		if len(short.Rides) != want || cut != (n > want) || len(h.Rides) != n {
			t.Errorf("of %d rides %d are looked at (cut: %v), and the log holds %d", n, len(short.Rides), cut, len(h.Rides))
		}
		if whole, cut := shorten(h, h.Rides[0]); cut || len(whole.Rides) != n {
			t.Errorf("the first of %d rides is looked at among %d", n, len(whole.Rides))
		}
	}
	all := records(t, lines(2*mostRecords))
	h := pastOf(t, all, "heron-a", at(t, "2024-01-01T00:00:00Z"))
	got := InsightOf(h, logbook.Record(h.Rides[len(h.Rides)-1]), plainFit)
	if got.Shows == nil || got.Shows.Verdict != "as_expected" || got.MainCause != nil {
		t.Errorf("one of many like rides shows %+v by %+v: want it as expected, by no cause that the cut log cannot tell", got.Shows, got.MainCause)
	}
}

// 16.0934 km are 10 mi, by definition of the mile (1.609344 km).
func TestKilometresAreRoundedInTheReadersUnit(t *testing.T) {
	for _, test := range []struct {
		km               float64
		metric, imperial string
	}{{16.21, "16.2 km", "10.1 mi"}, {16.09344, "16.1 km", "10 mi"}, {402.336, "402 km", "250 mi"}, {0, "0 km", "0 mi"}, {-3.27, "-3.3 km", "-2 mi"}} {
		v := kilometres(test.km)
		if m, i := v.in(units.Metric), v.in(units.Imperial); m != test.metric || i != test.imperial {
			t.Errorf("%g km: %q and %q, want %q and %q", test.km, m, i, test.metric, test.imperial)
		}
	}
}
