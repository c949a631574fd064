package report

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
)

// TestAuditOfAnEnergy: where the fit puts the energy aside that a ride drew, and
// its distance in miles for kilometres explains that, the distance is meant.
// 12.0 km are 7.46 mi (1 mi = 1.609344 km, NIST SP 811). An energy of its own kind
// is still told as one.
func TestAuditOfAnEnergy(t *testing.T) {
	bare := regexp.MustCompile(`"(odometer_km|start_rest_v|end_rest_v|end_rest_min|discharged_ah|charged_ah|charged_wh)":[0-9.]+,`).ReplaceAllString(auditLog(), "")
	calm := strings.ReplaceAll(bare, `"ambient_c":18`, `"ambient_c":18,"headwind_kmh":0,"climb_m":5`)
	for _, c := range []struct{ name, lines, field, code string }{
		{"miles, on a calm day", changed(calm, "ride-9", `"distance_km":7.46`), "distance_km", "miles_as_km"},
		{"miles, or a wind that nobody logged", changed(bare, "ride-9", `"distance_km":7.46`), "distance_km", codeUnlike},
		{"speed and time bear the distance out", changed(bare, "ride-9", `"distance_km":7.46`, `"moving_min":22.4`), "discharged_wh", codeUnlike},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := pastOf(t, records(t, c.lines), "heron-a", at(t, "2024-04-01T00:00:00Z"))
			fit := model.FitHistory(h, nil)
			aside := slices.ContainsFunc(fit.Misreadings(), func(m model.Misreading) bool {
				return logbook.HeadOf(m.Record).ID == "ride-9" && m.Field == "discharged_wh"
			})
			if !aside {
				t.Fatalf("the fit believes the energy; it put aside %+v", fit.Misreadings())
			}
			var got []string
			for _, f := range AuditOf(h, fit) {
				if f.Record == "ride-9" {
					got = append(got, f.Field+" "+f.Code)
				}
			}
			if len(got) != 1 || got[0] != c.field+" "+c.code {
				t.Errorf("found %v, want %s %s", got, c.field, c.code)
			}
		})
	}
}
