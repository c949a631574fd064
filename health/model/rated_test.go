package model

import (
	"math"
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestWithoutARating: what stands in for a rating is loose where no record emptied the
// pack, and what such records do not tell is not told. The pack is invented.
func TestWithoutARating(t *testing.T) {
	some := logbook.Some
	first := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for _, test := range []struct {
		name            string
		stop            string
		rated           logbook.Num
		capacity        bool
		leastAh, mostAh float64 // of the stand-in
	}{
		{"never to the limit", "chosen", logbook.Num{}, false, 2.8, 6},
		{"to the limit", "limit", logbook.Num{}, true, 2.6, 2.8},
		{"rated", "chosen", some(3), false, 12, 12},
	} {
		pack := &logbook.Pack{Head: logbook.Head{ID: "dipper", Rev: 1}, Board: "dipper-board", Chemistry: "nmc", Series: some(10), Parallel: some(4), CellCapacityAh: test.rated}
		records := []logbook.Record{&logbook.Board{Head: logbook.Head{ID: "dipper-board", Rev: 1}, MassKg: some(15)}, pack}
		for i := range 20 {
			at := first.AddDate(0, 0, 3*i)
			id := string(rune('a' + i))
			records = append(records,
				&logbook.Ride{Head: logbook.Head{ID: "r" + id, Rev: 1}, Pack: "dipper", Board: "dipper-board", At: at, DistanceKm: some(8 + .1*float64(i%3)), DischargedAh: some(2.6 + .05*float64(i%4)), Stop: test.stop},
				&logbook.Charge{Head: logbook.Head{ID: "c" + id, Rev: 1}, Pack: "dipper", At: at.Add(6 * time.Hour), Full: logbook.Yes})
		}
		h, err := logbook.NewHistory("dipper", records, first.AddDate(0, 3, 0))
		if err != nil {
			t.Fatal(err)
		}
		fit := FitHistory(h, nil)
		if ah := fit.m.ratedAh; ah < test.leastAh || ah > test.mostAh {
			t.Errorf("%s: %g Ah stand in, want %g to %g", test.name, ah, test.leastAh, test.mostAh)
		}
		if fit.Known().Capacity != test.capacity {
			t.Errorf("%s: the capacity is known: %v, want %v", test.name, fit.Known().Capacity, test.capacity)
		}
	}
}

// TestMostOf: one figure that stands alone is no pack.
func TestMostOf(t *testing.T) {
	m := &machine{series: 10}
	m.chem.NominalV = 3.6
	for _, ah := range []float64{4.1, 4.3, 43} {
		m.events = append(m.events, event{ah: ah})
	}
	if most := m.mostOf(func(*event) bool { return true }); most != 4.3 {
		t.Errorf("%g Ah, want 4.3", most)
	}
}

// TestWhatStandsInForARating: rides and charges in turn, and what they make of the pack.
func TestWhatStandsInForARating(t *testing.T) {
	some := logbook.Some
	ride := func(ah float64, stop string) logbook.Record {
		return &logbook.Ride{Pack: "dunlin", Board: "dunlin-board", DistanceKm: some(3 * ah), DischargedAh: some(ah), Stop: stop}
	}
	full := &logbook.Charge{Pack: "dunlin", Full: logbook.Yes}
	wh := &logbook.Charge{Pack: "dunlin", Full: logbook.Yes, ChargedWh: some(174)}
	slip := func() (out []logbook.Record) {
		for range 19 {
			out = append(out, ride(3, "chosen"), full)
		}
		return append(out, ride(43, "limit"), full)
	}
	for _, test := range []struct {
		name   string
		series logbook.Num
		of     []logbook.Record
		ah, sd float64
	}{
		{"two rides to the limit", some(10), []logbook.Record{ride(2, "chosen"), ride(2.7, "limit"), full, ride(2.1, "chosen"), ride(2.6, "limit"), full}, 4.7, lnEmptiedSd},
		{"energy of an unknown number of groups", logbook.Num{}, []logbook.Record{ride(4.7, "limit"), wh, ride(4.7, "limit"), wh}, 4.7, lnEmptiedSd},
		{"a shifted point", some(10), slip(), 4.5, lnPartSd},
		{"rides that begin anywhere", some(10), []logbook.Record{ride(4.7, "limit"), full, ride(2, "limit"), full, ride(3.4, "limit"), full, ride(1, "limit"), full}, 2.7, lnPartSd},
		{"nothing", some(10), []logbook.Record{full}, unratedAh, lnUnratedSd},
	} {
		records := []logbook.Record{&logbook.Board{Head: logbook.Head{ID: "dunlin-board", Rev: 1}}, &logbook.Pack{Head: logbook.Head{ID: "dunlin", Rev: 1}, Board: "dunlin-board", Chemistry: "nmc", Series: test.series}}
		at := time.Date(2026, 4, 1, 8, 0, 0, 0, time.UTC)
		for i, r := range test.of {
			at = at.Add(9 * time.Hour)
			head := logbook.Head{ID: string(rune('A' + i)), Rev: 1}
			switch r := r.(type) {
			case *logbook.Ride:
				own := *r
				own.Head, own.At = head, at
				records = append(records, &own)
			case *logbook.Charge:
				own := *r
				own.Head, own.At = head, at
				records = append(records, &own)
			}
		}
		h, err := logbook.NewHistory("dunlin", records, at.AddDate(0, 0, 1))
		if err != nil {
			t.Fatal(err)
		}
		m := prepare(h)
		if math.Abs(m.ratedAh/test.ah-1) > .01 || m.ratedSd != test.sd {
			t.Errorf("%s: %.2f Ah within %.2f, want %g within %g", test.name, m.ratedAh, m.ratedSd, test.ah, test.sd)
		}
	}
}
