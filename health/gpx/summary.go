package gpx

import (
	"math"
	"time"

	"packwane/health/logbook"
)

// Options says against what a track is measured.
type Options struct {
	TargetKmh   logbook.Num // the speed that was to be held; the mean on the move where absent
	WithinKmh   logbook.Num // how far off it counts as held; DefaultWithinKmh where absent
	WindKmh     logbook.Num // mean wind during the ride
	WindFromDeg logbook.Num // where it came from, degrees clockwise from north
}

// DefaultWithinKmh is the tolerance of the speed in range tests of ISO 13064-1.
const DefaultWithinKmh = 2.0

// Warning says what a figure lacks.
type Warning struct {
	Code string `json:"code"` // snake_case
	Text string `json:"text"`
}

// Stop is a time at rest. Where it was is told by the distance alone.
type Stop struct {
	AtKm float64 `json:"at_km"` // of the way
	Min  float64 `json:"min"`
}

// Summary is what a track tells of a ride. What it cannot tell is absent.
type Summary struct {
	Start, End     time.Time // UTC; zero where the track has no times
	DistanceKm     logbook.Num
	MovingSpeedKmh logbook.Num
	MovingMin      logbook.Num
	StoppedMin     logbook.Num
	ClimbM         logbook.Num
	DescentM       logbook.Num
	SpeedSdKmh     logbook.Num // while on the move
	SteadyShare    logbook.Num // of the time on the move, within WithinKmh of TargetKmh
	TargetKmh      logbook.Num
	WithinKmh      float64
	HeadwindKmh    logbook.Num // mean along the way, + against; needs the wind in Options
	WindKmh        logbook.Num // as in Options: what it costs all round, Headwind leaves out
	WindFromDeg    logbook.Num
	Shape          string // loop, out_back, one_way; "" where it cannot be told
	Stops          []Stop
	Series         []SeriesPoint // speed over distance
	Warnings       []Warning

	// The mean of the direction of travel, a vector no longer than 1.
	meanEast, meanNorth float64
	hasHeading          bool
}

// Analyse measures a track. The figures do not depend on anything but the
// points and the options.
func Analyse(t *Track, o Options) *Summary {
	a := arrange(t)
	m := &meter{}
	w := &walker{meter: m}
	if a.timed {
		m.survey = look(a.points)
		w.survey = m.survey
		w.walk(a.points)
	} else {
		follow(m, a.points)
	}
	m.profile.cut()
	s := m.summary(a, o)
	s.Warnings = warnings(t, a, w, m, s)
	return s
}

// summary puts the sums of the meter into figures.
func (m *meter) summary(a arranged, o Options) *Summary {
	s := &Summary{WithinKmh: o.WithinKmh.Or(DefaultWithinKmh), Shape: m.path.shape(m.distanceM)}
	if m.distanceM > 0 || m.stoppedS > 0 {
		s.DistanceKm = logbook.Some(m.distanceM / 1000)
	}
	if m.profile.seen > 1 {
		s.ClimbM, s.DescentM = logbook.Some(m.profile.fine.climbM), logbook.Some(m.profile.fine.descentM)
	}
	if m.distanceM > 0 {
		s.meanEast, s.meanNorth, s.hasHeading = m.eastM/m.distanceM, m.northM/m.distanceM, true
	}
	if o.WindKmh.OK && o.WindFromDeg.OK {
		s.WindKmh, s.WindFromDeg = o.WindKmh, o.WindFromDeg
		s.HeadwindKmh = s.Headwind(o.WindKmh.V, o.WindFromDeg.V)
	}
	if a.timed {
		s.Start, s.End = ends(a.points)
		s.MovingMin, s.StoppedMin = logbook.Some(m.movingS/60), logbook.Some(m.stoppedS/60)
		s.Stops, s.Series = m.stops, m.series.points()
	}
	if a.timed && m.movingS > 0 && m.distanceM > 0 {
		m.speedFigures(s, o)
	}
	return s
}

func (m *meter) speedFigures(s *Summary, o Options) {
	s.MovingSpeedKmh = logbook.Some(m.distanceM / m.movingS * 3.6)
	s.SpeedSdKmh = logbook.Some(m.spread.sd() * 3.6)
	s.TargetKmh = logbook.Some(o.TargetKmh.Or(s.MovingSpeedKmh.V))
	s.SteadyShare = logbook.Some(m.speeds.shareWithin(s.TargetKmh.V-s.WithinKmh, s.TargetKmh.V+s.WithinKmh))
}

// ends returns the times of the first and the last point.
func ends(points *spool) (start, end time.Time) {
	for f := range points.all() {
		return time.UnixMilli(f.timeMs).UTC(), time.UnixMilli(points.last.timeMs).UTC()
	}
	return start, end
}

// Headwind returns the mean along the way of the component against the rider
// of a wind of so many km/h from so many degrees; absent where there is no way.
func (s *Summary) Headwind(windKmh, fromDeg float64) logbook.Num {
	if !s.hasHeading {
		return logbook.Num{}
	}
	sin, cos := math.Sincos(fromDeg * math.Pi / 180)
	return logbook.Some(windKmh * (sin*s.meanEast + cos*s.meanNorth))
}
