package gpx

import (
	"errors"
	"fmt"
	"math"
	"time"

	"packwane/health/logbook"
)

// Kept is a field that a ride had already, with another value than the track's.
type Kept struct {
	Field string `json:"field"`
	Has   string `json:"has"`   // as in a CSV cell, the value that stays
	Track string `json:"track"` // what the track says
}

// trackFields are the fields of a ride that a track can tell. The start is
// among them only where the ride is a new one.
var trackFields = []string{"end", "distance_km", "moving_speed_kmh", "moving_min", "speed_sd_kmh", "headwind_kmh", "wind_kmh", "wind_from_deg", "shape", "climb_m", "descent_m"}

// NewRide returns a ride of the pack, on a board if one is named, as the track
// tells it, without an id. A track without times has no start and is refused.
func (s *Summary) NewRide(pack, board string) (*logbook.Ride, error) {
	if s.Start.IsZero() {
		return nil, errors.New("the track has no times: want the id of a logged ride that it belongs to")
	}
	r := s.told()
	r.Rev, r.Pack, r.Board, r.At = 1, pack, board, s.Start
	return r, nil
}

// told returns a ride that holds just what the track tells, rounded to what a
// receiver can mean.
func (s *Summary) told() *logbook.Ride {
	r := &logbook.Ride{
		End:            s.End,
		DistanceKm:     rounded(s.DistanceKm, 1e3),
		MovingSpeedKmh: rounded(s.MovingSpeedKmh, 1e2),
		MovingMin:      rounded(s.MovingMin, 1e2),
		SpeedSdKmh:     rounded(s.SpeedSdKmh, 1e2),
		HeadwindKmh:    rounded(s.HeadwindKmh, 1e1),
		WindKmh:        s.WindKmh,
		WindFromDeg:    s.WindFromDeg,
		ClimbM:         rounded(s.ClimbM, 1),
		DescentM:       rounded(s.DescentM, 1),
		Shape:          s.Shape,
	}
	if s.MovingSpeedKmh.OK && r.MovingSpeedKmh.V == 0 {
		r.MovingSpeedKmh = logbook.Num{} // a record takes only speeds above 0
	}
	return r
}

func rounded(n logbook.Num, steps float64) logbook.Num {
	if !n.OK {
		return n
	}
	return logbook.Some(math.Round(n.V*steps)/steps + 0) // + 0: no -0
}

// apart is how far a track may lie from the ride that it is said to belong to:
// the clock of one may be set to another zone.
const apart = 26 * time.Hour

// Amend returns a copy of the ride r in which the fields that were not measured
// hold what the track tells, with their names; what r has stays, and is listed
// where the track says otherwise. Where r knows the wind, the headwind along
// the way comes from it. A track of another day is refused.
func (s *Summary) Amend(r *logbook.Ride) (amended *logbook.Ride, filled []string, kept []Kept, err error) {
	if !s.Start.IsZero() && (s.Start.Sub(logbook.EndOf(r)) > apart || r.At.Sub(s.End) > apart) {
		return nil, nil, nil, fmt.Errorf("the track is of %s and the ride %s of %s: want the ride of that track",
			s.Start.Format(logbook.DateLayout), r.ID, r.At.Format(logbook.DateLayout))
	}
	told := s.told()
	if r.WindKmh.OK || r.WindFromDeg.OK || r.HeadwindKmh.OK { // two winds are not mixed
		told.HeadwindKmh, told.WindKmh, told.WindFromDeg = logbook.Num{}, logbook.Num{}, logbook.Num{}
	}
	if r.WindKmh.OK && r.WindFromDeg.OK {
		told.HeadwindKmh = rounded(s.Headwind(r.WindKmh.V, r.WindFromDeg.V), 1e1)
	}
	if told.End.Before(r.At) {
		told.End = time.Time{} // by another clock: the ride cannot end before it began
	}
	next := *r
	for _, name := range trackFields {
		f, ok := logbook.FieldNamed(logbook.KindRide, name)
		if !ok || !f.Present(told) {
			continue
		}
		text := f.Text(told)
		if f.Present(r) {
			if has := f.Text(r); has != text {
				kept = append(kept, Kept{name, has, text})
			}
			continue
		}
		if err := f.SetText(&next, text); err != nil {
			return nil, nil, nil, err
		}
		filled = append(filled, name)
	}
	return &next, filled, kept, nil
}
