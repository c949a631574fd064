package cli

import (
	"math"
	"strings"
)

// strip draws intervals of one quantity, one a line, on one scale: "─━─" for
// the bounds, "●" for the middle, "│" for a level to hold them against.
type strip struct {
	low, high float64
	level     float64 // NaN where there is none
	columns   int
}

// see widens the scale to hold v.
func (s *strip) see(v float64) {
	s.low, s.high = min(s.low, v), max(s.high, v)
}

func newStrip(columns int) *strip {
	return &strip{low: math.Inf(1), high: math.Inf(-1), level: math.NaN(), columns: columns}
}

// line draws one interval.
func (s *strip) line(low, middle, high float64) string {
	cells := make([]rune, s.columns)
	for i := range cells {
		cells[i] = ' '
	}
	if !math.IsNaN(s.level) {
		cells[s.at(s.level)] = '│'
	}
	for i := s.at(low); i <= s.at(high); i++ {
		cells[i] = '─'
	}
	cells[s.at(middle)] = '●'
	return strings.TrimRight(string(cells), " ")
}

// at is the column of a value.
func (s *strip) at(v float64) int {
	if !(s.high > s.low) {
		return s.columns / 2
	}
	x := (v - s.low) / (s.high - s.low) * float64(s.columns-1)
	return min(max(int(math.Round(x)), 0), s.columns-1)
}
