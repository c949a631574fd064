package report

import (
	"slices"
	"strings"
	"testing"

	"packwane/health/units"
)

// lacking leaves the line of a record out.
func lacking(lines, id string) string {
	all := strings.Split(lines, "\n")
	return strings.Join(slices.DeleteFunc(all, func(l string) bool { return strings.Contains(l, `"id":"`+id+`"`) }), "\n")
}

// TestAuditOfWhatCannotFollow: a full pack takes up no charge unless it was ridden, and an
// empty one is not ridden unless it was charged. A ride that was logged for another pack of
// the same board is named.
func TestAuditOfWhatCannotFollow(t *testing.T) {
	twin := `{"record":"pack","id":"heron-b","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3}` + "\n"
	for _, c := range []struct {
		name, lines        string
		record, code, says string // "" where nothing is to be found
	}{
		{"sound", auditLog(), "", "", ""},
		{"a ride is missing", lacking(auditLog(), "ride-9"), "charge-9", codeNoRide, "log the ride"},
		{"it is logged for the other pack", twin + changed(auditLog(), "ride-9", `"pack":"heron-b"`), "charge-9", codeNoRide, "packwane amend ride-9 pack=heron-a"},
		{"a charge is missing", changed(lacking(auditLog(), "charge-9"), "ride-9", `"stop":"limit"`), "ride-10", codeNoCharge, "log the charge"},
		{"twice a charge for one ride", auditLog() + `{"record":"charge","id":"top","pack":"heron-a","at":"2024-03-10T23:40:00Z","charged_ah":0.3,"full":true}` + "\n", "", "", ""},
	} {
		all := auditing(t, c.lines)
		all = slices.DeleteFunc(all, func(f Finding) bool { return f.Code != codeNoRide && f.Code != codeNoCharge })
		switch {
		case c.record == "" && len(all) > 0:
			t.Errorf("%s: %+v", c.name, all)
		case c.record != "" && (len(all) != 1 || all[0].Record != c.record || all[0].Code != c.code || !strings.Contains(all[0].Suggestion, c.says)):
			t.Errorf("%s: %+v, want %s of %s: %s", c.name, all, c.code, c.record, c.says)
		}
	}
}

// TestAuditLeavesHabitsAlone: who logs charges and range tests alone leaves out rides
// as a rule, and is not told of each.
func TestAuditLeavesHabitsAlone(t *testing.T) {
	lines := auditLog()
	for _, id := range []string{"ride-2", "ride-4", "ride-6", "ride-8", "ride-10", "ride-12", "ride-14", "ride-16", "ride-18"} {
		lines = lacking(lines, id)
	}
	for _, f := range auditing(t, lines) {
		if f.Code == codeNoRide && strings.Contains(f.Text, "since the pack was full") {
			t.Errorf("%+v", f)
		}
	}
}

// TestSuggestionsHoldOneCommand: a page shows the words and makes a link of the command, so
// that there is one at most, at the end, and the words before it are whole without it.
func TestSuggestionsHoldOneCommand(t *testing.T) {
	twin := `{"record":"pack","id":"heron-b","board":"heron","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3}` + "\n"
	stored := `{"record":"service","id":"away","pack":"heron-a","at":"2024-03-05T20:00:00Z","until":"2024-03-10T08:00:00Z","kind":"storage"}` + "\n"
	for name, lines := range map[string]string{
		"another pack's": twin + changed(auditLog(), "ride-9", `"pack":"heron-b"`),
		"no charge":      twin + changed(lacking(auditLog(), "charge-9"), "ride-9", `"stop":"limit"`) + `{"record":"ride","id":"other","pack":"heron-b","board":"heron","at":"2024-03-28T17:00:00Z","distance_km":5}`,
		"stored":         auditLog() + stored,
		"miles":          changed(pacedLog(0), "ride-10", `"distance_km":7.83`),
	} {
		all := auditing(t, lines)
		if len(all) == 0 {
			t.Errorf("%s: nothing is found", name)
		}
		for _, f := range all {
			words, call := f.AdviceIn(units.Metric)
			if strings.Contains(call, "packwane") || call != "" && words != "if so," && !strings.HasSuffix(words, ":") {
				t.Errorf("%s: %q, then %q", name, words, call)
			}
		}
	}
}
