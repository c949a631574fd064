package gpx

import (
	"cmp"
	"container/heap"
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

// copyOnce copies the points that have a time, in its order, and returns how
// many it left out because their time had been.
func copyOnce(to *spool, t *Track, shuffled bool) (doubles int) {
	keep := func(f fix) {
		if to.n > 0 && f.timeMs == to.last.timeMs {
			doubles++
			return
		}
		to.add(f)
	}
	if shuffled {
		merge(sortedRuns(&t.points), keep)
		return doubles
	}
	for f := range t.points.all() {
		if f.has&hasTime != 0 {
			keep(f)
		}
	}
	return doubles
}

// maxSorted is how many points are sorted at once.
const maxSorted = 32 << 10

// sortedRuns parts the points that have a time into few runs in its order. Where
// only neighbours are out of order there is but one.
func sortedRuns(points *spool) []*spool {
	var runs []*spool
	some := make([]fix, 0, maxSorted)
	flush := func() {
		if len(some) == 0 {
			return
		}
		slices.SortStableFunc(some, func(a, b fix) int { return cmp.Compare(a.timeMs, b.timeMs) })
		n := len(runs)
		if n == 0 || runs[n-1].last.timeMs > some[0].timeMs {
			runs = append(runs, &spool{})
		}
		for _, f := range some {
			runs[len(runs)-1].add(f)
		}
		some = some[:0]
	}
	for f := range points.all() {
		if f.has&hasTime == 0 {
			continue
		}
		if some = append(some, f); len(some) == maxSorted {
			flush()
		}
	}
	flush()
	return runs
}

// merge gives the points of the runs in the order of time; of those at one time
// the one that stood first in the file comes first.
func merge(runs []*spool, take func(fix)) {
	var heads heads
	for i, r := range runs {
		h := &head{cursor: r.cursor(), run: i}
		r.blocks = nil // each block is free once it is read
		if h.cursor.next() {
			heads = append(heads, h)
		}
	}
	heap.Init(&heads)
	for len(heads) > 0 {
		h := heads[0]
		take(h.cursor.fix())
		if h.cursor.next() {
			heap.Fix(&heads, 0)
		} else {
			heap.Pop(&heads)
		}
	}
}

// head is the first point of a run that is not yet taken.
type head struct {
	cursor *cursor
	run    int
}

type heads []*head

func (h heads) Len() int      { return len(h) }
func (h heads) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h heads) Less(i, j int) bool {
	if a, b := h[i].cursor.last.timeMs, h[j].cursor.last.timeMs; a != b {
		return a < b
	}
	return h[i].run < h[j].run
}
func (h *heads) Push(x any) { *h = append(*h, x.(*head)) }
func (h *heads) Pop() any {
	last := (*h)[len(*h)-1]
	*h = (*h)[:len(*h)-1]
	return last
}
