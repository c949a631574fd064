package model_test

import (
	"math"
	"sync"
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// slipsOf are the wrong entries that are tried: each changes one figure of a
// record and returns its name, or "" where the record does not hold it.
var slipsOf = []func(r logbook.Record, cellV float64) string{
	func(r logbook.Record, _ float64) string {
		if ride, ok := r.(*logbook.Ride); ok && ride.DistanceKm.OK && ride.DistanceKm.V > 0 {
			scale(10, &ride.DistanceKm)
			return "distance_km tenfold"
		}
		return ""
	},
	func(r logbook.Record, _ float64) string {
		switch r := r.(type) {
		case *logbook.Ride:
			if r.DischargedAh.OK {
				scale(10, &r.DischargedAh)
				return "discharged_ah tenfold"
			}
		case *logbook.Charge:
			if r.ChargedAh.OK {
				scale(10, &r.ChargedAh)
				return "charged_ah tenfold"
			}
			if r.ChargedWh.OK {
				scale(10, &r.ChargedWh)
				return "charged_wh tenfold"
			}
		}
		return ""
	},
	func(r logbook.Record, cellV float64) string {
		switch r := r.(type) {
		case *logbook.Ride:
			if r.EndRestV.OK {
				r.EndRestV.V -= cellV
				return "end_rest_v less a cell"
			}
		case *logbook.Charge:
			if r.StartRestV.OK {
				r.StartRestV.V += cellV
				return "start_rest_v and a cell"
			}
		}
		return ""
	},
}

// moves returns by what share of its interval the middle of each estimate now
// and in a year moves from one fit to another.
func moves(h *logbook.History, was, is *model.Fit) map[string]float64 {
	out := map[string]float64{}
	known := was.Known()
	for _, months := range []int{0, 12} {
		at := h.AsOf.AddDate(0, months, 0)
		x, y := answersOf(was.At(at)), answersOf(is.At(at))
		if !known.Resistance {
			delete(x, "resistance")
			delete(x, "growth")
		}
		for name := range x {
			low, high := model.Quantile(x[name], .05), model.Quantile(x[name], .95)
			out[name] = max(out[name], math.Abs(middleOf(y[name])-middleOf(x[name]))/(high-low))
		}
	}
	return out
}

// throughput are the estimates of what was taken out in all. A wrong entry
// that cannot be told from an unlogged ride still moves some of them: see
// TestOneWrongEntry.
var throughput = map[string]bool{"efc": true, "total_ah": true, "total_kwh": true}

// TestOneWrongEntry: from 30 records on, one wrong entry moves no estimate by
// more than a quarter of its interval. Every few records, each slip in turn.
//
// That is so from 150 records on, but for throughput. With 30 records a few
// slips among the first rides to the limit move capacity by up to 0.6 of its
// interval, and in either size one slip in twenty moves the throughput by more
// than a quarter: those are logged, and what is held to is their share.
func TestOneWrongEntry(t *testing.T) {
	tried, shaken, shakenThroughput := 0, 0, 0
	var mu sync.Mutex
	for _, style := range []simulate.Style{simulate.Rich, simulate.Flat, simulate.WallOnly, simulate.Messy} {
		for _, size := range []int{30, 150} {
			cfg := simulate.Preset(style, firstKeptBack+4)
			cfg.Years = 1
			cfg.Keeping.Wrong = 0
			log, err := simulate.Run(cfg)
			if err != nil {
				t.Fatal(err)
			}
			at := logbook.EndOf(log.Records[size+1]) // beside pack and board
			fit := func(records []logbook.Record) (*logbook.History, *model.Fit) {
				h, err := logbook.NewHistory(cfg.Pack.ID, records, at)
				if err != nil {
					t.Fatal(err)
				}
				return h, model.FitHistory(h, nil)
			}
			h, clean := fit(log.Records)
			tries := envCount("PACKWANE_LONG", 8)
			inParallel(tries*len(slipsOf), func(i int) {
				k := 2 + (i/len(slipsOf))*(size-2)/max(tries-1, 1)
				wrong, what := nextSlip(t, log.Records[k:size+2], slipsOf[i%len(slipsOf)], cfg.Pack.NominalV)
				if wrong == nil {
					return
				}
				records := copyWith(log.Records, wrong)
				_, bent := fit(records)
				mu.Lock()
				defer mu.Unlock()
				tried++
				core, used := false, false
				for name, share := range moves(h, clean, bent) {
					if share <= .25 {
						continue
					}
					t.Logf("%s, %d records, %s, %s: %s moves by %.2f of its interval", style, size, logbook.HeadOf(wrong).ID, what, name, share)
					core, used = core || !throughput[name], used || throughput[name]
					if !throughput[name] && (size >= 150 || share > 1) {
						t.Errorf("%s, %d records, %s, %s: %s moves by %.2f of its interval", style, size, logbook.HeadOf(wrong).ID, what, name, share)
					}
				}
				if core {
					shaken++
				}
				if used {
					shakenThroughput++
				}
			})
		}
	}
	t.Logf("of %d wrong entries %d move an estimate other than throughput by more than a quarter of its interval, %d one of throughput", tried, shaken, shakenThroughput)
	if float64(shaken) > .04*float64(tried) || float64(shakenThroughput) > .12*float64(tried) {
		t.Errorf("of %d wrong entries %d and %d (throughput) move an estimate by more than a quarter of its interval", tried, shaken, shakenThroughput)
	}
}

// nextSlip makes the slip in a copy of the first of the records that holds the
// figure; nil where none does.
func nextSlip(t *testing.T, from []logbook.Record, slip func(logbook.Record, float64) string, cellV float64) (logbook.Record, string) {
	for _, r := range from {
		wrong := copyOf(t, r)
		if what := slip(wrong, cellV); what != "" {
			return wrong, what
		}
	}
	return nil, ""
}

// copyWith replaces the record of the same kind and id.
func copyWith(records []logbook.Record, by logbook.Record) []logbook.Record {
	out := append([]logbook.Record(nil), records...)
	for i, r := range out {
		if r.Kind() == by.Kind() && logbook.HeadOf(r).ID == logbook.HeadOf(by).ID {
			out[i] = by
		}
	}
	return out
}
