package report

import (
	"fmt"
	"math"
	"strings"

	"packwane/health/law"
	"packwane/health/logbook"
)

// The volts of a cell at rest after a full charge lie this near its full
// volts, and settle so far below them; lfp settles further down. Common
// practice, no source.
const (
	fullAbove   = .04
	fullBelow   = .25
	fullLfp     = .45
	settles     = .03
	settlesLfp  = .25
	fewFullOnes = 2 // readings that say a number of groups is wrong
)

// notJudged ends a finding that others rest on.
const notJudged = "; nothing that rests on it was judged"

// cellCount files a number of series groups that the log denies. What rests on
// it then says nothing of the records, and is not told.
func (a *audit) cellCount() {
	n := a.series()
	if n == 0 {
		return
	}
	p := a.h.Pack
	if m, checks := a.groupsRead(); m > 0 && m != n {
		a.add(p, "series", codeCellCount, say(fmt.Sprintf("series is %g, but %d checks read %g groups", n, checks, m)+notJudged), say("if its groups were miscounted, "+amend(p, "series", logbook.FormatNumber(m))))
		return
	}
	v := a.fullRests()
	if len(v) < fewFullOnes {
		return
	}
	chem, _ := law.ChemistryNamed(p.Chemistry)
	full, below, usual := a.h.PackAt(a.h.AsOf).CellFullV.Or(chem.FullV), fullBelow, settles
	full = max(full, p.CellFullV.Or(full)) // charged lower since: either may be what is read
	if chem.Name == "lfp" {
		below, usual = fullLfp, settlesLfp
	}
	mid := middle(v)
	fits := func(n float64) bool { return mid/n <= full+fullAbove && mid/n >= full-below }
	if fits(n) {
		return
	}
	if m := math.Round(mid / (full - usual)); m >= 1 && m != n && fits(m) {
		a.add(p, "series", codeCellCount, say(fmt.Sprintf("series is %g, but after full charges the pack rests at %.3g V, which is %.3g V a cell", n, mid, mid/n)+notJudged), say("if its groups were miscounted, "+amend(p, "series", logbook.FormatNumber(m))))
	}
}

// miscounted reports whether the number of series groups was filed as wrong.
func (a *audit) miscounted() bool { return a.told(a.h.Pack, "series") }

// groupsRead is how many groups the checks read that read each, and how many
// checks do; 0 where too few agree.
func (a *audit) groupsRead() (groups float64, checks int) {
	seen, all := map[int]int{}, 0
	for _, c := range a.h.Checks {
		if n := len(c.GroupV); n > 0 {
			seen[n]++
			all++
		}
	}
	for n, times := range seen {
		if times >= fewFullOnes && 4*times >= 3*all {
			return float64(n), times
		}
	}
	return 0, 0
}

// fullRests are the volts at rest after full charges, as the charge or the ride
// after it tells them.
func (a *audit) fullRests() []float64 {
	var v []float64
	for _, c := range a.h.Charges {
		if c.Full == logbook.Yes && c.EndRestV.OK {
			v = append(v, c.EndRestV.V)
		}
	}
	if len(a.h.Charges) == 0 { // nothing says which rides began full
		return v
	}
	full := startedFull(a.h)
	for _, r := range a.h.Rides {
		if full[r] && r.StartRestV.OK {
			v = append(v, r.StartRestV.V)
		}
	}
	return v
}

// restsOnSeries reports whether a slip was found by the number of series groups.
func restsOnSeries(s logbook.Slip) bool {
	switch s.Code {
	case "count_of_groups", "voltage_above_full", "voltage_too_low", "limit_above_full", "limit_too_low", "cutoff_above_full", "cutoff_too_low", "too_far_for_the_pack":
		return true
	case "more_than_the_pack":
		return strings.HasSuffix(s.Field, "_wh")
	}
	return false
}
