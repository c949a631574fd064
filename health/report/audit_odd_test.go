package report

import (
	"slices"
	"strings"
	"testing"
)

// TestAuditTalksNobodyOutOfHarm: a charge in the cold and a hot pack may be true: the
// audit may ask about the unit, and says what is to be done where it was so.
func TestAuditTalksNobodyOutOfHarm(t *testing.T) {
	for _, c := range []struct{ record, is, field string }{
		{"charge-9", `"pack_c":55`, "pack_c"},
		{"ride-9", `"pack_c":62`, "pack_c"},
		{"charge-9", `"ambient_c":60`, "ambient_c"},
	} {
		all := auditing(t, changed(auditLog(), c.record, c.is))
		i := slices.IndexFunc(all, func(f Finding) bool { return f.Record == c.record && f.Field == c.field })
		if i < 0 || !strings.Contains(all[i].Suggestion, "where it is right, leave it and have the pack inspected") {
			t.Errorf("%s %s: %+v", c.record, c.is, all)
		}
	}
}

// TestAuditOfAnotherDay: hills and a storm beyond the usual are days like that.
func TestAuditOfAnotherDay(t *testing.T) {
	for _, is := range [][]string{{`"climb_m":320`, `"descent_m":320`}, {`"wind_kmh":65`}} {
		for _, f := range auditing(t, changed(auditLog(), "ride-9", is...)) {
			if f.Record == "ride-9" && (strings.HasPrefix(f.Field, "climb") || strings.HasPrefix(f.Field, "descent") || strings.HasPrefix(f.Field, "wind")) {
				t.Errorf("%s: %+v", is, f)
			}
		}
	}
}

// TestAuditOfEnergyThatItsChargeDenies: 172 Wh typed as 277 beside 4.7 Ah that bear the
// distance out are the energy's fault.
func TestAuditOfEnergyThatItsChargeDenies(t *testing.T) {
	for _, f := range auditing(t, changed(auditLog(), "ride-9", `"discharged_wh":277`)) {
		if f.Record == "ride-9" && f.Field != "discharged_wh" {
			t.Errorf("%s: %s; %s", f.Field, f.Text, f.Suggestion)
		}
	}
}

// TestAuditOfAPackUsedAfterItWasRetired: it is told once, of the record that says so.
func TestAuditOfAPackUsedAfterItWasRetired(t *testing.T) {
	retired := `{"record":"service","id":"gone","pack":"heron-a","at":"2023-06-01T08:00:00Z","kind":"retired"}` + "\n"
	n := 0
	for _, f := range auditing(t, auditLog()+retired) {
		if f.Code == "pack_retired" {
			n++
			if f.Record != "gone" || !strings.Contains(f.Suggestion, "packwane remove gone") {
				t.Errorf("%+v", f)
			}
		}
	}
	if n != 1 {
		t.Errorf("%d findings, want 1", n)
	}
}

// TestAuditOfARideFromStorage: told once, of the storage; not where it was over, nor on
// its first and last day.
func TestAuditOfARideFromStorage(t *testing.T) {
	for _, c := range []struct {
		from, until string
		first       string // ride; "" for no finding
	}{
		{"2024-03-05T20:00:00Z", "2024-03-10T08:00:00Z", "ride-6"},
		{"2024-03-05T20:00:00Z", "2024-03-06T20:00:00Z", ""},
		{"2023-11-05T20:00:00Z", "2024-02-20T08:00:00Z", ""},
		{"2024-03-05T20:00:00Z", "2024-03-10T08:00:00Z", "of the board"},
	} {
		owner := `"pack":"heron-a"`
		if c.first == "of the board" {
			owner, c.first = `"board":"heron"`, ""
		}
		stored := `{"record":"service","id":"away",` + owner + `,"at":"` + c.from + `","until":"` + c.until + `","kind":"storage"}` + "\n"
		var all []Finding
		for _, f := range auditing(t, auditLog()+stored) {
			if f.Code == codeStored {
				all = append(all, f)
			}
		}
		switch {
		case c.first == "" && len(all) > 0, c.first != "" && len(all) != 1:
			t.Errorf("%s to %s: %+v", c.from, c.until, all)
		case c.first != "" && (all[0].Record != "away" || !strings.Contains(all[0].Text, "("+c.first+")")):
			t.Errorf("%+v, want the first of %s", all[0], c.first)
		}
	}
}

// TestAuditOfVoltsThatFell: a pack that rests lower after a charge than before it was not
// measured in one cell.
func TestAuditOfVoltsThatFell(t *testing.T) {
	for _, f := range auditing(t, changed(auditLog(), "charge-9", `"end_rest_v":37.1`)) {
		if f.Record == "charge-9" && strings.Contains(f.Text, "one cell") {
			t.Errorf("%+v", f)
		}
	}
}

// TestAuditOfVoltsAboveFull: a pack somewhat above full is no decimal point out of place,
// and may be in danger.
func TestAuditOfVoltsAboveFull(t *testing.T) {
	all := auditing(t, changed(auditLog(), "charge-9", `"end_rest_v":43.1`))
	i := slices.IndexFunc(all, func(f Finding) bool { return f.Record == "charge-9" && f.Field == "end_rest_v" })
	if i < 0 || strings.Contains(all[i].Text, "decimal") || !strings.Contains(all[i].Suggestion, "do not ride or charge it") {
		t.Errorf("%+v", all)
	}
}
