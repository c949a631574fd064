package gpx

import (
	"slices"
)

// arranged is the points of a track in the order of time, each at a time of its
// own; or, where there are no times to go by, in the order of the file.
type arranged struct {
	points   *spool
	timed    bool
	untimed  int // points left out because they alone have no time
	doubles  int // points left out because an earlier one has their time
	shuffled tally
}

// fewestTimes is the least share of points with a time, and of distinct times
// among them, with which times are believed: loggers that write several points
// a second sometimes stamp them to the second (ten a second: 0.1), while a
// drawn track may carry one time throughout.
const (
	fewestTimed    = 0.5
	fewestDistinct = 0.03
)

// arrange puts the points of t in order.
func arrange(t *Track) arranged {
	a := arranged{points: &t.points}
	timed, ordered := 0, true
	last := int64(0)
	for f := range t.points.all() {
		if f.has&hasTime == 0 {
			continue
		}
		if timed++; f.timeMs <= last {
			ordered = false
			if f.timeMs < last {
				a.shuffled.note(int(f.line))
			}
		}
		last = max(last, f.timeMs)
	}
	if float64(timed) < fewestTimed*float64(t.points.n) || timed < 2 {
		return a
	}
	a.timed, a.untimed = true, t.points.n-timed
	if ordered && a.untimed == 0 {
		return a
	}
	a.points = &spool{}
	a.doubles = copyOnce(a.points, t, a.shuffled.n > 0)
	if float64(a.points.n) < fewestDistinct*float64(timed) || a.points.n < 2 {
		return arranged{points: &t.points}
	}
	return a
}

// copyOnce copies the points that have a time, sorted where they are not, and
// returns how many it left out because their time had been.
func copyOnce(to *spool, t *Track, shuffled bool) (doubles int) {
	keep := func(f fix) {
		if to.n > 0 && f.timeMs == to.last.timeMs {
			doubles++
			return
		}
		to.add(f)
	}
	var all []fix
	if shuffled {
		all = make([]fix, 0, t.points.n)
	}
	for f := range t.points.all() {
		switch {
		case f.has&hasTime == 0:
		case shuffled:
			all = append(all, f)
		default:
			keep(f)
		}
	}
	slices.SortStableFunc(all, func(a, b fix) int {
		switch {
		case a.timeMs < b.timeMs:
			return -1
		case a.timeMs > b.timeMs:
			return 1
		}
		return 0
	})
	for _, f := range all {
		keep(f)
	}
	return doubles
}
