package gpx

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

func summaryOf(t *testing.T, o Options) *Summary {
	t.Helper()
	points, _ := steadyRide()
	return Analyse(asTrack(points), o)
}

// TestNewRide makes a valid record with all that a track tells, and no place.
func TestNewRide(t *testing.T) {
	s := summaryOf(t, Options{WindKmh: logbook.Some(8), WindFromDeg: logbook.Some(200)})
	r, err := s.NewRide("invented-pack", "invented-board")
	if err != nil {
		t.Fatal(err)
	}
	if err := logbook.Validate(r); err != nil {
		t.Fatal(err)
	}
	if !r.At.Equal(simStart) || !r.End.Equal(s.End) || r.Rev != 1 {
		t.Errorf("from %v to %v, rev %d", r.At, r.End, r.Rev)
	}
	for _, name := range trackFields {
		if f, ok := logbook.FieldNamed(logbook.KindRide, name); !ok || !f.Present(r) {
			t.Errorf("%s is absent (a field: %v)", name, ok)
		}
	}
	if r.WindKmh.V != 8 || r.WindFromDeg.V != 200 {
		t.Errorf("a wind of %g km/h from %g: what it costs all round is lost", r.WindKmh.V, r.WindFromDeg.V)
	}
	line := string(logbook.AppendJSON(nil, r))
	if strings.Contains(line, "46.") || strings.Contains(line, "7.75") || strings.Contains(line, "lat") {
		t.Errorf("the record holds a place: %s", line)
	}
}

func TestNewRideWithoutTimes(t *testing.T) {
	points, _ := steadyRide()
	for i := range points {
		points[i].has, points[i].timeMs = hasEle, 0
	}
	if r, err := Analyse(asTrack(points), Options{}).NewRide("invented-pack", ""); err == nil || r != nil {
		t.Errorf("%v, %v: want a refusal", r, err)
	}
}

// TestAmend fills what was not measured and keeps what was.
func TestAmend(t *testing.T) {
	s := summaryOf(t, Options{})
	ride := &logbook.Ride{
		Head: logbook.Head{ID: "invented-ride", Rev: 3}, Pack: "invented-pack", At: simStart.Add(-time.Minute),
		DistanceKm: logbook.Some(6.4), WindKmh: logbook.Some(10), WindFromDeg: logbook.Some(270), TyreKpa: logbook.Some(220),
	}
	before := *ride
	got, filled, kept, err := s.Amend(ride)
	if err != nil {
		t.Fatal(err)
	}
	if *ride != before {
		t.Error("the record that was given has changed")
	}
	if got.DistanceKm != ride.DistanceKm || got.TyreKpa != ride.TyreKpa || got.ID != ride.ID || got.Rev != 3 || !got.At.Equal(ride.At) {
		t.Errorf("what was measured has changed: %+v", got)
	}
	want := []string{"end", "moving_speed_kmh", "moving_min", "speed_sd_kmh", "headwind_kmh", "shape", "climb_m", "descent_m"}
	if !slices.Equal(filled, want) {
		t.Errorf("filled %v, want %v", filled, want)
	}
	if len(kept) != 1 || kept[0].Field != "distance_km" || kept[0].Has != "6.4" || kept[0].Track == "6.4" {
		t.Errorf("kept %v", kept)
	}
	if got.HeadwindKmh != rounded(s.Headwind(10, 270), 10) {
		t.Errorf("headwind %v, want that of the ride's own wind", got.HeadwindKmh)
	}
	other := summaryOf(t, Options{WindKmh: logbook.Some(25), WindFromDeg: logbook.Some(180)})
	if mixed, _, _, err := other.Amend(ride); err != nil || mixed.WindKmh != ride.WindKmh || mixed.WindFromDeg != ride.WindFromDeg || mixed.HeadwindKmh != got.HeadwindKmh {
		t.Errorf("the track's wind is mixed with the ride's: %v from %v, %v against, %v", mixed.WindKmh, mixed.WindFromDeg, mixed.HeadwindKmh, err)
	}
	bare := *ride
	bare.WindKmh, bare.WindFromDeg = logbook.Num{}, logbook.Num{}
	if taken, _, _, err := other.Amend(&bare); err != nil || taken.WindKmh.V != 25 || taken.WindFromDeg.V != 180 || !taken.HeadwindKmh.OK {
		t.Errorf("the track's wind is not taken: %+v, %v", taken, err)
	}
	again, filled, kept, err := s.Amend(got)
	if err != nil || len(filled) != 0 || len(kept) != 1 || *again != *got {
		t.Errorf("amended again: %v %v %v", filled, kept, err)
	}
}

// TestAmendAnotherDay refuses a track of another day.
func TestAmendAnotherDay(t *testing.T) {
	s := summaryOf(t, Options{})
	for _, off := range []time.Duration{-72 * time.Hour, 72 * time.Hour} {
		ride := &logbook.Ride{Head: logbook.Head{ID: "invented-ride"}, Pack: "invented-pack", At: simStart.Add(off)}
		if _, _, _, err := s.Amend(ride); err == nil || !strings.Contains(err.Error(), "2026-04-11") {
			t.Errorf("ride %v off: %v, want a refusal that names the day", off, err)
		}
	}
	ride := &logbook.Ride{Head: logbook.Head{ID: "invented-ride"}, Pack: "invented-pack", At: simStart.Add(2 * time.Hour)}
	if got, _, _, err := s.Amend(ride); err != nil || !got.End.IsZero() {
		t.Errorf("a clock two hours off: end %v, %v, want none", got.End, err)
	}
}

// TestJSON has every name of the contract, null for what is not known.
func TestJSON(t *testing.T) {
	names := []string{"distance_km", "moving_speed_kmh", "moving_min", "stopped_min", "climb_m", "descent_m", "speed_sd_kmh", "steady_share", "warnings"}
	for name, s := range map[string]*Summary{"ride": summaryOf(t, Options{}), "one point": Analyse(asTrack([]fix{fixAt(0, 0, 0)}), Options{})} {
		var got map[string]any
		if err := json.Unmarshal([]byte(text(t, s)), &got); err != nil {
			t.Fatal(err)
		}
		for _, n := range names {
			v, ok := got[n]
			if !ok || name == "ride" && v == nil {
				t.Errorf("%s: %s is %v (there: %v)", name, n, v, ok)
			}
		}
		if name == "one point" && (got["distance_km"] != nil || got["climb_m"] != nil) {
			t.Errorf("one point: %v", got)
		}
		if strings.Contains(text(t, s), "lat") || strings.Contains(text(t, s), "lon") {
			t.Errorf("%s: the document holds places", name)
		}
	}
}
