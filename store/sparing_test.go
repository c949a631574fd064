package store

import (
	"testing"
)

// TestSparing: an import that keeps little in memory leaves the same log as any
// other, as one action, and nothing beside the store. It is large enough for
// several steps, and goes on top of what is there.
func TestSparing(t *testing.T) {
	records := fleet(3, 6000)
	var logs [2]string
	for n, stage := range []func(string) (*Staged, error){
		func(path string) (*Staged, error) { return Stage(path, entries(records...)) },
		func(path string) (*Staged, error) { return StageSparingly(path, entries(records...)) },
	} {
		path := newPath(t)
		s := open(t, path, ReadWrite)
		mustImport(t, s, lines(board+pack+ride1))
		st, err := stage(path)
		if err != nil {
			t.Fatal(err)
		}
		sum, err := s.ImportStaged(st, "test", noon)
		st.Close()
		if err != nil {
			t.Fatal(err)
		}
		if got := counts(sum); got[0] < 5000 {
			t.Errorf("added, changed, unchanged %v", got)
		}
		logs[n] = export(t, s, true)
		if actions := must(s.Actions(0))(t); len(actions) != 2 {
			t.Errorf("%d actions, want 2", len(actions))
		}
		if names := beside(t, path); len(names) > 2 { // the store and its lock
			t.Errorf("left beside the store: %v", names)
		}
	}
	if logs[0] != logs[1] {
		t.Error("another log")
	}
}
