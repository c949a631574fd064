package fits

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// month is a pack with a charge and a ride from full to the limit every week
// for a month, each of so many ampere hours.
func month(t *testing.T, ah float64) *logbook.History {
	t.Helper()
	first := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	records := []logbook.Record{&logbook.Pack{
		Head: logbook.Head{ID: "heron"}, Chemistry: "nmc", Series: logbook.Some(10), Parallel: logbook.Some(4),
		CellCapacityAh: logbook.Some(3), CellFullV: logbook.Some(4.2), LimitV: logbook.Some(31),
	}}
	for week := range 4 {
		at := first.AddDate(0, 0, 7*week)
		records = append(records,
			&logbook.Charge{Head: logbook.Head{ID: "c" + string(rune('0'+week))}, Pack: "heron", At: at, ChargedAh: logbook.Some(ah), Full: logbook.Yes},
			&logbook.Ride{Head: logbook.Head{ID: "r" + string(rune('0'+week))}, Pack: "heron", At: at.Add(time.Hour), DischargedAh: logbook.Some(ah), Stop: "limit"})
	}
	h, err := logbook.NewHistory("heron", records, first.AddDate(0, 1, 0))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestFitAsWithoutCache asks twice, and then with each kind of file in the place
// of the kept fit: the answer is that of no cache, and the fit is kept anew.
func TestFitAsWithoutCache(t *testing.T) {
	c := Cache{Dir: t.TempDir()}
	ours, others := month(t, 11.2), month(t, 9.4)
	fresh := bytes.Clone(Cache{}.Fit(ours, nil).Keep())
	if bytes.Equal(fresh, Cache{}.Fit(others, nil).Keep()) {
		t.Fatal("both packs have the same fit: nothing could be mixed up")
	}
	c.Fit(others, nil)
	c.Fit(ours, nil)
	file := func(h *logbook.History) string { return filepath.Join(c.Dir, model.Key(h)+".fit") }
	kept, err := os.ReadFile(file(ours))
	if err != nil {
		t.Fatal(err)
	}
	foreign, err := os.ReadFile(file(others))
	if err != nil {
		t.Fatal(err)
	}
	for _, there := range []struct {
		what string
		data []byte
	}{
		{"its own", kept},
		{"another pack's", foreign},
		{"a fit without its name", fresh},
		{"nothing", nil},
		{"half of it", kept[:len(kept)/2]},
		{"its name alone", kept[:64]},
		{"one byte more", append(bytes.Clone(kept), 0)},
	} {
		if err := os.WriteFile(file(ours), there.data, 0o600); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(c.Fit(ours, nil).Keep(), fresh) {
			t.Errorf("with %s in the cache the fit is another", there.what)
		}
		if again, err := os.ReadFile(file(ours)); err != nil || !bytes.Equal(again, kept) {
			t.Errorf("with %s in the cache the fit was not kept anew: %v", there.what, err)
		}
	}
}
