package logbook

import (
	"os"
	"slices"
	"testing"
)

// TestExampleFilesAgree reads the two invented example files, which hold every
// record kind once or more, and finds the same records in both.
func TestExampleFilesAgree(t *testing.T) {
	read := func(name string) []string {
		f, err := os.Open("../../testdata/" + name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		var out []string
		kinds := map[Kind]bool{}
		for e, err := range Read(f, name) {
			if err != nil {
				t.Fatal(err)
			}
			kinds[e.Record.Kind()] = true
			out = append(out, string(AppendJSON(nil, e.Record)))
		}
		if len(kinds) != len(Kinds) {
			t.Errorf("%s holds %d of the %d kinds", name, len(kinds), len(Kinds))
		}
		slices.Sort(out)
		return out
	}
	if a, b := read("example.jsonl"), read("example.csv"); !slices.Equal(a, b) {
		t.Errorf("the two files differ:\n%q\n%q", a, b)
	}
}
