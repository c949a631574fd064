package store

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"packwane/health/logbook"
)

const (
	board  = `{"record":"board","id":"kelp","name":"Kelp"}` + "\n"
	pack   = `{"record":"pack","id":"moss","board":"kelp"}` + "\n"
	ride1  = `{"record":"ride","id":"r","pack":"moss","at":"2025-04-12T12:00:00Z","distance_km":10}` + "\n"
	ride1x = `{"record":"ride","id":"r","pack":"moss","at":"2025-04-12T12:00:00Z","distance_km":11}` + "\n"
	ride2  = `{"record":"ride","id":"r","rev":2,"pack":"moss","at":"2025-04-13T12:00:00Z","distance_km":12}` + "\n"
	ride2x = `{"record":"ride","id":"r","rev":2,"pack":"moss","at":"2025-04-13T12:00:00Z","distance_km":13}` + "\n"
	ride3a = `{"record":"ride","id":"r","rev":3,"pack":"moss","at":"2025-04-12T12:00:00Z","distance_km":10}` + "\n" // says what ride1 says
	gone2  = `{"record":"ride","id":"r","rev":2,"removed":true}` + "\n"
	gone3  = `{"record":"ride","id":"r","rev":3,"removed":true,"note":"logged twice"}` + "\n"
)

// What an import makes of records that the store or the file has already.
func TestImportRules(t *testing.T) {
	base := board + pack
	for _, c := range []struct {
		name   string
		had    []string // imported before, one after the other
		in     string
		counts [3]int // added, changed, unchanged
		is     error
		says   []string // of an error
		revs   int      // of ride r afterwards
	}{
		{name: "new", in: base + ride1, counts: [3]int{3, 0, 0}, revs: 1},
		{name: "same again", had: []string{base + ride1}, in: base + ride1, counts: [3]int{0, 0, 3}, revs: 1},
		{name: "twice in one file", in: base + ride1 + ride1, counts: [3]int{3, 0, 1}, revs: 1},
		{name: "references later in the file", in: ride1 + pack + board, counts: [3]int{3, 0, 0}, revs: 1},
		{name: "amended", had: []string{base + ride1}, in: ride2, counts: [3]int{0, 1, 0}, revs: 2},
		{name: "amended in one file, later first", in: base + ride2 + ride1, counts: [3]int{3, 1, 0}, revs: 2},
		{name: "earlier content after an amendment", had: []string{base + ride1, ride2}, in: ride1, counts: [3]int{0, 0, 1}, revs: 2},
		{name: "earlier content, higher rev", had: []string{base + ride1, ride2}, in: ride3a, counts: [3]int{0, 1, 0}, revs: 3},
		{name: "latest content, higher rev", had: []string{base + ride1}, in: ride3a, counts: [3]int{0, 0, 1}, revs: 1},
		{name: "removed", had: []string{base + ride1}, in: gone2, counts: [3]int{0, 1, 0}, revs: 2},
		{name: "removed twice", had: []string{base + ride1, gone2}, in: gone3, counts: [3]int{0, 0, 1}, revs: 2},
		{name: "earlier content after a removal", had: []string{base + ride1, gone2}, in: ride1, counts: [3]int{0, 0, 1}, revs: 2},
		{name: "back after a removal", had: []string{base + ride1, gone2}, in: ride3a, counts: [3]int{0, 1, 0}, revs: 3},
		{name: "whole history", in: base + gone3 + ride2 + ride1, counts: [3]int{3, 2, 0}, revs: 3},
		{name: "starts above 1", in: base + ride2, counts: [3]int{3, 0, 0}, revs: 1},
		{name: "other content", had: []string{base + ride1}, in: ride1x, says: []string{"in.jsonl:1:", `id "r"`, "revision 1", `"rev" 2 or higher`}, revs: 1},
		{name: "other content, old rev", had: []string{base + ride1, ride2, gone3}, in: "\n" + ride2x, says: []string{"in.jsonl:2:", "has revision 3", "is revision 2", `"rev" 4`}, revs: 3},
		{name: "duplicate id", in: base + ride1 + ride1x, says: []string{"in.jsonl:4:", `id "r"`, "other content on line 3"}},
		{name: "duplicate rev", had: []string{base + ride1}, in: ride2 + ride2x, says: []string{"in.jsonl:2:", "line 1"}, revs: 1},
		{name: "removal of nothing", in: base + gone2, says: []string{"in.jsonl:3:", "removed", `no ride "r" to remove`}},
		{name: "unknown pack", in: board + ride1, is: ErrReference, says: []string{"in.jsonl:2:", `pack "moss"`, "no such pack"}},
		{name: "unknown board", in: pack, is: ErrReference, says: []string{"in.jsonl:1:", `board "kelp"`, "no such board"}},
		{name: "the first fault", in: ride1 + strings.Replace(strings.Replace(ride1, "moss", "fern", 1), `"r"`, `"q"`, 1) + pack + ride1x, is: ErrReference, says: []string{"in.jsonl:2:", `pack "fern"`}, counts: [3]int{}},
		{name: "reference to what was removed", had: []string{base, `{"record":"pack","id":"moss","rev":2,"removed":true}`}, in: ride1, counts: [3]int{1, 0, 0}, revs: 1},
		{name: "not valid", in: base + `{"record":"ride","pack":"moss","at":"yesterday"}`, says: []string{"in.jsonl:3:", `at "yesterday"`, "RFC 3339"}},
		{name: "one id, two kinds", in: `{"record":"board","id":"moss"}` + "\n" + `{"record":"pack","id":"moss"}`, counts: [3]int{2, 0, 0}},
	} {
		for _, small := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s/%v", c.name, small), func(t *testing.T) {
				if small { // merged into a new file, by way of the disk
					set(t, &bulk, 0)
					set(t, &memoryLimit, 1)
				}
				s := open(t, newPath(t), ReadWrite)
				if c.name == "the first fault" {
					mustImport(t, s, lines(board))
				}
				for _, had := range c.had {
					mustImport(t, s, lines(had))
				}
				before := export(t, s, true)
				actions := len(must(s.Actions(0))(t))
				sum, err := s.Import(lines(c.in), "", noon)
				if c.says != nil {
					wantErr(t, err, c.is, c.says...)
					var input *logbook.InputError
					if !errors.As(err, &input) {
						t.Errorf("%v is no input error", err)
					}
					if after := export(t, s, true); after != before {
						t.Errorf("a failed import changed the store from\n%s to\n%s", before, after)
					}
				} else if err != nil {
					t.Fatal(err)
				}
				if got := counts(sum); got != c.counts {
					t.Errorf("added, changed, unchanged %v, want %v", got, c.counts)
				}
				wantActions := actions
				if c.counts[0]+c.counts[1] > 0 {
					wantActions++
				}
				if got := len(must(s.Actions(0))(t)); got != wantActions {
					t.Errorf("%d actions, want %d", got, wantActions)
				}
				revs, err := s.Revisions(logbook.KindRide, "r")
				if c.revs == 0 {
					wantErr(t, err, ErrNotFound, `no ride "r"`)
				} else if err != nil || len(revs) != c.revs {
					t.Errorf("%d revisions, %v, want %d", len(revs), err, c.revs)
				}
			})
		}
	}
}

func TestImportSummaryByKind(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(board+pack))
	sum := mustImport(t, s, lines(board+ride1+strings.Replace(board, "Kelp", "Weed", 1)[:len(board)-2]+`,"rev":2}`))
	for _, c := range []struct{ got, want map[logbook.Kind]int }{
		{sum.Added, map[logbook.Kind]int{logbook.KindRide: 1}},
		{sum.Changed, map[logbook.Kind]int{logbook.KindBoard: 1}},
		{sum.Unchanged, map[logbook.Kind]int{logbook.KindBoard: 1}},
	} {
		if !maps.Equal(c.got, c.want) {
			t.Errorf("got %v, want %v", c.got, c.want)
		}
	}
}

// An amendment may move a record to another pack and time.
func TestAmendmentMovesRecord(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(board+pack+`{"record":"pack","id":"fern"}`+"\n"+ride1))
	mustImport(t, s, lines(strings.Replace(ride2, "moss", "fern", 1)))
	sameIDs(t, must(s.PackRecords("moss"))(t), "kelp", "moss")
	sameIDs(t, must(s.PackRecords("fern"))(t), "fern", "r")
}

// The history of a pack takes in the boards that it and its rides name, their
// setups and services, and other packs' rides on them.
func TestPackRecords(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(strings.ReplaceAll(`
{"record":"board","id":"kelp"}
{"record":"board","id":"reed"}
{"record":"board","id":"rush"}
{"record":"pack","id":"moss","board":"kelp"}
{"record":"pack","id":"fern","board":"reed","note":"not \",\"board\":\"kelp\" but reed"}
{"record":"pack","id":"ivy","board":"kelp"}
{"record":"ride","id":"own","pack":"moss","at":"@01T09:00:00+02:00"}
{"record":"ride","id":"own-on-reed","pack":"moss","board":"reed","at":"@02T09:00:00+02:00"}
{"record":"ride","id":"fern-usual","pack":"fern","at":"@03T09:00:00+02:00"}
{"record":"ride","id":"fern-on-rush","pack":"fern","board":"rush","at":"@04T09:00:00+02:00"}
{"record":"ride","id":"ivy-usual","pack":"ivy","at":"@05T09:00:00+02:00"}
{"record":"ride","id":"ivy-on-rush","pack":"ivy","board":"rush","at":"@06T09:00:00+02:00","note":",\"board\":\"kelp\""}
{"record":"charge","id":"ivy-charge","pack":"ivy","at":"@07T09:00:00+02:00"}
{"record":"charge","id":"own-charge","pack":"moss","at":"@08T09:00:00+02:00"}
{"record":"setup","id":"own-setup","pack":"moss","at":"@09T09:00:00+02:00","limit_v":31}
{"record":"setup","id":"kelp-setup","board":"kelp","at":"@10T09:00:00+02:00","mass_kg":11}
{"record":"service","id":"reed-service","board":"reed","at":"@11T09:00:00+02:00","kind":"repair"}
{"record":"service","id":"rush-service","board":"rush","at":"@12T09:00:00+02:00","kind":"repair"}
{"record":"check","id":"own-check","pack":"moss","at":"@13T09:00:00+02:00","soc_pct":50,"rest_v":37}
`, `@`, "2025-05-")))
	sameIDs(t, must(s.PackRecords("moss"))(t), "kelp", "reed", "fern", "ivy", "moss", "own", "own-on-reed", "fern-usual", "ivy-usual",
		"own-charge", "own-setup", "kelp-setup", "reed-service", "own-check")
}

func TestRecordsInCanonicalOrder(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	list := fleet(3, 40)
	slices.Reverse(list)
	mustImport(t, s, entries(list...))
	got := must(s.PackRecords("pack-1"))(t)
	if !slices.IsSortedFunc(got, logbook.Compare) {
		t.Errorf("not in order: %v", ids(got))
	}
	var kinds []logbook.Record
	for r, err := range s.All(false) {
		if err != nil {
			t.Fatal(err)
		}
		kinds = append(kinds, r)
	}
	byKind := func(a, b logbook.Record) int {
		if a.Kind() != b.Kind() {
			return int(a.Kind()) - int(b.Kind())
		}
		return logbook.Compare(a, b)
	}
	if len(kinds) != len(list) || !slices.IsSortedFunc(kinds, byKind) {
		t.Errorf("%d of %d records, or not in order", len(kinds), len(list))
	}
}

// The loop over All may be left early, and errors of the input end an import.
func TestEarlyEnds(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, entries(fleet(2, 2000)...))
	n := 0
	for range s.All(true) {
		if n++; n == 3 {
			break
		}
	}
	before := export(t, s, true)
	broken := errors.New("the line went dead")
	_, err := s.Import(func(yield func(logbook.Entry, error) bool) {
		for e := range entries(fleet(3, 3000)...) {
			if !yield(e, nil) {
				return
			}
		}
		yield(logbook.Entry{}, broken)
	}, "", noon)
	wantErr(t, err, broken)
	bad := fleet(3, 3000)
	bad[1000] = &logbook.Ride{Head: head("x", 1), Pack: "pack-0"}
	_, err = s.Import(entries(bad...), "", noon)
	wantErr(t, err, nil, "in.jsonl:1001:", "at")
	if export(t, s, true) != before {
		t.Error("a failed import changed the store")
	}
}
