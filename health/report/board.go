package report

import (
	"maps"
	"slices"

	"packwane/health/logbook"
	"packwane/health/model"
)

// RiddenBoards lists the boards on which every one of these packs was ridden with its
// present cells, by id: nothing in a log tells how far a pack goes on another.
func RiddenBoards(of ...*logbook.History) []string {
	count := map[string]int{}
	for _, h := range of {
		seen := map[string]bool{}
		for _, r := range since(h.Rides, replacedAt(h)) {
			if board := h.RideBoard(r); r.DistanceKm.OK && board != "" && !seen[board] {
				seen[board] = true
				count[board]++
			}
		}
	}
	maps.DeleteFunc(count, func(_ string, n int) bool { return n < len(of) })
	return slices.Sorted(maps.Keys(count))
}

// unridden says that a way is on a board, or on tyres, on which nobody rode the pack yet.
func unridden(k Known, w model.Way) []Warning {
	h, board := k.History, w.Board
	if board == "" {
		board = h.Pack.Board
	}
	if board == "" || !k.Fit.Known().Road {
		return nil
	}
	if !slices.Contains(RiddenBoards(h), board) {
		return []Warning{{Code: "board_not_ridden", Text: "the pack was not ridden on " + board + " yet: how much it takes there is only guessed from other boards, and the interval says so"}}
	}
	tyre := h.BoardAt(board, h.AsOf).Tyre
	for _, r := range since(h.Rides, replacedAt(h)) {
		if r.DistanceKm.OK && h.RideBoard(r) == board && h.BoardAt(board, r.At).Tyre == tyre {
			return nil
		}
	}
	return []Warning{{Code: "tyres_not_ridden", Text: "the pack was not ridden on these tyres of " + board + " (" + tyre + ") yet: how they roll is only guessed from the ones before, and the interval says so"}}
}
