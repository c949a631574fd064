package report

import (
	"math"
	"strings"

	"packwane/health/logbook"
	"packwane/health/model"
)

// What a ride may well have met where its record does not tell: a moderate wind
// all the way (20 km/h, the lower end of Beaufort 4, WMO), a hilly way, and a
// tyre that nobody pumped up for a month or two. The last two are common
// practice, no source.
const (
	unsaidWindKmh  = 20
	unsaidSlopeMKm = 10
	unsaidTyre     = .75 // of the usual pressure
)

// unsaid names the conditions that a ride's record does not tell, and reports
// whether they may bring the distance within two standard deviations of what is
// expected.
func (a *audit) unsaid(r *logbook.Ride, m model.Misreading) (names string, enough bool) {
	bent, more := *r, m.Figure < m.Expected // it took more than is expected
	var all []string
	if !r.HeadwindKmh.OK && (!r.WindKmh.OK || r.Shape == "" || r.Shape == "one_way") {
		all = append(all, "wind")
		along := max(unsaidWindKmh, r.WindKmh.Or(0))
		if !more {
			along = -along
		}
		bent.HeadwindKmh, bent.WindKmh = logbook.Some(along), logbook.Num{}
	}
	if !r.ClimbM.OK && !r.DescentM.OK {
		all = append(all, "climb")
		up := logbook.Some(unsaidSlopeMKm * r.DistanceKm.V)
		switch oneWay := r.Shape == "one_way" || r.Shape == ""; {
		case more && oneWay:
			bent.ClimbM, bent.DescentM = up, logbook.Some(0)
		case more:
			bent.ClimbM, bent.DescentM = up, up
		case oneWay:
			bent.ClimbM, bent.DescentM = logbook.Some(0), up
		}
	}
	if ref := a.h.BoardAt(a.h.RideBoard(r), r.At).RefTyreKpa; more && !r.TyreKpa.OK && ref.OK {
		all = append(all, "tyre pressure")
		bent.TyreKpa = logbook.Some(unsaidTyre * ref.V)
	}
	is, would := a.whPerKm(r), a.whPerKm(&bent)
	if len(all) == 0 || !(is > 0) || !(would > 0) {
		return "", false
	}
	off := math.Log(m.Expected / m.Figure)
	sd := math.Abs(off) / m.Surprise
	names = strings.Join(all[:len(all)-1], ", ")
	if names != "" {
		names += " and "
	}
	return names + all[len(all)-1], math.Abs(off) < math.Abs(math.Log(would/is))+unsaidSds*sd
}

// unsaidSds is how many standard deviations are no surprise.
const unsaidSds = 2
