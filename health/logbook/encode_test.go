package logbook_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// The ids that records without one get are in riders' files: they stay.
func TestIDsStay(t *testing.T) {
	var b strings.Builder
	for _, k := range logbook.Kinds {
		for _, r := range []logbook.Record{minimal(t, k), full(t, k)} {
			logbook.HeadOf(r).ID = ""
			fmt.Fprintf(&b, "%s %s\n", logbook.MakeID(r), logbook.Content(r))
		}
	}
	golden(t, "testdata/ids.txt", b.String())
}

func TestIDs(t *testing.T) {
	for _, k := range logbook.Kinds {
		r := full(t, k)
		id := logbook.MakeID(r)
		if !strings.HasPrefix(id, k.String()+"-") || len(id) != len(k.String())+13 || strings.Trim(id[len(k.String())+1:], "0123456789abcdefghjkmnpqrstvwxyz") != "" {
			t.Errorf("the id %q", id)
		}
		before := line(r)
		logbook.HeadOf(r).ID, logbook.HeadOf(r).Rev = "another", 7
		if logbook.MakeID(r) != id {
			t.Errorf("a %v's id depends on its id and revision", k)
		}
		logbook.HeadOf(r).ID, logbook.HeadOf(r).Rev = "kite-1", 3
		if line(r) != before {
			t.Errorf("MakeID changed the record to %s", line(r))
		}
		// What is read from a file has the id of what was written there.
		logbook.HeadOf(r).ID, logbook.HeadOf(r).Rev = "", 1
		for _, open := range []func(*strings.Builder) logbook.Writer{asCSV, asLines} {
			got, err := readAll(written(t, open, r))
			if err != nil || len(got) != 1 || logbook.HeadOf(got[0].Record).ID != id {
				t.Errorf("a %v: %v, %v; want the id %s", k, got, err, id)
			}
		}
	}
}

// An id is the first 60 bits of SHA-256 (FIPS 180-4, as the standard library
// computes it), five to a letter.
func TestIDIsHash(t *testing.T) {
	sum := sha256.Sum256([]byte(`{"record":"board","name":"Kite"}`))
	bits := binary.BigEndian.Uint64(sum[:])
	want := "board-"
	for range 12 {
		want += string("0123456789abcdefghjkmnpqrstvwxyz"[bits>>59])
		bits <<= 5
	}
	if got := logbook.MakeID(&logbook.Board{Name: "Kite"}); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Two revisions say the same exactly when no field but id and rev differs.
func TestContent(t *testing.T) {
	for _, k := range logbook.Kinds {
		base := full(t, k)
		content := logbook.Content(base)
		for _, f := range logbook.Fields(k) {
			same := f.Name == "id" || f.Name == "rev"
			for _, text := range []string{"", other(f)} {
				if text == "" && (f.Required || f.Name == "removed" || f.Name == "board" && eitherOwner(k)) {
					continue // nothing to clear, or not cleared
				}
				r := full(t, k)
				set(t, r, f.Name, text)
				if got := bytes.Equal(logbook.Content(r), content); got != same {
					t.Errorf("%v with %s %q: same content: %v", k, f.Name, text, got)
				}
			}
		}
		a, b := minimal(t, k), full(t, k)
		set(t, a, "removed", "true")
		set(t, b, "removed", "true")
		if !bytes.Equal(logbook.Content(a), logbook.Content(b)) || bytes.Equal(logbook.Content(a), content) {
			t.Errorf("a removed %v says more than that it is removed", k)
		}
	}
	p := minimal(t, logbook.KindPack)
	b := minimal(t, logbook.KindBoard)
	if bytes.Equal(logbook.Content(p), logbook.Content(b)) {
		t.Error("a pack and a board say the same")
	}
}

// other returns an accepted text for f that is not its sample.
func other(f logbook.Field) string {
	switch {
	case f.Enum != nil && sample(f) == f.Enum[0]:
		return f.Enum[1]
	case f.Enum != nil:
		return f.Enum[0]
	case f.Name == "removed" || f.Type == logbook.TypeFlag:
		return "true"
	case f.Type == logbook.TypeDate:
		return "2024-03-01"
	case f.Type == logbook.TypeTime:
		return "2026-05-03T19:00:00Z"
	case f.Type == logbook.TypeNumbers:
		return "3.912 3.9 3.898"
	case f.Type == logbook.TypeNumber && f.Whole:
		return "8"
	case f.Type == logbook.TypeNumber:
		return logbook.FormatNumber(f.Min + (f.Max-f.Min)*0.36)
	}
	return "another text"
}

// The fields of a line may stand in any order, numbers and times may be written
// differently: the content is the same.
func TestContentIgnoresSpelling(t *testing.T) {
	want := logbook.Content(parse(t, `{"record":"ride","pack":"kite","at":"2026-05-03T18:30:00Z","distance_km":20}`))
	for _, text := range []string{
		`{"distance_km":2e1,"at":"2026-05-03T18:30:00+00:00","record":"ride","pack":"kite"}`,
		`{"record":"ride","id":"x","rev":4,"pack":"\u006bite","at":"2026-05-03T18:30:00.000Z","distance_km":20.0,"min_v":null,"removed":false}`,
	} {
		if got := logbook.Content(parse(t, text)); !bytes.Equal(got, want) {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestCanonicalOrder(t *testing.T) {
	at := func(k logbook.Kind, id string, rev int, when time.Time) logbook.Record {
		r := logbook.New(k)
		logbook.HeadOf(r).ID, logbook.HeadOf(r).Rev = id, rev
		if f, ok := logbook.FieldNamed(k, "at"); ok {
			if err := f.SetText(r, when.Format(time.RFC3339)); err != nil {
				t.Fatal(err)
			}
		}
		return r
	}
	want := []logbook.Record{
		at(logbook.KindBoard, "b", 1, day(9)), at(logbook.KindBoard, "b", 2, day(9)), at(logbook.KindBoard, "c", 1, day(9)), at(logbook.KindPack, "a", 1, day(9)),
		at(logbook.KindRide, "z", 1, day(1)), at(logbook.KindCharge, "z", 1, day(2)), at(logbook.KindRide, "a", 1, day(2)), at(logbook.KindRide, "a", 2, day(2)),
		at(logbook.KindRide, "b", 1, day(2)), at(logbook.KindService, "a", 1, day(2)), at(logbook.KindSetup, "a", 1, day(3)),
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		got := slices.Clone(want)
		random.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
		slices.SortFunc(got, logbook.Compare)
		if !slices.Equal(got, want) {
			t.Fatal("sorted into another order")
		}
	}
	for i, a := range want {
		for j, b := range want {
			if logbook.Less(a, b) != (i < j) {
				t.Errorf("Less(%d, %d)", i, j)
			}
		}
	}
}
