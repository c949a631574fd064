package model_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// TestLaterRecordsChangeNothing: a fit as of a time is the same to the last
// bit whether or not the log goes on after it, even where what follows is
// nonsense; and asked twice it says the same, whatever the clock does.
func TestLaterRecordsChangeNothing(t *testing.T) {
	for _, style := range []simulate.Style{simulate.Rich, simulate.Messy} {
		cfg := simulate.Preset(style, firstKeptBack+5)
		cfg.Years = 1
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		for _, share := range []float64{.2, .5, .9} {
			asOf := cfg.Start.Add(time.Duration(share * float64(log.Truth.End.Sub(cfg.Start))))
			var until, nonsense []logbook.Record
			rng := rand.New(rand.NewPCG(7, 7))
			for _, r := range log.Records {
				if !logbook.EndOf(r).After(asOf) {
					until, nonsense = append(until, r), append(nonsense, r)
					continue
				}
				later := copyOf(t, r)
				if ride, ok := later.(*logbook.Ride); ok {
					scale(20*rng.Float64(), &ride.DistanceKm, &ride.DischargedAh, &ride.DischargedWh, &ride.OdometerKm, &ride.StartRestV)
				}
				nonsense = append(nonsense, later)
			}
			fits := make([]*model.Fit, 0, 3)
			var h *logbook.History
			for _, records := range [][]logbook.Record{until, log.Records, nonsense} {
				if h, err = logbook.NewHistory(cfg.Pack.ID, records, asOf); err != nil {
					t.Fatal(err)
				}
				fits = append(fits, model.FitHistory(h, nil))
			}
			sameAnswers(t, style.String()+" with what follows", h, fits[0], fits[1], 0)
			sameAnswers(t, style.String()+" with nonsense to follow", h, fits[0], fits[2], 0)
		}
	}
}
