package report

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"packwane/health/model"
)

// hillLog is a way up to work and down again, day after day. Down the hill does most of
// the work, so that wind, lights and how the rider brakes decide what the pack adds: from
// a fifteenth of the way up to a quarter. With the name of the way or without.
func hillLog(route string) string {
	var b strings.Builder
	b.WriteString(`{"record":"board","id":"finch","ref_tyre_kpa":350,"mass_kg":18}
{"record":"pack","id":"finch-a","board":"finch","chemistry":"lfp","series":13,"parallel":4,"cell_capacity_ah":3.8,"cell_full_v":3.65,"limit_v":36.4,"in_service":"2024-03-01"}
`)
	for day := range 40 {
		at := time.Date(2024, 3, 1+day, 7, 20, 0, 0, time.UTC)
		up := 158 + 8*math.Sin(float64(3*day))
		down := []float64{24, 11, 40, 17, 30, 14}[day%6]
		for _, r := range []struct {
			id                 string
			after              time.Duration
			wh, climb, descent float64
		}{{"up", 0, up, 255, 20}, {"down", 10 * time.Hour, down, 20, 255}} {
			start := at.Add(r.after)
			fmt.Fprintf(&b, `{"record":"ride","id":"%s-%d","pack":"finch-a","board":"finch","at":%q,"end":%q,"distance_km":7.4,"moving_min":21,"discharged_wh":%.1f,"discharged_ah":%.2f,"tyre_kpa":340,"rider_kg":80,"ambient_c":14,"climb_m":%g,"descent_m":%g%s}`+"\n",
				r.id, day, start.Format(time.RFC3339), start.Add(23*time.Minute).Format(time.RFC3339), r.wh, r.wh/41.6, r.climb, r.descent, route)
		}
		fmt.Fprintf(&b, `{"record":"charge","id":"charge-%d","pack":"finch-a","at":%q,"charged_ah":%.2f,"full":true,"hold_min":60,"ambient_c":18}`+"\n",
			day, at.Add(14*time.Hour).Format(time.RFC3339), (up+down)/41.6*1.003)
	}
	return b.String()
}

// TestAuditOfRidesDownAHill: none of them is wrong, and a decimal point that slipped on the
// way up is still found.
func TestAuditOfRidesDownAHill(t *testing.T) {
	for _, route := range []string{"", `,"route":"work"`} {
		lines := hillLog(route)
		of := func(lines string) []Finding {
			return auditOf(t, pastOf(t, records(t, lines), "finch-a", at(t, "2024-05-01T00:00:00Z")))
		}
		for _, f := range of(lines) {
			t.Errorf("%q: %s %s: %s; %s", route, f.Record, f.Field, f.Text, f.Suggestion)
		}
		wrong := of(changed(lines, "up-20", `"discharged_wh":1581`))
		if len(wrong) == 0 || wrong[0].Record != "up-20" || wrong[0].Field != "discharged_wh" {
			t.Errorf("%q: 1581 Wh typed for 158.1: found in %d others first", route, len(wrong))
		}
	}
}

// TestRangeOfHillsIsSteady: a ride that says but how far it went tells nothing of the range,
// and changes neither its middle nor how well it is known, whatever ways stood at its place
// in the log before.
func TestRangeOfHillsIsSteady(t *testing.T) {
	lines := hillLog("")
	of := func(lines string) (mid, half float64) {
		h := pastOf(t, records(t, lines), "finch-a", at(t, "2024-05-01T00:00:00Z"))
		d := model.FitHistory(h, nil).At(h.AsOf).RangeKm
		return model.Quantile(d, .5), (model.Quantile(d, .95) - model.Quantile(d, .05)) / 2
	}
	mid, half := of(lines)
	for day := range 3 {
		lines += fmt.Sprintf(`{"record":"ride","id":"bare-%d","pack":"finch-a","board":"finch","at":"2024-04-1%dT07:20:00Z","end":"2024-04-1%dT07:43:00Z","distance_km":7.4}`+"\n", day, day+1, day+1)
		now, wide := of(lines)
		if math.Abs(now-mid) > .25*half || wide > 1.15*half || wide < half/1.15 {
			t.Errorf("with %d bare rides: %.1f km, half-width %.1f; %.1f and %.1f without", day+1, now, wide, mid, half)
		}
	}
}
