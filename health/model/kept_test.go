package model

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// TestKeptFitEqualsFresh restores a kept fit and compares every draw with
// those of a fresh one, to the last bit. One pack loses a third of its cells at once.
func TestKeptFitEqualsFresh(t *testing.T) {
	for style, lost := range map[simulate.Style]float64{simulate.Rich: .33, simulate.Messy: 0, simulate.BenchCell: 0} {
		cfg := simulate.Preset(style, 3)
		cfg.Events = append(cfg.Events, simulate.Event{Day: 200, What: simulate.StringLost, Share: lost})
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		h, err := logbook.NewHistory(onlyPack(log.Records), log.Records, log.Truth.End)
		if err != nil {
			t.Fatal(err)
		}
		fresh := FitHistory(h, nil)
		data := fresh.Keep()
		again, ok := Restore(h, data, nil)
		t.Logf("%v: %d bytes", style, len(data))
		if !ok {
			t.Fatal("the kept fit was refused")
		}
		if _, is := again.Step(); is != (lost > 0) {
			t.Errorf("%v: the kept fit has a step: %v", style, is)
		}
		if !reflect.DeepEqual(fresh.draws, again.draws) || !reflect.DeepEqual(fresh.through, again.through) {
			t.Errorf("%v: a restored fit gives other draws than a fresh one", style)
		}
	}
}

// TestRestoreRefusesWhatIsNotItsOwn gives Restore damaged and foreign bytes.
func TestRestoreRefusesWhatIsNotItsOwn(t *testing.T) {
	log, err := simulate.Run(simulate.Preset(simulate.BenchCell, 3))
	if err != nil {
		t.Fatal(err)
	}
	h, err := logbook.NewHistory(onlyPack(log.Records), log.Records, log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	data := FitHistory(h, nil).Keep()
	flipped := slices.Clone(data)
	flipped[len(data)/3] ^= 4
	for name, bad := range map[string][]byte{"nothing": nil, "text": []byte("not a fit"), "cut short": data[:len(data)/2], "a bit flipped": flipped} {
		if _, ok := Restore(h, bad, nil); ok {
			t.Errorf("%s was taken for a kept fit", name)
		}
	}
	shorter, err := logbook.NewHistory(onlyPack(log.Records), log.Records[:len(log.Records)/3], log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := Restore(shorter, data, nil); ok && len(data) > 0 {
		t.Log("a fit of another history of the same size is told by its Key alone")
	}
	if Key(h) == Key(shorter) {
		t.Error("two histories share a key")
	}
}

// TestFitOfNoRecordsIsNotKept: its knots go with the clock, which no Key holds.
func TestFitOfNoRecordsIsNotKept(t *testing.T) {
	pack := &logbook.Pack{}
	pack.ID = "alder"
	h, err := logbook.NewHistory("alder", []logbook.Record{pack}, time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	if data := FitHistory(h, nil).Keep(); data != nil {
		t.Errorf("%d bytes were kept", len(data))
	}
}

// TestKeptFitTakesSiblings restores with packs of the same cells what was kept
// without them.
func TestKeptFitTakesSiblings(t *testing.T) {
	var hs []*logbook.History
	for _, seed := range []uint64{3, 4} {
		log, err := simulate.Run(simulate.Preset(simulate.Rich, seed))
		if err != nil {
			t.Fatal(err)
		}
		h, err := logbook.NewHistory(onlyPack(log.Records), log.Records, log.Truth.End)
		if err != nil {
			t.Fatal(err)
		}
		hs = append(hs, h)
	}
	sibling, ok := FitHistory(hs[1], nil).Sibling()
	if !ok {
		t.Fatal("the other pack tells nothing of its fade")
	}
	fresh := FitHistory(hs[0], []Sibling{sibling})
	alone := FitHistory(hs[0], nil)
	if !bytes.Equal(fresh.Keep(), alone.Keep()) {
		t.Error("what is kept depends on the siblings")
	}
	again, ok := Restore(hs[0], alone.Keep(), []Sibling{sibling})
	if !ok || !reflect.DeepEqual(fresh.draws, again.draws) || !reflect.DeepEqual(fresh.Fade(), again.Fade()) {
		t.Error("a restored fit gives other draws than a fresh one")
	}
	if reflect.DeepEqual(fresh.draws, alone.draws) {
		t.Error("the sibling changes nothing")
	}
}

// TestSeenFromEqualsAFitAsOfThen moves the clock of a fit, and fits anew what
// was logged by then: the same records.
func TestSeenFromEqualsAFitAsOfThen(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Messy, simulate.BenchCell} {
		log, err := simulate.Run(simulate.Preset(style, 5))
		if err != nil {
			t.Fatal(err)
		}
		end := logbook.EndOf(log.Records[0])
		for _, r := range log.Records {
			if e := logbook.EndOf(r); e.After(end) {
				end = e
			}
		}
		fitAt := func(at time.Time) *Fit {
			h, err := logbook.NewHistory(onlyPack(log.Records), log.Records, at)
			if err != nil {
				t.Fatal(err)
			}
			return FitHistory(h, nil)
		}
		later := end.AddDate(0, 9, 3)
		moved, anew := fitAt(later).SeenFrom(end), fitAt(end)
		for _, day := range []int{0, 40, 300} {
			if a, b := moved.At(end.AddDate(0, 0, day)), anew.At(end.AddDate(0, 0, day)); fmt.Sprint(a) != fmt.Sprint(b) {
				t.Errorf("%v: %d days on the two differ", style, day)
			}
		}
		if fmt.Sprint(moved.SeasonRangeKm(later)) != fmt.Sprint(anew.SeasonRangeKm(later)) || !moved.Now().Equal(end) {
			t.Errorf("%v: the range of a season differs", style)
		}
	}
}

// onlyPack returns the id of the log's pack.
func onlyPack(records []logbook.Record) string {
	for _, r := range records {
		if p, ok := r.(*logbook.Pack); ok {
			return p.ID
		}
	}
	return ""
}
