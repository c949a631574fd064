package trace

import (
	"iter"
	"math"
	"time"

	"packwane/health/logbook"
)

// Options say how a time series is to be read.
type Options struct {
	Pack *logbook.Pack // whose it is; nil where it is only looked at
	// PackAt is that pack as it was set up at a time; nil where it always was
	// as it is in Pack, and of no use where the trace has no dates.
	PackAt func(time.Time) logbook.Pack
	// Start is the moment of the first row, for a file without dates. Where the
	// file has dates it overrules them; where it has a time of day, a Start at
	// midnight only gives the day.
	Start time.Time
	// End is when the file was closed: it dates a file without dates where
	// Start is not given, with a warning.
	End  time.Time
	Zone *time.Location // of dates without an offset; UTC where nil
	Map  Mapping        // what the caller says of the columns
	// Kept is a map that was kept for the pack: it counts below Map, and not at
	// all, with a warning, where it does not fit the file.
	Kept    Mapping
	Meter   string // name of the meter; "" is the pack's own
	SkipBad bool   // leave out rows that cannot be read, and say how many
	Workers int    // that parse; as many as there are cores where 0. It changes no figure
	// Spill opens what segments are kept in until they are asked for, at most
	// once. Where it is nil, they stay in memory, some 250 bytes each.
	Spill func() (Spill, error)
}

// Result is what a time series says. Of what there may be very much (Segments,
// Learned, Records) it makes one after the other when it is asked. Close it.
type Result struct {
	rd           *reading
	from, to     time.Time // in which Records lie
	Rows         int64
	ChargedAh    float64 // sums over all time of positive and of negative current
	ChargedWh    float64
	DischargedAh float64
	DischargedWh float64
	Dated        bool                 // the times below are those of the calendar; else they count from year 1
	Seconds      float64              // from the first row to the last
	Counts       map[logbook.Kind]int // of Records
	Warnings     []Warning
	Points       []Point // thinned, for a chart
	Mapping      Mapping // the columns that were read
	Proposal     *Proposal
}

// Close closes the spill. Nothing may be asked behind it.
func (r *Result) Close() error { return r.rd.pieces.log.close() }

// Segment is a part of the trace in which one thing went on.
type Segment struct {
	Kind         SegmentKind
	Start, End   time.Time
	FirstRow     int64
	LastRow      int64
	ChargedAh    float64
	ChargedWh    float64
	DischargedAh float64
	DischargedWh float64
	ErrorPct     logbook.Num // of the Ah and Wh, from the spacing of the rows and the gaps
	StartRestV   logbook.Num
	EndRestV     logbook.Num
	EndRestMin   logbook.Num
	MinV, MaxV   float64
	PeakA        float64 // in the direction of the segment
	Full         logbook.Flag
	Stop         string // limit or cutoff, of a ride
	DistanceKm   logbook.Num
	MovingMin    logbook.Num
	Seconds      [2]float64 // start and end since the first row, for a chart
}

// Told says what told the end of the segment: "full" of a charge, why a ride
// stopped; "" where nothing did.
func (s *Segment) Told() string {
	if s.Full == logbook.Yes {
		return "full"
	}
	return s.Stop
}

// Brief reports whether nothing happened in the segment: a rest of a single row.
func (s *Segment) Brief() bool {
	return s.Kind == Rest && !s.End.After(s.Start) && s.ChargedAh == 0 && s.DischargedAh == 0
}

// Document is the result as JSON has it. Names and meanings are the contract's.
// Its sequences are lists.
type Document struct {
	Rows         int64                             `json:"rows"`
	ChargedAh    float64                           `json:"charged_ah"`
	ChargedWh    float64                           `json:"charged_wh"`
	DischargedAh float64                           `json:"discharged_ah"`
	DischargedWh float64                           `json:"discharged_wh"`
	Segments     iter.Seq2[SegmentDocument, error] `json:"segments"`
	Learned      Learned                           `json:"learned"`
	Map          string                            `json:"map"` // reads this file the same way again
	Read         *Proposal                         `json:"read"`
	Warnings     []Warning                         `json:"warnings"`
}

// SegmentDocument is a Segment as JSON has it.
type SegmentDocument struct {
	Kind         string   `json:"kind"`
	Start        string   `json:"start"`
	End          string   `json:"end"`
	ChargedAh    float64  `json:"charged_ah"`
	ChargedWh    float64  `json:"charged_wh"`
	DischargedAh float64  `json:"discharged_ah"`
	DischargedWh float64  `json:"discharged_wh"`
	ErrorPct     *float64 `json:"error_pct,omitempty"`
	StartRestV   *float64 `json:"start_rest_v,omitempty"`
	EndRestV     *float64 `json:"end_rest_v,omitempty"`
	EndRestMin   *float64 `json:"end_rest_min,omitempty"`
	MinV         float64  `json:"min_v"`
	MaxV         float64  `json:"max_v"`
	PeakA        float64  `json:"peak_a"`
	Full         *bool    `json:"full,omitempty"`
	Stop         string   `json:"stop,omitempty"`
	DistanceKm   *float64 `json:"distance_km,omitempty"`
	MovingMin    *float64 `json:"moving_min,omitempty"`
	FirstRow     int64    `json:"first_row"`
	LastRow      int64    `json:"last_row"`
}

// Document returns the result in the form of JSON, rounded to figures digits.
func (r *Result) Document() Document {
	return Document{r.Rows, round(r.ChargedAh), round(r.ChargedWh), round(r.DischargedAh), round(r.DischargedWh),
		r.documents, r.Learned(), r.Mapping.String(), r.Proposal, append([]Warning{}, r.Warnings...)}
}

// documents gives the segments in the form of JSON, without those in which
// nothing happened.
func (r *Result) documents(yield func(SegmentDocument, error) bool) {
	for s, err := range r.Segments() {
		if err != nil {
			yield(SegmentDocument{}, err)
			return
		}
		if !s.Brief() && !yield(s.document(), nil) {
			return
		}
	}
}

func (s *Segment) document() SegmentDocument {
	var full *bool
	if s.Full != logbook.Absent {
		yes := s.Full == logbook.Yes
		full = &yes
	}
	return SegmentDocument{
		s.Kind.String(), logbook.FormatTime(s.Start), logbook.FormatTime(s.End),
		round(s.ChargedAh), round(s.ChargedWh), round(s.DischargedAh), round(s.DischargedWh),
		optional(s.ErrorPct), optional(s.StartRestV), optional(s.EndRestV), optional(s.EndRestMin),
		round(s.MinV), round(s.MaxV), round(s.PeakA), full, s.Stop, optional(s.DistanceKm), optional(s.MovingMin), s.FirstRow, s.LastRow,
	}
}

func optional(n logbook.Num) *float64 {
	if !n.OK {
		return nil
	}
	return &n.V
}

// figures is how many significant digits a result keeps: more than any meter
// has, fewer than the last bits of a sum.
const figures = 7

// round keeps figures significant digits.
func round(v float64) float64 { return roundTo(v, figures) }

func roundTo(v float64, digits int) float64 {
	if v == 0 || math.IsInf(v, 0) || v != v {
		return 0
	}
	scale := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	if scale >= 0 && scale <= 22 {
		f := math.Pow10(scale)
		return math.Round(v*f) / f
	}
	f := math.Pow10(-scale)
	return math.Round(v/f) * f
}

// some is a measured figure with few enough digits for a record.
func some(v float64) logbook.Num { return logbook.Some(roundTo(v, 6)) }
