package model

import (
	"reflect"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// TestKeptFitEqualsFresh restores a kept fit and compares every draw with
// those of a fresh one, to the last bit.
func TestKeptFitEqualsFresh(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Messy, simulate.BenchCell} {
		log, err := simulate.Run(simulate.Preset(style, 3))
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
	for name, bad := range map[string][]byte{"nothing": nil, "text": []byte("not a fit"), "cut short": data[:len(data)/2]} {
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

// onlyPack returns the id of the log's pack.
func onlyPack(records []logbook.Record) string {
	for _, r := range records {
		if p, ok := r.(*logbook.Pack); ok {
			return p.ID
		}
	}
	return ""
}
