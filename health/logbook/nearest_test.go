package logbook_test

import (
	"strings"
	"testing"

	"packwane/health/logbook"
)

// A wrong name is answered with the field that was most likely meant, else with
// all that the kind has.
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
		hint := ": want " + want + "?"
		if want == "" {
			hint = ": want one of id, rev, removed, pack, "
		}
		if !strings.Contains(err.Error(), "a ride has no such field"+hint) {
			t.Errorf("%q: %v, want a hint of %q", typed, err, want)
		}
	}
}

// The distances are worked by hand from the definition: the least number of
// letters to insert, drop or replace.
func TestEditDistance(t *testing.T) {
	for _, tc := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"", "abc", 3}, {"abc", "abc", 0}, {"kitten", "sitting", 3}, {"tyre", "tire", 1}, {"ab", "ba", 2}} {
		if got := logbook.EditDistance(tc.a, tc.b); got != tc.want {
			t.Errorf("EditDistance(%q, %q) = %d, want %d", tc.a, tc.b, got, tc.want)
		}
		if got := logbook.EditDistance(tc.b, tc.a); got != tc.want {
			t.Errorf("EditDistance(%q, %q) = %d, want %d", tc.b, tc.a, got, tc.want)
		}
	}
}
