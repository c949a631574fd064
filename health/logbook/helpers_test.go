package logbook_test

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// Every value in these tests is invented.

// sampleTexts holds a value for the fields that a plain middle of the range or
// a plain text does not suit, as in a CSV cell.
var sampleTexts = map[string]string{
	"id": "kite-1", "rev": "3", "removed": "true",
	"at": "2026-05-03T18:30:00+02:00", "start": "2026-05-03T15:10:00.5+02:00", "end": "2026-05-03T17:45:30Z",
	"until": "2026-06-01T00:00:00-05:30", "in_service": "2024-02-29",
	"series": "12", "cell_nominal_v": "3.6", "cell_full_v": "4.2", "limit_v": "38.4", "cutoff_v": "36",
	"discharged_ah": "9.25", "discharged_wh": "431.5", "regen_ah": "0.75", "regen_wh": "33",
	"rest_v": "46.25", "load_v": "43.5", "load_a": "20.5", "base_a": "0.5",
	"group_v": "3.912 3.9 3.899", "meter_side": "dc",
	"note": "first line\n\"second\" line,\twith a tab; é Ω 🛹 \\ </script>",
}

// sample returns an accepted text for f.
func sample(f logbook.Field) string {
	text, ok := sampleTexts[f.Name]
	switch {
	case ok:
		return text
	case f.Enum != nil:
		return f.Enum[len(f.Enum)-1]
	case f.Type == logbook.TypeFlag:
		return "false"
	case f.Type == logbook.TypeNumber && f.Whole:
		return "7"
	case f.Type == logbook.TypeNumber:
		return logbook.FormatNumber(f.Min + (f.Max-f.Min)*0.37)
	}
	return `a "quoted", name; é`
}

// minimal returns the shortest record of kind k that is valid, with pack where
// pack or board will do.
func minimal(t testing.TB, k logbook.Kind) logbook.Record {
	t.Helper()
	r := logbook.New(k)
	for _, f := range logbook.Fields(k) {
		if f.Required || f.Name == "pack" {
			set(t, r, f.Name, sample(f))
		}
	}
	return r
}

// full returns a record of kind k with every field but removed, and but board
// where only one of pack and board may be given.
func full(t testing.TB, k logbook.Kind) logbook.Record {
	t.Helper()
	r := logbook.New(k)
	for _, f := range logbook.Fields(k) {
		if f.Name != "removed" && !(f.Name == "board" && eitherOwner(k)) {
			set(t, r, f.Name, sample(f))
		}
	}
	return r
}

func eitherOwner(k logbook.Kind) bool { return k == logbook.KindSetup || k == logbook.KindService }

func set(t testing.TB, r logbook.Record, field, text string) {
	t.Helper()
	f, ok := logbook.FieldNamed(r.Kind(), field)
	if !ok {
		t.Fatalf("a %v has no field %s", r.Kind(), field)
	}
	if err := f.SetText(r, text); err != nil {
		t.Fatalf("%v %s: %v", r.Kind(), field, err)
	}
}

// readAll collects what Read gives; the error is the one that ended it.
func readAll(text string) ([]logbook.Entry, error) {
	var out []logbook.Entry
	for e, err := range logbook.Read(strings.NewReader(text), "log") {
		if err != nil {
			return out, err
		}
		out = append(out, e)
	}
	return out, nil
}

// written returns records as a file of the format that open makes.
func written(t testing.TB, open func(*strings.Builder) logbook.Writer, records ...logbook.Record) string {
	t.Helper()
	var b strings.Builder
	w := open(&b)
	for _, r := range records {
		if err := w.Write(r); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func asCSV(b *strings.Builder) logbook.Writer   { return logbook.NewCSVWriter(b) }
func asLines(b *strings.Builder) logbook.Writer { return logbook.NewJSONWriter(b) }

func line(r logbook.Record) string { return string(logbook.AppendJSON(nil, r)) }

func parse(t testing.TB, text string) logbook.Record {
	t.Helper()
	r, err := logbook.ParseJSON([]byte(text))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return r
}

func day(n int) time.Time { return time.Date(2026, 5, n, 12, 0, 0, 0, time.UTC) }

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
