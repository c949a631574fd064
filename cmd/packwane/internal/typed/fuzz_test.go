package typed

import (
	"bytes"
	"strings"
	"testing"
	"unicode"

	"packwane/health/logbook"
	"packwane/health/units"
)

// FuzzApply: whatever is typed for a field is either refused, in one line
// without control characters, or taken so that the record's canonical form
// reads back as the same record.
func FuzzApply(f *testing.F) {
	f.Add(uint8(logbook.KindRide), "distance", "9.5 mi", true)
	f.Add(uint8(logbook.KindRide), "end", "+1h10m", false)
	f.Add(uint8(logbook.KindCharge), "charged", "3200 mAh", false)
	f.Add(uint8(logbook.KindCheck), "group-v", "3.9 3.91; 3.92 V", false)
	f.Add(uint8(logbook.KindService), "kind", "Cells Replaced", true)
	f.Add(uint8(logbook.KindPack), "in-service", "3 May", true)
	f.Add(uint8(logbook.KindBoard), "tyre", "2.4 bar", true)
	f.Add(uint8(logbook.KindRide), "note", "a\x1b[31mb\u202e", true)
	f.Fuzz(func(t *testing.T, kind uint8, name, text string, imperial bool) {
		k := logbook.Kinds[int(kind)%len(logbook.Kinds)]
		who := Rider{units.Metric, noon}
		if imperial {
			who.System = units.Imperial
		}
		r := logbook.New(k)
		if at, ok := logbook.FieldNamed(k, "at"); ok {
			if err := at.SetText(r, "2026-05-02T18:30:00+02:00"); err != nil {
				t.Fatal(err)
			}
		}
		before := logbook.AppendJSON(nil, r)
		as, err := Apply(r, []Word{{name, text}}, who)
		if err != nil {
			if strings.ContainsFunc(err.Error(), unicode.IsControl) {
				t.Errorf("%q=%q: error %q is no clean line", name, text, err)
			}
			return
		}
		line := logbook.AppendJSON(nil, r)
		again, err := logbook.ParseJSON(line)
		if err != nil {
			t.Fatalf("%q=%q gives %s: %v", name, text, line, err)
		}
		if got := logbook.AppendJSON(nil, again); !bytes.Equal(got, line) {
			t.Errorf("%q=%q: %s reads back as %s", name, text, line, got)
		}
		if strings.TrimSpace(text) != "" && len(as) != 1 {
			t.Errorf("%q=%q set %d fields: %s from %s", name, text, len(as), line, before)
		}
	})
}
