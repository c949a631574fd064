package logbook_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

func sameInstant(a, b string) bool {
	x, err1 := time.Parse(time.RFC3339, a)
	y, err2 := time.Parse(time.RFC3339, b)
	return err1 == nil && err2 == nil && x.Equal(y)
}

// What ParseJSON takes, encoding/json takes too and reads the same; printed, it
// reads back and prints as the same bytes. A refusal is one printable line.
func FuzzParseJSON(f *testing.F) {
	for _, text := range refusedLines {
		f.Add([]byte(text))
	}
	for _, k := range logbook.Kinds {
		f.Add(logbook.AppendJSON(nil, minimal(f, k)))
		f.Add(logbook.AppendJSON(nil, full(f, k)))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		before := bytes.Clone(text)
		r, err := logbook.ParseJSON(text)
		if !bytes.Equal(before, text) {
			t.Fatal("the input was changed")
		}
		if err != nil {
			oneLine(t, err)
			return
		}
		agree(t, text, r)
		printed := logbook.AppendJSON(nil, r)
		again, err := logbook.ParseJSON(printed)
		if err != nil {
			t.Fatalf("%q prints as %q: %v", text, printed, err)
		}
		if second := logbook.AppendJSON(nil, again); !bytes.Equal(second, printed) {
			t.Fatalf("%q prints as %q, and that as %q", text, printed, second)
		}
		if !bytes.Equal(logbook.Content(r), logbook.Content(again)) || logbook.MakeID(r) != logbook.MakeID(again) {
			t.Fatalf("%q has another content or id once printed", text)
		}
	})
}

// What Read takes as CSV, encoding/csv takes too, with the same cells; written
// in either format, it reads back as the same records.
func FuzzReadCSV(f *testing.F) {
	for _, k := range logbook.Kinds {
		f.Add(written(f, asCSV, full(f, k), minimal(f, k)))
	}
	for _, text := range refusedFiles {
		if len(text) < 4096 {
			f.Add(text)
		}
	}
	f.Add("record,id,distance_km\r\nride,,3\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		entries, err := readAll(text)
		if err != nil {
			oneLine(t, err)
			return
		}
		records := make([]logbook.Record, len(entries))
		for i, e := range entries {
			records[i] = e.Record
		}
		for _, open := range []func(*strings.Builder) logbook.Writer{asCSV, asLines} {
			if len(records) == 0 {
				break // JSON Lines of nothing is no file
			}
			again, err := readAll(written(t, open, records...))
			if err != nil || len(again) != len(records) {
				t.Fatalf("%d records of %q read back as %d: %v", len(records), text, len(again), err)
			}
			for i, r := range records {
				if got, want := line(again[i].Record), line(r); got != want {
					t.Fatalf("%s reads back as %s", want, got)
				}
			}
		}
		body := strings.TrimPrefix(text, "\ufeff")
		if strings.HasPrefix(strings.TrimLeft(body, " \t\r\n"), "{") {
			return // JSON Lines
		}
		sameCells(t, body, entries)
	})
}

// sameCells compares entries with what encoding/csv reads from text.
func sameCells(t *testing.T, text string, entries []logbook.Entry) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) != len(entries)+1 {
		t.Fatalf("encoding/csv reads %d rows, %v, for %d records of %q", len(rows), err, len(entries), text)
	}
	for i, e := range entries {
		if want := strings.Count(text[:max(0, len(text)-1)], "\n") + 1; e.At.Line < 2 || e.At.Line > want {
			t.Fatalf("line %d of %d", e.At.Line, want)
		}
		for c, name := range rows[0] {
			cell := rows[i+1][c]
			if name == "record" {
				if cell != e.Record.Kind().String() {
					t.Fatalf("%q is read as a %v", cell, e.Record.Kind())
				}
				continue
			}
			f, known := logbook.FieldNamed(e.Record.Kind(), name)
			if !known && cell == "" || name == "id" && cell == "" {
				continue
			}
			if got := f.Text(e.Record); !sameCell(f, got, cell) {
				t.Fatalf("%s is %q here and %q there", name, got, cell)
			}
		}
	}
}

func sameCell(f logbook.Field, got, cell string) bool {
	switch {
	case got == cell:
		return true
	case f.Type == logbook.TypeTime:
		return sameInstant(got, cell)
	case f.Name == "rev":
		return got == "" && sameNumber("1", cell) || sameNumber(got, cell)
	case f.Name == "removed":
		return got == "" && cell == "false"
	case f.Type == logbook.TypeNumber:
		return sameNumber(got, cell)
	case f.Type == logbook.TypeNumbers:
		a, b := strings.Fields(got), strings.Fields(cell)
		for i := range a {
			if len(a) != len(b) || !sameNumber(a[i], b[i]) {
				return false
			}
		}
		return len(a) == len(b)
	}
	return false
}
