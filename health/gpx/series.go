package gpx

import "slices"

// SeriesPoint is the mean speed over one piece of the way, stops left out.
type SeriesPoint struct {
	FromKm   float64 `json:"from_km"`
	ToKm     float64 `json:"to_km"`
	SpeedKmh float64 `json:"speed_kmh"`
}

// series keeps distance and time in few pieces of equal length; when they grow
// too many, two become one.
type series struct {
	pieces []piece
	everyM float64
}

type piece struct{ metres, s float64 }

const (
	mostPieces = 400
	firstPiece = 20.0 // m
)

// add spreads one step over the pieces that it passes.
func (s *series) add(metres, seconds float64) {
	if s.everyM == 0 {
		s.everyM = firstPiece
	}
	if metres <= 0 {
		if n := len(s.pieces); n > 0 {
			s.pieces[n-1].s += seconds
		}
		return
	}
	perM := seconds / metres
	for metres > 0 {
		if len(s.pieces) == 0 || s.pieces[len(s.pieces)-1].metres >= s.everyM {
			s.open()
		}
		last := &s.pieces[len(s.pieces)-1]
		take := min(metres, s.everyM-last.metres)
		if take <= 0 || metres-take < 1e-9 {
			take = metres
		}
		last.metres += take
		last.s += take * perM
		metres -= take
	}
}

func (s *series) open() {
	if len(s.pieces) == mostPieces {
		for i := range mostPieces / 2 {
			a, b := s.pieces[2*i], s.pieces[2*i+1]
			s.pieces[i] = piece{a.metres + b.metres, a.s + b.s}
		}
		s.pieces = s.pieces[:mostPieces/2]
		s.everyM *= 2
	}
	s.pieces = append(s.pieces, piece{})
}

// points returns the speeds; nil where there are no times.
func (s *series) points() []SeriesPoint {
	pieces := slices.Clone(s.pieces)
	if n := len(pieces); n > 1 && pieces[n-1].metres < s.everyM/4 {
		pieces[n-2].metres += pieces[n-1].metres // too short to tell a speed
		pieces[n-2].s += pieces[n-1].s
		pieces = pieces[:n-1]
	}
	var out []SeriesPoint
	at := 0.0
	for _, p := range pieces {
		if p.s > 0 {
			out = append(out, SeriesPoint{at / 1000, (at + p.metres) / 1000, p.metres / p.s * 3.6})
		}
		at += p.metres
	}
	return out
}
