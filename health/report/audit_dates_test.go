package report

import (
	"strings"
	"testing"

	"packwane/health/logbook"
)

// twoYears is the sound log with the same days of the year before, on which the
// rides went half as far again.
func twoYears(t *testing.T) []logbook.Record {
	t.Helper()
	all := records(t, strings.Replace(auditLog(), "2024-01-01", "2023-01-01", 1))
	for _, r := range records(t, auditLog()) {
		logbook.HeadOf(r).ID = "early-" + logbook.HeadOf(r).ID
		switch r := r.(type) {
		case *logbook.Ride:
			r.At, r.End = r.At.AddDate(-1, 0, 0), r.End.AddDate(-1, 0, 0)
			r.OdometerKm.V = 100 + 1.5*(r.OdometerKm.V-500)
			for _, v := range []*logbook.Num{&r.DistanceKm, &r.DischargedAh, &r.DischargedWh} {
				v.V *= 1.5
			}
			r.EndRestV.V -= 2
			all = append(all, r)
		case *logbook.Charge:
			r.At, r.Start = r.At.AddDate(-1, 0, 0), r.Start.AddDate(-1, 0, 0)
			r.ChargedAh.V, r.ChargedWh.V, r.StartRestV.V = 1.5*r.ChargedAh.V, 1.5*r.ChargedWh.V, r.StartRestV.V-2
			all = append(all, r)
		}
	}
	return all
}

// TestAuditOfAYearAmiss: a ride that is dated a year late or early is named by its
// date, whether its odometer or what the charges put back tells, and nothing else is
// said of the records around it.
func TestAuditOfAYearAmiss(t *testing.T) {
	for _, tc := range []struct {
		name, ride string
		years      int
		odometer   bool
	}{
		{"sound", "", 0, true}, {"sound, without an odometer", "", 0, false},
		{"late", "early-ride-9", 1, true}, {"late, without an odometer", "early-ride-9", 1, false},
		{"early", "ride-9", -1, true}, {"early, without an odometer", "ride-9", -1, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			all := twoYears(t)
			truth := ""
			for _, r := range all {
				ride, ok := r.(*logbook.Ride)
				if ok && !tc.odometer {
					ride.OdometerKm = logbook.Num{}
				}
				if ok && ride.ID == tc.ride {
					truth = "at=" + logbook.FormatTime(ride.At) + " end=" + logbook.FormatTime(ride.End)
					ride.At, ride.End = ride.At.AddDate(tc.years, 0, 0), ride.End.AddDate(tc.years, 0, 0)
				}
			}
			found := auditOf(t, pastOf(t, all, "heron-a", at(t, "2024-04-01T00:00:00Z")))
			if tc.ride == "" {
				if len(found) > 0 {
					t.Errorf("%+v", found)
				}
				return
			}
			named := 0
			for _, f := range found {
				switch {
				case f.Record == tc.ride && f.Code == codeMisdated && strings.HasSuffix(f.Suggestion, truth):
					named++
				case strings.HasSuffix(f.Record, "-9") || f.Code == codeMisdated:
					t.Errorf("%s %s: %s; %s", f.Record, f.Code, f.Text, f.Suggestion)
				}
			}
			if named != 1 {
				t.Errorf("not named: %+v", found)
			}
		})
	}
}
