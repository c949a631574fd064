package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

// pacedLog is a log whose speeds are told by distance and time alone; slow of its rides,
// 7 apart, crawl, and draw as crawling does.
func pacedLog(slow int) string {
	var b strings.Builder
	b.WriteString(`{"record":"board","id":"heron","ref_tyre_kpa":250,"mass_kg":11}
{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_nominal_v":3.6,"cell_full_v":4.2,"limit_v":31,"in_service":"2024-01-01"}
`)
	for i := range 28 {
		at := time.Date(2024, 3, 1+i, 17, 0, 0, 0, time.UTC)
		km, kmh, whKm := 12+.3*float64(i%4), 20+1.2*math.Sin(float64(i)), 14+.5*math.Cos(float64(2*i))
		if i%7 == 3 && i/7 < slow {
			kmh, whKm = 12, 10.5
		}
		wh := whKm * km
		fmt.Fprintf(&b, `{"record":"ride","id":"ride-%d","pack":"heron-a","board":"heron","at":%q,"distance_km":%.1f,"moving_min":%.0f,"discharged_ah":%.2f,"discharged_wh":%.0f,"tyre_kpa":250,"rider":"ida","rider_kg":80,"ambient_c":18}`+"\n",
			i, at.Format(time.RFC3339), km, 60*km/kmh, wh/36.5, wh)
		fmt.Fprintf(&b, `{"record":"charge","id":"charge-%d","pack":"heron-a","at":%q,"charged_ah":%.2f,"full":true,"hold_min":60,"ambient_c":20}`+"\n",
			i, at.Add(6*time.Hour).Format(time.RFC3339), wh/36.5*1.003)
	}
	return b.String()
}

// TestAuditOfADistanceInMiles: 12.6 km typed as 7.83 mi makes a ride of 12 km/h that took 22
// Wh/km. A ride that was slow in truth drew less, not more.
func TestAuditOfADistanceInMiles(t *testing.T) {
	for _, c := range []struct{ name, lines, code string }{
		{"sound", pacedLog(0), ""},
		{"slow rides", pacedLog(3), ""},
		{"miles", changed(pacedLog(0), "ride-10", `"distance_km":7.83`), "miles_as_km"},
		{"miles beside slow rides", changed(pacedLog(2), "ride-14", `"distance_km":7.83`), "miles_as_km"},
	} {
		all := slices.DeleteFunc(auditing(t, c.lines), func(f Finding) bool { return f.Field != "distance_km" })
		if c.code == "" && len(all) > 0 || c.code != "" && (len(all) != 1 || all[0].Code != c.code || !strings.Contains(all[0].Suggestion, "distance_km=12.6")) {
			t.Errorf("%s: %+v, want %q", c.name, all, c.code)
		}
	}
}
