package report

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
)

// changed sets fields of the records with an id, given as JSON members.
func changed(lines, id string, members ...string) string {
	all := strings.Split(lines, "\n")
	for i, line := range all {
		if !strings.Contains(line, `"id":"`+id+`"`) {
			continue
		}
		for _, m := range members {
			name, _, _ := strings.Cut(m, ":")
			if had := regexp.MustCompile(name + `:[^,}]+`); had.MatchString(line) {
				line = had.ReplaceAllString(line, m)
			} else {
				line = strings.TrimSuffix(line, "}") + "," + m + "}"
			}
		}
		all[i] = line
	}
	return strings.Join(all, "\n")
}

// TestAuditOfADistance: a distance that does not go with its energy is told by
// the odometer, or by speed and time; where neither tells, miles for kilometres
// are suggested only where the weather and the way are known. 12.0 km are
// 7.46 mi (1 mi = 1.609344 km, NIST SP 811).
func TestAuditOfADistance(t *testing.T) {
	noOdometer := regexp.MustCompile(`"odometer_km":[0-9.]+,`).ReplaceAllString(auditLog(), "")
	calm := strings.ReplaceAll(noOdometer, `"ambient_c":18`, `"ambient_c":18,"headwind_kmh":0,"climb_m":5`)
	// A ride against the wind: 1.5 times the energy, and the charge after it.
	windy := func(lines string) string {
		lines = changed(lines, "ride-9", `"discharged_ah":7.15`, `"discharged_wh":258`, `"end_rest_v":36.0`)
		return changed(lines, "charge-9", `"charged_ah":7.2`, `"charged_wh":279`, `"start_rest_v":36.0`)
	}
	for _, c := range []struct{ name, lines, code string }{
		{"miles, and the odometer tells", changed(auditLog(), "ride-9", `"distance_km":7.46`), "miles_as_km"},
		{"miles, and speed and time tell", changed(noOdometer, "ride-9", `"distance_km":7.46`, `"moving_min":36`), "miles_as_km"},
		{"miles, or a wind that nobody logged", changed(noOdometer, "ride-9", `"distance_km":7.46`), codeUnlike},
		{"miles, on a calm day", changed(calm, "ride-9", `"distance_km":7.46`), "miles_as_km"},
		{"a windy day, and the odometer bears it out", windy(auditLog()), ""},
		{"a windy day, and speed and time bear it out", changed(windy(noOdometer), "ride-9", `"moving_min":36`), ""},
		{"a windy day, and nothing tells", windy(noOdometer), codeUnlike},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := pastOf(t, records(t, c.lines), "heron-a", at(t, "2024-04-01T00:00:00Z"))
			fit := model.FitHistory(h, nil)
			aside := slices.ContainsFunc(fit.Misreadings(), func(m model.Misreading) bool {
				return logbook.HeadOf(m.Record).ID == "ride-9" && m.Field == "distance_km"
			})
			if !aside {
				t.Fatalf("the fit believes the distance; it put aside %+v", fit.Misreadings())
			}
			code := ""
			for _, f := range AuditOf(h, fit) {
				if f.Record != "ride-9" || f.Field != "distance_km" {
					continue
				}
				code = f.Code
				if c.code == codeUnlike && (!strings.Contains(f.Text, "nothing is logged of its wind and climb") || strings.Contains(f.Suggestion, "amend")) {
					t.Errorf("%s; %s", f.Text, f.Suggestion)
				}
			}
			if code != c.code {
				t.Errorf("code %q, want %q", code, c.code)
			}
		})
	}
}

// TestKilometresByTheOdometer asks for the 12.0 km of a ride.
func TestKilometresByTheOdometer(t *testing.T) {
	none := func(lines string, rides ...string) string {
		for _, id := range rides {
			lines = changed(lines, id, `"odometer_km":null`)
		}
		return lines
	}
	for _, c := range []struct {
		name, lines string
		want        float64
	}{
		{"between two readings", auditLog(), 12},
		{"whatever its distance says", changed(auditLog(), "ride-9", `"distance_km":7.46`), 12},
		{"over rides without a reading", none(auditLog(), "ride-8", "ride-9", "ride-10"), 12},
		{"over too many of them", none(auditLog(), "ride-6", "ride-7", "ride-8", "ride-9", "ride-10", "ride-11"), 0},
		{"beside a ride without a distance", changed(none(auditLog(), "ride-8"), "ride-8", `"distance_km":null`), 0},
		{"a reading that the others deny", changed(auditLog(), "ride-9", `"odometer_km":90`), 12},
		{"no reading before", none(auditLog(), "ride-0", "ride-1", "ride-2", "ride-3", "ride-4", "ride-5", "ride-6", "ride-7", "ride-8"), 0},
	} {
		a := newAudit(pastOf(t, records(t, c.lines), "heron-a", at(t, "2024-04-01T00:00:00Z")), nil)
		i := slices.IndexFunc(a.h.Rides, func(r *logbook.Ride) bool { return r.ID == "ride-9" })
		if got := a.movedKm(a.h.Rides[i]); math.Abs(got-c.want) > .01 {
			t.Errorf("%s: %g km, want %g", c.name, got, c.want)
		}
	}
}

// TestKilometresBySpeedAndTime: the rides of the log go at 20 km/h. A speed of
// 12.4 beside miles is in miles too, and tells nothing.
func TestKilometresBySpeedAndTime(t *testing.T) {
	for _, c := range []struct {
		speed, minutes string
		want           float64
	}{
		{"20", "36", 12}, {"18", "40", 12}, {"12.4", "36", 0}, {"20", "null", 0}, {"null", "36", 0},
	} {
		lines := changed(auditLog(), "ride-9", `"moving_speed_kmh":`+c.speed, `"moving_min":`+c.minutes)
		a := newAudit(pastOf(t, records(t, lines), "heron-a", at(t, "2024-04-01T00:00:00Z")), nil)
		i := slices.IndexFunc(a.h.Rides, func(r *logbook.Ride) bool { return r.ID == "ride-9" })
		if got := a.pacedKm(a.h.Rides[i]); math.Abs(got-c.want) > .01 {
			t.Errorf("%s km/h, %s min: %g km, want %g", c.speed, c.minutes, got, c.want)
		}
	}
}

// TestAuditOfVoltsNearEmpty: a pack that stopped a ride at its limit of 31 V was
// under load down there; volts above are of a pack at rest, and where it is
// nearly empty half a volt is next to no charge.
func TestAuditOfVoltsNearEmpty(t *testing.T) {
	h := pastOf(t, records(t, auditLog()), "heron-a", at(t, "2024-04-01T00:00:00Z"))
	a := newAudit(h, model.FitHistory(h, nil))
	for _, c := range []struct {
		stop     string
		v        float64
		expected float64
		small    bool
		code     string
	}{
		{"limit", 31.3, 33.5, false, "read_under_load"},
		{"limit", 32.4, 35.5, false, ""},
		{"", 32.4, 35.5, false, "read_under_load"},
		{"limit", 30.5, 31, true, ""},                    // both next to empty
		{"chosen", 36.7, 37.6, false, "read_under_load"}, // as much, and a good part of the charge
	} {
		m := model.Misreading{Record: &logbook.Ride{Stop: c.stop}, Field: "end_rest_v", Figure: c.v, Expected: c.expected, Surprise: 6}
		if small := a.small(m); small != c.small {
			t.Errorf("%g V for %g V, stopped by %q: small is %v", c.v, c.expected, c.stop, small)
		}
		if c.small {
			continue
		}
		code := ""
		if k := a.unsettled(m); k != nil {
			code = k.code
		}
		if c.code == "" && code == "read_under_load" || c.code != "" && code != c.code {
			t.Errorf("%g V for %g V, stopped by %q: %q, want %q", c.v, c.expected, c.stop, code, c.code)
		}
	}
}
