package report

import (
	"slices"
	"strings"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// TestAuditOfEarlyStops: a short ride of a simulated log is said to have been stopped by
// the limit. The audit says so of that alone.
func TestAuditOfEarlyStops(t *testing.T) {
	stopped := func(times int) (found []Finding, id string) {
		cfg := simulate.Preset(simulate.Rich, 9)
		cfg.Years, cfg.Keeping.Wrong = 1, 0
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		past := 0
		for _, r := range log.Records {
			ride, ok := r.(*logbook.Ride)
			if !ok {
				continue
			}
			if past++; past < 20 || times == 0 || ride.Stop == "limit" {
				continue
			}
			ride.Stop, id = "limit", ride.ID
			times--
		}
		return auditOf(t, pastOf(t, log.Records, cfg.Pack.ID, logbook.EndOf(log.Records[len(log.Records)-1]))), id
	}
	early := func(found []Finding) (out []Finding) {
		for _, f := range found {
			if f.Code == codeEarly {
				out = append(out, f)
			}
		}
		return out
	}
	found, id := stopped(1)
	if e := early(found); len(e) != 1 || e[0].Record != id || !strings.Contains(e[0].Text, "of the charge was left") || !strings.Contains(e[0].Suggestion, "do not ride") || !strings.HasSuffix(e[0].Suggestion, "packwane amend "+id+" stop=chosen") {
		t.Errorf("a stop of %s at the limit with much left: %+v", id, found)
	}
	for _, f := range found {
		if f.Record == id && f.Code != codeEarly {
			t.Errorf("for the stop's sake another figure is doubted: %+v", f)
		}
	}
	if found, _ := stopped(0); len(early(found)) > 0 {
		t.Errorf("a sound log: %+v", found)
	}
}

// TestAuditOfAMetersSide: it was forgotten once.
func TestAuditOfAMetersSide(t *testing.T) {
	plugs := strings.ReplaceAll(auditLog(), `"charged_ah":4.75,"charged_wh":186,`, `"charged_wh":214,"meter":"plug","meter_side":"ac",`)
	about := func(log string) *Finding {
		all := auditing(t, log)
		if i := slices.IndexFunc(all, func(f Finding) bool { return f.Record == "charge-0" }); i >= 0 {
			return &all[i]
		}
		return nil
	}
	f := about(strings.Replace(plugs, `"meter":"plug","meter_side":"ac",`, `"meter":"plug",`, 1))
	if f == nil || f.Code != codeSide || f.Field != "meter_side" || !strings.HasSuffix(f.Suggestion, "packwane amend charge-0 meter_side=ac") {
		t.Errorf("a forgotten side: %+v", f)
	}
	if f := about(plugs); f != nil {
		t.Errorf("all on one side: %+v", f)
	}
}
