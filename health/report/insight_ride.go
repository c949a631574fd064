package report

import (
	"cmp"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Errors of a measurement beside the scatter that a prediction holds, as
// standard deviations of logarithms. Common practice, no source.
const (
	countError = .015 // of a meter that does not say its own
	fromAhErr  = .02  // of energy worked out from charge
	newPlace   = .08  // of a named route that the log has not seen before, as the model takes it
)

// showRide holds a ride against what the log expected of it.
func (l *learning) showRide(r *logbook.Ride) {
	l.out.RangeTest = l.rangeTest(r)
	k := l.past.Known()
	switch {
	case !r.DistanceKm.OK || r.DistanceKm.V <= 0:
		l.showBench(r, k)
	case l.past.Bench() || !k.Road:
		l.showUntold(r)
	case r.Stop == "limit" && k.Capacity && startedFull(l.with)[r]:
		l.showDistance(r)
	default:
		l.showConsumption(r)
	}
	l.tooFar(r)
	l.mainCause(r)
}

// tooFarShare is how much farther than the upper bound for a full charge a
// ride must go to be called out, also where that is only what such boards
// usually do. Common practice, no source.
const tooFarShare = 1.3

// tooFar calls out a distance that a full charge should not carry.
func (l *learning) tooFar(r *logbook.Ride) {
	if !r.DistanceKm.OK || r.DistanceKm.V <= 0 || !l.with.Pack.CellCapacityAh.OK || !l.with.Pack.Series.OK {
		return
	}
	e := estimate(l.past.Predict(r).DistanceKm)
	if e == nil || e.Low == nil || e.High == nil || r.DistanceKm.V < tooFarShare**e.High {
		return
	}
	l.out.notes = nil // nothing else is worth saying of it
	l.out.Warnings = append(l.out.Warnings, warning("farther_than_a_full_charge", say(exact(r.DistanceKm.V, units.Km), " is much farther than a full charge of this pack should go (", about(e, units.Km), "): if it is mistyped, `packwane amend "+r.ID+" distance=` puts it right")))
}

// showDistance is for a ride from full to the limit.
func (l *learning) showDistance(r *logbook.Ride) {
	p := l.past.Predict(r)
	d := spreadBy(p.DistanceKm, l.place(r), r.ID)
	s := l.shown("distance_km", r.DistanceKm.V, d, "farther", "shorter")
	if s.Expected == nil {
		l.showUntold(r)
		return
	}
	s.why = say(s.verdictWords(), ": ", exact(s.Came, units.Km), " from full to the limit, ", about(s.Expected, units.Km), " expected in these conditions")
	if wh, _, ok := l.rideWh(r); ok {
		road := math.Log(wh / r.DistanceKm.V / model.Quantile(p.WhPerKm, .5))
		gave := math.Log(wh / model.Quantile(p.DischargedWh, .5))
		if math.Abs(math.Log(s.Came/s.Expected.Value)) > .02 {
			s.why = say(s.why, "; it took "+percentMore(road)+" a kilometre and the pack gave "+percentMore(gave))
		}
	}
	l.put(s)
}

// percentMore says a logarithm of a ratio: "3 % more".
func percentMore(ln float64) string {
	pct := 100 * math.Expm1(ln)
	if math.Abs(pct) < .5 {
		return "as much as expected"
	}
	word := " more"
	if pct < 0 {
		word = " less"
	}
	return units.Format(math.Round(math.Abs(pct)), units.Pct, units.Metric) + word
}

// showConsumption is for any other ride with a distance.
func (l *learning) showConsumption(r *logbook.Ride) {
	wh, sd, ok := l.rideWh(r)
	if !ok {
		l.showUntold(r)
		return
	}
	p := l.past.Predict(r)
	s := l.shown("consumption_wh_per_km", wh/r.DistanceKm.V, spreadBy(p.WhPerKm, math.Hypot(sd, l.place(r)), r.ID), "shorter", "farther")
	if s.Expected == nil {
		l.showUntold(r)
		return
	}
	s.why = say(s.verdictWords(), ": ", exact(s.Came, units.WhPerKm), ", ", about(s.Expected, units.WhPerKm), " expected in these conditions")
	if l.past.Known().Capacity {
		full := model.Quantile(p.DischargedWh, .5)
		km := func(perKm *float64) *float64 { return bound(full / *perKm) }
		expected := &Estimate{Value: full / s.Expected.Value, Low: km(s.Expected.High), High: km(s.Expected.Low), Confidence: Confidence}
		s.CameKm, s.ExpectedKm = km(&s.Came), expected
		s.why = say(s.verdictWords(), ": a full charge goes ", kilometres(*s.CameKm), " at this rate, ", about(expected, units.Km), " expected in these conditions (", exact(s.Came, units.WhPerKm), ", not ", exact(s.Expected.Value, units.WhPerKm), ")")
	}
	l.put(s)
}

// showBench is for a discharge that went nowhere.
func (l *learning) showBench(r *logbook.Ride, k model.Known) {
	if r.Stop != "limit" || !r.DischargedAh.OK || !k.Capacity || !startedFull(l.with)[r] {
		l.out.notes = append(l.out.notes, say("a discharge without a distance: it tells of the capacity where it went from full to the limit, not of the range"))
		return
	}
	s := l.shown("discharged_ah", netAh(r), l.past.Predict(r).DischargedAh, "more", "less")
	s.why = say(s.verdictWords(), ": ", exact(s.Came, units.Ah), " from full to the limit, ", about(s.Expected, units.Ah), " expected")
	l.put(s)
}

// showUntold says that nothing can be held against the ride yet.
func (l *learning) showUntold(r *logbook.Ride) {
	_, _, measured := l.rideWh(r)
	switch {
	case !measured && r.Stop != "limit" && l.past.Known().Road:
		l.out.notes = append(l.out.notes, say("a distance alone does not say what the ride took: nothing to hold against what was expected"))
	default:
		l.out.notes = append(l.out.notes, say("too few records yet to say whether it went farther or shorter than it should"))
	}
}

// shown compares a measurement with draws of what was expected; above and
// below are the verdicts outside their 90 % interval.
func (l *learning) shown(quantity string, came float64, d model.Draws, above, below string) *Shown {
	s := &Shown{Quantity: quantity, Came: tidy(came), Expected: estimate(d), Verdict: "unknown"}
	if s.Expected == nil || s.Expected.Low == nil || s.Expected.High == nil || s.Expected.Value <= 0 {
		s.Expected = nil
		return s
	}
	s.DifferencePct = bound(100 * (came/s.Expected.Value - 1))
	switch {
	case came > *s.Expected.High:
		s.Verdict = above
	case came < *s.Expected.Low:
		s.Verdict = below
	default:
		s.Verdict = "as_expected"
	}
	return s
}

func (s *Shown) verdictWords() string {
	if s.Verdict == "as_expected" {
		return "as expected"
	}
	return s.Verdict + " than expected"
}

func (l *learning) put(s *Shown) {
	s.Text = s.why.in(units.Metric)
	l.out.Shows = s
}

// spreadBy multiplies draws with errors of a standard deviation, by chances
// that depend on the record alone.
func spreadBy(d model.Draws, sd float64, id string) model.Draws {
	if sd == 0 {
		return d
	}
	h := fnv.New64a()
	h.Write([]byte(id))
	rng := rand.New(rand.NewPCG(h.Sum64(), 1))
	out := slices.Clone(d)
	for i := range out {
		out[i] *= math.Exp(sd * rng.NormFloat64())
	}
	return out
}

// place is the doubt of a named route that the log has not seen.
func (l *learning) place(r *logbook.Ride) float64 {
	if r.Route == "" || slices.ContainsFunc(l.sans.Rides, func(o *logbook.Ride) bool { return o.Route == r.Route }) {
		return 0
	}
	return newPlace
}

func netAh(r *logbook.Ride) float64 { return r.DischargedAh.V - r.RegenAh.Or(0) }

// rideWh is the net energy that a ride took and the standard deviation of its
// logarithm: as metered, or from its charge where the log tells how full the
// pack was.
func (l *learning) rideWh(r *logbook.Ride) (wh, sd float64, ok bool) {
	sd = countError
	if r.ErrorPct.OK {
		sd = r.ErrorPct.V / 100
	}
	switch {
	case r.DischargedWh.OK && netWh(r) > 0:
		return netWh(r), sd, true
	case !r.DischargedAh.OK || netAh(r) <= 0 || !l.past.Known().Capacity:
		return 0, 0, false
	}
	start, known := l.usedBefore(r)
	if !known {
		return 0, 0, false
	}
	left := func(used float64) float64 {
		return model.Quantile(l.past.Reach(model.Standing{UsedAh: logbook.Some(used)}).RemainingWh, .5)
	}
	wh = left(start) - left(start+netAh(r))
	return wh, math.Hypot(sd, fromAhErr), wh > 0
}

// usedBefore is the net charge that rides took since the pack was full, by the
// time a ride began; known is false where a charge or ride does not say.
func (l *learning) usedBefore(r *logbook.Ride) (ah float64, known bool) {
	full := -1
	for i, c := range l.duty.charges {
		if c.Full == logbook.Yes && !c.At.After(r.At) {
			full = i
		}
	}
	if full < 0 {
		return 0, false
	}
	ah, known = l.takenSince(l.duty.charges[full], r.At)
	return max(ah, 0), known
}

// takenSince is the net charge taken out from the end of a full charge to a
// time, part charges put back.
func (l *learning) takenSince(c *logbook.Charge, to time.Time) (ah float64, known bool) {
	for _, r := range since(l.duty.rides, c.At) {
		if !r.At.Before(to) {
			break
		}
		if !r.DischargedAh.OK {
			return 0, false
		}
		ah += netAh(r)
	}
	for _, o := range since(l.duty.charges, c.At) {
		if o == c || !o.At.Before(to) {
			continue
		}
		if !o.ChargedAh.OK {
			return 0, false
		}
		ah -= o.ChargedAh.V
	}
	return ah, true
}

// mainCause finds what made most of the difference to a full charge as new. A
// log that was cut does not tell what that was.
func (l *learning) mainCause(r *logbook.Ride) {
	if !r.DistanceKm.OK || !l.known.Capacity || !l.known.Road || l.cut {
		return
	}
	x, err := ExplainOf(l.with, l.after, r)
	if err != nil || !x.Known() {
		return
	}
	causes := slices.DeleteFunc(slices.Clone(x.Causes), func(c Cause) bool { return !c.Resolved })
	slices.SortStableFunc(causes, func(a, b Cause) int { return cmp.Compare(math.Abs(b.Km.Value), math.Abs(a.Km.Value)) })
	diff := x.RideKm.Value - x.ReferenceKm.Value
	verb := "would have gone "
	if x.Measured {
		verb = "went "
	}
	why := say("it "+verb, kilometres(x.RideKm.Value), " to the limit, as new at reference conditions ", kilometres(x.ReferenceKm.Value))
	l.explain = x
	if len(causes) == 0 {
		return
	}
	why = say(why, ": mostly "+causes[0].Name()+" (", inKm(causes[0]), ")")
	if len(causes) > 1 && math.Abs(causes[1].Km.Value) > .4*math.Abs(causes[0].Km.Value) {
		why = say(why, ", "+causes[1].Name()+" (", inKm(causes[1]), ")")
	}
	l.out.MainCause = &MainCause{Cause: causes[0].Cause, Km: causes[0].Km, DifferenceKm: tidy(diff), ReferenceKm: tidy(x.ReferenceKm.Value), why: why}
}

func inKm(c Cause) phrase {
	return say(kilometres(math.Abs(c.Km.Value)), " "+moreOrLess(c.Km.Value))
}
