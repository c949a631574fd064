package store

import (
	"testing"

	"packwane/health/logbook"
)

func TestPut(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(board+pack))
	in := ride("", "moss", "", 1, noon, 8)
	got := must(s.Put(in, 0, "logged", noon))(t)
	id := logbook.HeadOf(got).ID
	if want := logbook.MakeID(in); id != want || logbook.HeadOf(got).Rev != 1 {
		t.Errorf("stored as %q revision %d, want %q revision 1", id, logbook.HeadOf(got).Rev, want)
	}
	if logbook.HeadOf(in).ID != "" {
		t.Error("the caller's record was changed")
	}
	again := must(s.Put(in, 0, "logged", noon))(t)
	if logbook.HeadOf(again).Rev != 1 || len(must(s.Actions(0))(t)) != 2 {
		t.Error("logging the same twice changed something")
	}

	amended := clone(t, got.(*logbook.Ride))
	amended.DistanceKm = logbook.Some(9)
	got = must(s.Put(amended, 1, "misread", noon))(t)
	if h := logbook.HeadOf(got); h.Rev != 2 || h.ID != id {
		t.Errorf("amended to %+v", h)
	}
	_, err := s.Put(amended, 2, "", noon) // says the same: nothing to do
	if err != nil || len(must(s.Actions(0))(t)) != 3 {
		t.Errorf("an amendment without a change: %v", err)
	}
	amended.DistanceKm = logbook.Some(10)
	_, err = s.Put(amended, 1, "", noon)
	wantErr(t, err, ErrConflict, "you saw revision 1", "the store has revision 2", "look at it again")
	_, err = s.Put(amended, 0, "", noon)
	wantErr(t, err, ErrConflict, id, "already", "revision 2")
	_, err = s.Put(ride("nobody", "moss", "", 1, noon, 8), 1, "", noon)
	wantErr(t, err, ErrNotFound, `no ride "nobody" to change`)
	_, err = s.Put(ride("", "fern", "", 1, noon, 8), 0, "", noon)
	wantErr(t, err, ErrReference, `pack "fern"`)
	_, err = s.Put(ride("", "moss", "reed", 1, noon, 8), 0, "", noon)
	wantErr(t, err, ErrReference, `board "reed"`)
	_, err = s.Put(&logbook.Ride{Pack: "moss"}, 0, "", noon)
	wantErr(t, err, nil, "at: missing")

	wantErr(t, s.Remove(logbook.KindRide, id, 1, "", noon), ErrConflict, "you saw revision 1")
	if err := s.Remove(logbook.KindRide, id, 2, "not mine", noon); err != nil {
		t.Fatal(err)
	}
	wantErr(t, s.Remove(logbook.KindRide, id, 0, "", noon), ErrConflict, "removed already")
	wantErr(t, s.Remove(logbook.KindBoard, id, 0, "", noon), ErrNotFound)
	gone := must(s.Get(logbook.KindRide, id))(t)
	if h := logbook.HeadOf(gone); !h.Removed || h.Rev != 3 || logbook.PackOf(gone) != "moss" {
		t.Errorf("removed as %+v of pack %q", h, logbook.PackOf(gone))
	}
	sameIDs(t, must(s.PackRecords("moss"))(t), "kelp", "moss")
	back := must(s.Put(in, 0, "mine after all", noon))(t)
	if h := logbook.HeadOf(back); h.Removed || h.Rev != 4 || h.ID != id {
		t.Errorf("logged again as %+v", h)
	}
	revs := must(s.Revisions(logbook.KindRide, id))(t)
	if len(revs) != 4 {
		t.Fatalf("%d revisions, want 4", len(revs))
	}
	for i, km := range []float64{8, 9, 9, 8} {
		if r := revs[i].(*logbook.Ride); r.Rev != i+1 || r.DistanceKm.V != km {
			t.Errorf("revision %d: number %d, %v km, want %v", i+1, r.Rev, r.DistanceKm.V, km)
		}
	}
}

func TestRemovedPack(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(board+pack+ride1))
	if err := s.Remove(logbook.KindPack, "moss", 0, "sold", noon); err != nil {
		t.Fatal(err)
	}
	_, err := s.PackRecords("moss")
	wantErr(t, err, ErrNotFound, `pack "moss" was removed`)
	_, err = s.PackRecords("fern")
	wantErr(t, err, ErrNotFound, `no pack "fern"`)
	if packs := must(s.Packs())(t); len(packs) != 0 {
		t.Errorf("packs %v", packs)
	}
	_, err = s.Put(ride("", "moss", "", 1, noon, 8), 0, "", noon)
	wantErr(t, err, ErrReference, `pack "moss"`, "was removed")
	r := clone(t, must(s.Get(logbook.KindRide, "r"))(t).(*logbook.Ride))
	r.Note = "the last on this pack"
	if _, err := s.Put(r, 1, "", noon); err != nil { // what is there may still be amended
		t.Error(err)
	}
}

func TestFind(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	mustImport(t, s, lines(`{"record":"board","id":"kite"}`+"\n"+`{"record":"pack","id":"kite"}`))
	found := must(s.Find("kite"))(t)
	if len(found) != 2 || found[0].Kind() != logbook.KindBoard || found[1].Kind() != logbook.KindPack {
		t.Errorf("found %v", found)
	}
	_, err := s.Find("wind")
	wantErr(t, err, ErrNotFound, `no record "wind"`)
	_, err = s.Get(logbook.KindRide, "kite")
	wantErr(t, err, ErrNotFound, `no ride "kite"`)
}

func TestSettings(t *testing.T) {
	s := open(t, newPath(t), ReadWrite)
	if _, ok, err := s.Setting("columns"); ok || err != nil {
		t.Errorf("a setting of an empty store: %v, %v", ok, err)
	}
	for _, v := range []string{"a=b", "", "a=c"} {
		if err := s.PutSetting("columns", v); err != nil {
			t.Fatal(err)
		}
		if got, ok, err := s.Setting("columns"); got != v || !ok || err != nil {
			t.Errorf("got %q, %v, %v, want %q", got, ok, err, v)
		}
	}
	if all := must(s.Settings())(t); len(all) != 1 || all["columns"] != "a=c" {
		t.Errorf("settings %v", all)
	}
	if err := s.PutSetting("", "x"); err == nil {
		t.Error("a setting without a name")
	}
	if _, err := s.Undo(noon); err == nil {
		t.Error("a setting was undone")
	}
}
