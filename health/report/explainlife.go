package report

import (
	"time"

	"packwane/health/logbook"
)

// LifeOf returns the history of the pack's life in which at lies: h itself, or
// the history as it was just before the cells were replaced.
func LifeOf(h *logbook.History, at time.Time) *logbook.History {
	for {
		replaced := replacedAt(h)
		if replaced.IsZero() || !at.Before(replaced) {
			return h
		}
		past, err := logbook.NewHistory(h.Pack.ID, everyRecord(h), replaced.Add(-time.Second))
		if err != nil {
			return h
		}
		h = past
	}
}
