package model_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// writtenLog reads a log written here, invented, up to its last record.
func writtenLog(t *testing.T, pack, lines string) *logbook.History {
	t.Helper()
	var records []logbook.Record
	last := time.Time{}
	for e, err := range logbook.Read(strings.NewReader(lines), "log") {
		if err != nil {
			t.Fatal(err)
		}
		records = append(records, e.Record)
		if end := logbook.EndOf(e.Record); end.After(last) {
			last = end
		}
	}
	h, err := logbook.NewHistory(pack, records, last)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestLogsThatOpenOnTheWay: a log may begin with a ride of a pack that was half empty, and
// with a charge that nobody said had finished. What was taken out is what the meter
// counted; a charge that rests at 4.03 V a cell was none to the top, and the capacity
// stays near the rated 7.8 Ah.
func TestLogsThatOpenOnTheWay(t *testing.T) {
	const pack = `{"record":"board","id":"w","mass_kg":14}
{"record":"pack","id":"q","board":"w","chemistry":"nmc","series":10,"parallel":3,"cell_capacity_ah":2.6,"cell_full_v":4.2,"limit_v":31,"in_service":"2025-03-25"}
{"record":"ride","id":"r1","pack":"q","board":"w","at":"2025-03-28T17:55:00+11:00","distance_km":14.9,"moving_min":44,"discharged_ah":3.74,"stop":"limit"}
`
	for name, c := range map[string]struct {
		more string
		out  float64 // Ah
	}{
		"filled again": {`{"record":"charge","id":"c1","pack":"q","at":"2025-03-29T13:05:00+11:00","charged_ah":7.6,"full":true}`, 3.74},
		"stopped early, and nobody says so": {`{"record":"charge","id":"c1","pack":"q","at":"2025-03-29T13:05:00+11:00","charged_ah":6.14,"end_rest_v":40.3,"end_rest_min":30}
{"record":"ride","id":"r2","pack":"q","board":"w","at":"2025-03-29T17:18:00+11:00","distance_km":14.7,"moving_min":48,"start_rest_v":40.3}
{"record":"charge","id":"c2","pack":"q","at":"2025-04-03T08:47:00+11:00","charged_ah":4.65,"full":true}`, math.NaN()},
	} {
		h := writtenLog(t, "q", pack+c.more+"\n")
		at := model.FitHistory(h, nil).At(h.AsOf)
		ah, total := model.Quantile(at.CapacityAh, .5), model.Quantile(at.TotalAh, .5)
		if ah < 7 || ah > 8.2 {
			t.Errorf("%s: %.2f Ah", name, ah)
		}
		if !math.IsNaN(c.out) && math.Abs(total-c.out) > .08 {
			t.Errorf("%s: %.2f Ah taken out, want %v", name, total, c.out)
		}
	}
}
