package model

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"time"

	"packwane/health/logbook"
)

// gear is what is usual of what drives and rolls: the board that is most ridden, and
// the tyres that each board had on most of its rides. Other boards have a factor, and
// other tyres of a board one more.
type gear struct {
	board string
	tyres map[string]string // by board
}

// findGear chooses them, by the rides of each board and of each of its tyres. A board that
// was never ridden has the tyres of the end of the log.
func (m *machine) findGear(boards map[string]int, tyres map[string]map[string]int) {
	m.gear = gear{m.h.Pack.Board, map[string]string{m.h.Pack.Board: m.h.BoardAt(m.h.Pack.Board, m.h.AsOf).Tyre}}
	if len(boards) > 0 {
		m.gear.board = mostRidden(boards)
	}
	for board, rides := range tyres {
		m.gear.tyres[board] = mostRidden(rides)
	}
}

// refBoard is the board of the reference: the pack's usual one, or where it has none
// the one that it was mostly ridden on.
func (m *machine) refBoard() string { return cmp.Or(m.h.Pack.Board, m.gear.board) }

// mostRidden is the name with the most rides, of equals the first by name.
func mostRidden(rides map[string]int) string {
	names := slices.Sorted(maps.Keys(rides))
	return slices.MaxFunc(names, func(a, b string) int { return rides[a] - rides[b] })
}

// on lists the factors, by kind and name, of a board as it is set up at a time.
func (g *gear) on(h *logbook.History, board string, at time.Time) iter.Seq2[groupKind, string] {
	return func(yield func(groupKind, string) bool) {
		if board != g.board && !yield(groupBoard, "\x00"+board) {
			return
		}
		tyre := h.BoardAt(board, at).Tyre
		if usual, ridden := g.tyres[board]; ridden && tyre != usual {
			yield(groupTyres, board+"\x00"+tyre)
		}
	}
}

// strangeness is the variance of ln consumption of a ride on what the log does not know: a
// board, tyres or a route on which nobody rode the pack before.
func (m *machine) strangeness(r *logbook.Ride) (v float64) {
	add := func(kind groupKind, name string) {
		if m.knownGroup(kind, name) < 0 {
			v += square(m.groupPrior(kind, name).sd)
		}
	}
	for kind, name := range m.gear.on(m.h, m.h.RideBoard(r), r.At) {
		add(kind, name)
	}
	if r.Route != "" {
		add(groupRoute, r.Route)
	}
	return v
}
