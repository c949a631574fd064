package report

import (
	"time"

	"packwane/health/logbook"
)

// An insight must come at once, so of a log of more than mostRecords rides,
// charges and checks only about the last mostRecords are fitted. They tell how
// far the pack goes now, not what it was as new.
const mostRecords = 600

// shorten cuts a long log to its latest records; cut is false where it is
// short enough, or where the record lies before the cut.
func shorten(h *logbook.History, r logbook.Record) (short *logbook.History, cut bool) {
	over := len(h.Rides) + len(h.Charges) + len(h.Checks) - mostRecords
	if over <= 0 {
		return h, false
	}
	share := float64(mostRecords) / float64(over+mostRecords)
	from := startOfLast(h.Rides, share)
	if len(h.Charges) > len(h.Rides) {
		from = startOfLast(h.Charges, share)
	}
	if logbook.AtOf(r).Before(from) {
		return h, false
	}
	c := *h
	c.Rides, c.Charges, c.Checks, c.OtherRides = since(h.Rides, from), since(h.Charges, from), since(h.Checks, from), since(h.OtherRides, from)
	return &c, true
}

// startOfLast is when the last share of records begins.
func startOfLast[T logbook.Record](rs []T, share float64) time.Time {
	if len(rs) == 0 {
		return time.Time{}
	}
	return logbook.AtOf(rs[min(int(float64(len(rs))*(1-share)), len(rs)-1)])
}
