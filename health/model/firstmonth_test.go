package model

import (
	"testing"
	"time"

	"packwane/health/logbook"
)

// TestEnergyOfAFirstMonth: a log of five weeks (invented) with rides that nobody metered,
// one of 0 km among them, and charges that nobody logged. What was taken out is what the
// rides' own meters say, with as much for each kilometre of the others; a ride that seems
// to begin beyond empty does not make it more.
func TestEnergyOfAFirstMonth(t *testing.T) {
	h := historyIn(t, "first_month.jsonl", "marten-a", time.Date(2026, 11, 29, 12, 0, 0, 0, time.UTC))
	var wh, metered, km float64
	for _, r := range h.Rides {
		km += r.DistanceKm.V
		if r.DischargedWh.OK {
			wh, metered = wh+r.DischargedWh.V, metered+r.DistanceKm.V
		}
	}
	byMeter := wh / metered * km / 1000
	got := Quantile(FitHistory(h, nil).At(h.AsOf).TotalKwh, .5)
	t.Logf("%.2f kWh by the fit, %.2f by the meters", got, byMeter)
	if got < .96*byMeter || got > 1.12*byMeter {
		t.Errorf("%.2f kWh taken out, %.2f by the meters", got, byMeter)
	}
	if r := h.Rides[5]; r.DistanceKm != logbook.Some(0) {
		t.Fatalf("%s is not the ride of no distance", r.ID)
	}
}
