package logbook_test

import (
	"strings"
	"testing"

	"packwane/health/logbook"
)

// A wrong name is answered with the field that was most likely meant, or with
// none.
func TestNearestField(t *testing.T) {
	for typed, want := range map[string]string{
		"AT": "at", "Distance_km": "distance_km", "distance": "distance_km", "distance km": "distance_km", "moving-speed-kmh": "moving_speed_kmh",
		"ambiant_c": "ambient_c", "tire_kpa": "tyre_kpa", "odometer": "odometer_km", "discharged": "discharged_ah",
		"colour": "", "x": "", "": "", "lat": "", strings.Repeat("distance", 20): "",
	} {
		_, err := logbook.ParseJSON([]byte(`{"record":"ride","` + typed + `":1}`))
		if err == nil {
			t.Errorf("%q is a field", typed)
			continue
		}
		_, hint, _ := strings.Cut(err.Error(), "no such field")
		if got := strings.TrimSuffix(strings.TrimPrefix(hint, ": want "), "?"); got != want {
			t.Errorf("%q: %v, want a hint of %q", typed, err, want)
		}
	}
}
