package store

import (
	"testing"

	"packwane/health/logbook"
)

// content lists what the records say now, without revisions.
func content(t testing.TB, s *Store) string {
	t.Helper()
	out := ""
	for r, err := range s.All(false) {
		if err != nil {
			t.Fatal(err)
		}
		out += logbook.HeadOf(r).ID + string(logbook.Content(r)) + "\n"
	}
	return out
}

func TestUndoRedo(t *testing.T) {
	for _, small := range []bool{false, true} {
		if small {
			set(t, &bulk, 0)
			set(t, &memoryLimit, 100)
		}
		s := open(t, newPath(t), ReadWrite)
		_, err := s.Undo(noon)
		wantErr(t, err, ErrNothing, "nothing to undo")
		_, err = s.Redo(noon)
		wantErr(t, err, ErrNothing, "nothing to do again")

		states := []string{""}
		step := func() { states = append(states, content(t, s)) }
		mustImport(t, s, entries(fleet(2, 30)...))
		step()
		r := clone(t, must(s.Get(logbook.KindRide, "ride-3"))(t).(*logbook.Ride))
		r.DistanceKm, r.Pack = logbook.Some(3.5), "pack-0"
		must(s.Put(r, 1, "wrong pack", noon))(t)
		step()
		if err := s.Remove(logbook.KindRide, "ride-7", 0, "", noon); err != nil {
			t.Fatal(err)
		}
		step()
		mustImport(t, s, lines(`{"record":"ride","id":"ride-3","rev":3,"removed":true}`+"\n"+`{"record":"pack","id":"new"}`))
		step()

		for i := 3; i >= 0; i-- {
			a, err := s.Undo(noon)
			if err != nil || int(a.Seq) != i+1 {
				t.Fatalf("undid %d, %v, want %d", a.Seq, err, i+1)
			}
			if got := content(t, s); got != states[i] {
				t.Errorf("after undoing %d the store says\n%s, want\n%s", i+1, got, states[i])
			}
		}
		if _, err := s.Undo(noon); err == nil {
			t.Error("undid more than was done")
		}
		for i := 1; i <= 4; i++ {
			a, err := s.Redo(noon)
			if err != nil || int(a.Seq) != i {
				t.Fatalf("did %d again, %v, want %d", a.Seq, err, i)
			}
			if got := content(t, s); got != states[i] {
				t.Errorf("after doing %d again the store says\n%s, want\n%s", i, got, states[i])
			}
		}
		if _, err := s.Redo(noon); err == nil {
			t.Error("did more again than was undone")
		}
		// A new action ends what could be done again.
		must(s.Undo(noon))(t)
		must(s.Put(ride("", "pack-1", "", 1, noon, 4), 0, "", noon))(t)
		_, err = s.Redo(noon)
		wantErr(t, err, ErrNothing)
		if a := must(s.Undo(noon))(t); a.Op != OpPut {
			t.Errorf("undid %v", a)
		}
		if got := content(t, s); got != states[3] {
			t.Error("undoing walks back wrongly")
		}
	}
}

func TestActions(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(board+pack+ride1))
	must(s.Put(ride("r", "moss", "", 1, noon, 3), 1, "misread the display", noon))(t)
	must(s.Undo(noon))(t)
	got := must(s.Actions(0))(t)
	want := []Action{
		{Seq: 3, At: noon, Op: OpUndo, Why: "misread the display", Target: 2, Changed: 1},
		{Seq: 2, At: noon, Op: OpPut, Why: "misread the display", Changed: 1, Undone: true},
		{Seq: 1, At: noon, Op: OpImport, Why: "test", Added: 3},
	}
	if len(got) != len(want) {
		t.Fatalf("%d actions, want %d", len(got), len(want))
	}
	for i := range want {
		got[i].undo, got[i].redo, got[i].parts = 0, 0, 0
		if !got[i].At.Equal(want[i].At) {
			t.Errorf("action %d at %v", i, got[i].At)
		}
		got[i].At = want[i].At
		if got[i] != want[i] {
			t.Errorf("action %d is %+v, want %+v", i, got[i], want[i])
		}
	}
	if got := must(s.Actions(2))(t); len(got) != 2 || got[0].Seq != 3 || !got[1].Undone {
		t.Errorf("the last two: %+v", got)
	}
	must(s.Redo(noon))(t)
	if got := must(s.Actions(3))(t); got[0].Op != OpRedo || got[2].Undone {
		t.Errorf("after doing it again: %+v", got)
	}
}
