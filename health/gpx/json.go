package gpx

import (
	"encoding/json"
	"time"

	"packwane/health/logbook"
)

// Document is a Summary as one JSON document: null for what is not known, and
// lists that are never null.
type Document struct {
	Start          *time.Time    `json:"start"`
	End            *time.Time    `json:"end"`
	DistanceKm     *float64      `json:"distance_km"`
	MovingSpeedKmh *float64      `json:"moving_speed_kmh"`
	MovingMin      *float64      `json:"moving_min"`
	StoppedMin     *float64      `json:"stopped_min"`
	ClimbM         *float64      `json:"climb_m"`
	DescentM       *float64      `json:"descent_m"`
	SpeedSdKmh     *float64      `json:"speed_sd_kmh"`
	SteadyShare    *float64      `json:"steady_share"`
	TargetKmh      *float64      `json:"target_kmh"`
	WithinKmh      float64       `json:"within_kmh"`
	HeadwindKmh    *float64      `json:"headwind_kmh"`
	Shape          *string       `json:"shape"`
	Stops          []Stop        `json:"stops"`
	Series         []SeriesPoint `json:"series"`
	Warnings       []Warning     `json:"warnings"`
}

// Document returns the figures under the names of the records.
func (s *Summary) Document() Document {
	d := Document{
		Start: timeOrNull(s.Start), End: timeOrNull(s.End),
		DistanceKm: orNull(s.DistanceKm), MovingSpeedKmh: orNull(s.MovingSpeedKmh),
		MovingMin: orNull(s.MovingMin), StoppedMin: orNull(s.StoppedMin),
		ClimbM: orNull(s.ClimbM), DescentM: orNull(s.DescentM),
		SpeedSdKmh: orNull(s.SpeedSdKmh), SteadyShare: orNull(s.SteadyShare),
		TargetKmh: orNull(s.TargetKmh), WithinKmh: s.WithinKmh, HeadwindKmh: orNull(s.HeadwindKmh),
		Stops: append([]Stop{}, s.Stops...), Series: append([]SeriesPoint{}, s.Series...),
		Warnings: append([]Warning{}, s.Warnings...),
	}
	if s.Shape != "" {
		d.Shape = &s.Shape
	}
	return d
}

// MarshalJSON writes the Document.
func (s *Summary) MarshalJSON() ([]byte, error) { return json.Marshal(s.Document()) }

func orNull(n logbook.Num) *float64 {
	if !n.OK {
		return nil
	}
	return &n.V
}

func timeOrNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
