package report

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// The records of these tests are invented.
const duePack = `{"record":"board","id":"heron","ref_tyre_kpa":250}
{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_nominal_v":3.6,"cell_full_v":4.2,"limit_v":31,"in_service":"2023-06-01"}
`

// records reads lines of the log.
func records(t *testing.T, lines string) []logbook.Record {
	t.Helper()
	var out []logbook.Record
	for e, err := range logbook.Read(strings.NewReader(lines), "test") {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e.Record)
	}
	return out
}

func at(t *testing.T, text string) time.Time {
	t.Helper()
	when, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return when
}

func pastOf(t *testing.T, all []logbook.Record, pack string, now time.Time) *logbook.History {
	t.Helper()
	h, err := logbook.NewHistory(pack, all, now)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// byRule picks the reminder of a rule.
func byRule(all []Reminder, rule string) (Reminder, bool) {
	i := slices.IndexFunc(all, func(r Reminder) bool { return r.Rule == rule })
	if i < 0 {
		return Reminder{}, false
	}
	return all[i], true
}

// step is one look at a log: due is the day that the reminder must name, ""
// where there must be none.
type step struct {
	now, due string
	overdue  int
}

// walk is the way of one reminder from not due to due to done.
type walk struct {
	rule, name string
	lines      string
	steps      []step
	evidence   []string // ids that the last reminder given must name
}

func (w walk) run(t *testing.T) {
	all := records(t, w.lines)
	uid := ""
	for _, s := range w.steps {
		now := at(t, s.now)
		r, is := byRule(DueOf(pastOf(t, all, "heron-a", now), nil, now), w.rule)
		switch {
		case is != (s.due != ""):
			t.Errorf("%s: reminder is %v (%s), want %q", s.now, is, r.Because, s.due)
			continue
		case !is:
			uid = ""
			continue
		}
		if r.Due.String() != s.due || r.OverdueDays != s.overdue {
			t.Errorf("%s: due %s, %d days over, want %s, %d: %s", s.now, r.Due, r.OverdueDays, s.due, s.overdue, r.Because)
		}
		if uid != "" && r.UID != uid {
			t.Errorf("%s: the same reminder has another uid", s.now)
		}
		uid = r.UID
		for _, id := range w.evidence {
			if !slices.Contains(r.Evidence.Records, id) {
				t.Errorf("%s: evidence %v does not name %s", s.now, r.Evidence.Records, id)
			}
		}
		if !strings.Contains(r.Do, "local codes") && r.Board == "" {
			t.Errorf("%s: %q does not defer to local codes", r.Rule, r.Do)
		}
	}
}

func TestDueWalks(t *testing.T) {
	for _, w := range dueWalks {
		t.Run(w.rule+"/"+w.name, w.run)
	}
}

// Rules that only a fit can raise are walked in due_model_test.go.
var modelRules = []string{"health_at_retire_level", "need_not_met", "health_below_80", "resistance_above_fade", "range_uncertain", "capacity_lost_at_once"}

func TestEveryRuleIsWalked(t *testing.T) {
	for _, rule := range DueRules() {
		walked := slices.Contains(modelRules, rule.Name) || slices.ContainsFunc(dueWalks, func(w walk) bool { return w.rule == rule.Name })
		if !walked {
			t.Errorf("no test walks %s", rule.Name)
		}
		if rule.When == "" || rule.Ends == "" || rule.Source == "" || rule.Do == "" {
			t.Errorf("%s does not say when, how it ends, what to do and where it comes from", rule.Name)
		}
		if rule.Snoozable && rule.Action == StopRiding {
			t.Errorf("%s is a stop that can be snoozed", rule.Name)
		}
	}
}

// An unknown is never a stop: a log that says nothing of the pack's state
// raises none, whatever is missing.
func TestUnknownIsNeverAStop(t *testing.T) {
	now := at(t, "2024-06-01T12:00:00Z")
	for _, lines := range []string{
		`{"record":"pack","id":"heron-a"}`,
		duePack,
		`{"record":"pack","id":"heron-a"}
{"record":"ride","pack":"heron-a","at":"2024-05-01T10:00:00Z"}
{"record":"charge","pack":"heron-a","at":"2024-05-01T12:00:00Z"}
{"record":"check","pack":"heron-a","at":"2024-05-01T13:00:00Z"}
{"record":"service","pack":"heron-a","kind":"inspection","at":"2024-05-02T13:00:00Z"}`,
		duePack + `{"record":"ride","pack":"heron-a","at":"2024-05-01T10:00:00Z","stop":"fault"}`,
	} {
		for _, r := range DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now) {
			if r.Action == StopRiding || r.Action == Retire {
				t.Errorf("%s: %s", r.Rule, r.Because)
			}
		}
	}
}

// Where a pack must not be used, nothing asks for a ride or a charge.
func TestNothingAsksAStoppedPackToBeUsed(t *testing.T) {
	lines := duePack + tenPartCharges + `{"record":"service","id":"fell","pack":"heron-a","kind":"impact","at":"2024-03-01T08:00:00Z"}
`
	now := at(t, "2024-03-10T12:00:00Z")
	all := DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now)
	if len(all) == 0 || all[0].Action != StopRiding || !all[0].Overdue() {
		t.Fatalf("the stop is not listed first, as overdue: %v", all)
	}
	for _, r := range all {
		if r.Action == Retest || r.Rule == ruleBalanceHold {
			t.Errorf("%s: %s", r.Rule, r.Do)
		}
	}
}

func TestSnooze(t *testing.T) {
	repair := `{"record":"service","id":"mend","pack":"heron-a","kind":"repair","at":"2024-03-01T08:00:00Z"}
{"record":"service","id":"fell","pack":"heron-a","kind":"impact","at":"2024-03-01T09:00:00Z"}
`
	snooze := func(more string) string {
		return `{"record":"service","pack":"heron-a","kind":"snooze","at":"2024-03-05T08:00:00Z"` + more + "}\n"
	}
	for _, c := range []struct {
		name, lines, now string
		want             bool
	}{
		{"in force", snooze(`,"until":"2024-03-20T00:00:00Z"`), "2024-03-19T23:59:59Z", false},
		{"over", snooze(`,"until":"2024-03-20T00:00:00Z"`), "2024-03-20T00:00:00Z", true},
		{"without an end it lasts a week", snooze(""), "2024-03-12T07:59:59Z", false},
		{"and no longer", snooze(""), "2024-03-12T08:00:00Z", true},
		{"of another action", snooze(`,"until":"2024-03-20T00:00:00Z","note":"retest"`), "2024-03-10T00:00:00Z", true},
		{"of this action", snooze(`,"until":"2024-03-20T00:00:00Z","note":"retest, inspect"`), "2024-03-10T00:00:00Z", false},
		{"of this rule", snooze(`,"until":"2024-03-20T00:00:00Z","note":"cells_worked_on"`), "2024-03-10T00:00:00Z", false},
		{"with any other note", snooze(`,"until":"2024-03-20T00:00:00Z","note":"retest after the holidays"`), "2024-03-10T00:00:00Z", false},
		{"what came later is not silenced", snooze(`,"until":"2024-03-20T00:00:00Z"`) + `{"record":"service","id":"again","pack":"heron-a","kind":"repair","at":"2024-03-08T08:00:00Z"}` + "\n", "2024-03-10T00:00:00Z", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			now := at(t, c.now)
			all := DueOf(pastOf(t, records(t, duePack+repair+c.lines), "heron-a", now), nil, now)
			if _, is := byRule(all, "cells_worked_on"); is != c.want {
				t.Errorf("reminder %v, want %v", is, c.want)
			}
			if _, is := byRule(all, "impact_unchecked"); !is {
				t.Error("a snooze silenced a stop")
			}
		})
	}
}

// The calendar day is that of the one who asks.
func TestDueDayIsThatOfTheReader(t *testing.T) {
	lines := duePack + `{"record":"service","id":"fell","pack":"heron-a","kind":"impact","at":"2024-02-29T23:30:00-05:00"}`
	for _, c := range []struct {
		now, due string
		overdue  int
	}{
		{"2024-02-29T23:45:00-05:00", "2024-02-29", 0},
		{"2024-03-01T00:15:00-05:00", "2024-02-29", 1},
		{"2024-03-01T13:45:00+09:00", "2024-03-01", 0},
		{"2024-03-02T00:10:00+09:00", "2024-03-01", 1},
		{"2025-03-01T12:00:00-05:00", "2024-02-29", 366},
	} {
		now := at(t, c.now)
		r, _ := byRule(DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now), "impact_unchecked")
		if r.Due.String() != c.due || r.OverdueDays != c.overdue {
			t.Errorf("%s: due %s, %d over, want %s, %d", c.now, r.Due, r.OverdueDays, c.due, c.overdue)
		}
	}
}

// Across the night on which the clocks go forward a day still counts as one.
func TestOverdueDaysAcrossTheClockChange(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no time zones on this machine")
	}
	lines := duePack + `{"record":"service","id":"fell","pack":"heron-a","kind":"impact","at":"2024-03-30T12:00:00+01:00"}`
	for days, text := range []string{"2024-03-30 23:30", "2024-03-31 00:30", "2024-04-01 00:30"} {
		now, _ := time.ParseInLocation("2006-01-02 15:04", text, zone)
		r, _ := byRule(DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now), "impact_unchecked")
		if r.OverdueDays != days {
			t.Errorf("%s: %d days over, want %d", text, r.OverdueDays, days)
		}
	}
}

func TestRetiredPackIsLeftInPeace(t *testing.T) {
	lines := duePack + `{"record":"service","id":"bulge","pack":"heron-a","kind":"warning_sign","at":"2024-02-01T08:00:00Z"}
{"record":"service","id":"gone","pack":"heron-a","kind":"retired","at":"2024-02-03T08:00:00Z"}
`
	now := at(t, "2024-06-01T12:00:00Z")
	if all := DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now); len(all) != 0 {
		t.Errorf("a retired pack has reminders: %v", all)
	}
	lines += `{"record":"ride","id":"back","pack":"heron-a","at":"2024-05-01T10:00:00Z"}`
	if all := DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now); len(all) == 0 || all[0].Rule != "warning_sign_unchecked" {
		t.Errorf("a pack that is ridden after all has no stop: %v", all)
	}
}

func TestBecauseSpeaksTheRidersUnits(t *testing.T) {
	now := at(t, "2024-06-01T12:00:00Z")
	lines := duePack + `{"record":"charge","id":"frost","pack":"heron-a","at":"2024-05-30T10:00:00Z","pack_c":-5}`
	r, _ := byRule(DueOf(pastOf(t, records(t, lines), "heron-a", now), nil, now), "charge_too_cold")
	if !strings.Contains(r.Because, "-5 °C") || !strings.Contains(r.BecauseIn(units.Imperial), "23 °F") {
		t.Errorf("%q, %q", r.Because, r.BecauseIn(units.Imperial))
	}
}

// DueFor of the grave actions gives what DueOf gives of them, in every walk.
func TestDueForIsAPartOfDueOf(t *testing.T) {
	grave := []Action{StopRiding, Retire, Inspect}
	some := 0
	for _, w := range dueWalks {
		for _, s := range w.steps {
			now := at(t, s.now)
			h := pastOf(t, records(t, w.lines), "heron-a", now)
			want := slices.DeleteFunc(DueOf(h, nil, now), func(r Reminder) bool { return !slices.Contains(grave, r.Action) })
			got := DueFor(h, nil, now, grave...)
			if fmt.Sprint(got) != fmt.Sprint(want) { // they hold NaN
				t.Errorf("%s, %s, %s: %v, want %v", w.rule, w.name, s.now, got, want)
			}
			some += len(got)
		}
	}
	if some < 50 {
		t.Errorf("%d reminders only were held against each other", some)
	}
}
