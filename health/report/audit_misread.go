package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"packwane/health/logbook"
	"packwane/health/model"
)

// What is no further off is a meter's error and not worth a word. Common
// practice, no source.
const (
	smallShare = .08 // of Ah, Wh, km and mohm
	smallCellV = .03 // V of a cell

	leastCellV, mostCellV = 2, 4.6 // that a cell at rest can have
)

// misread explains the figures that the fit put aside, record by record.
func (a *audit) misread() {
	if a.fit == nil || a.miscounted() { // a fit to volts that are not those of its cells puts the wrong figures aside
		return
	}
	all := a.fit.Misreadings()
	a.aside = putAside(a.fit)
	for i := 0; i < len(all) && !(a.oneWillDo && len(a.out) > 0); {
		j := i
		for j < len(all) && all[j].Record == all[i].Record {
			j++
		}
		a.record(all[i:j])
		i = j
	}
}

// record files what was put aside of one record.
func (a *audit) record(ms []model.Misreading) {
	r := ms[0].Record
	if a.gross(r) {
		return // beside such a figure the others cannot be judged
	}
	var open []model.Misreading
	distance := func() {}
	for _, m := range ms {
		if m.Field == "stop" {
			a.endedEarly(m)
			continue
		}
		f, ok := logbook.FieldNamed(r.Kind(), m.Field)
		if !ok || a.small(m) {
			continue
		}
		if !a.anyBefore(r) && a.borneOut(r, m) {
			continue // nobody knows how full the pack was when the log began
		}
		if ride, ok := r.(*logbook.Ride); ok && m.Field == "distance_km" {
			distance = func() { a.distance(ride, m, f) }
			continue
		}
		// Ah and Wh that bear each other out are no slips of the pen, though
		// both were put aside: hardly anyone makes the same in two figures.
		partner := a.partner(r, m.Field)
		k := a.explain(m.Field, m.Figure, partner, nearSds)
		if k == nil {
			k = a.explain(m.Field, m.Figure, m.Expected, m.Surprise)
		}
		if k != nil && !agree(m.Figure, a.crossed(r, m.Field)) {
			a.add(r, m.Field, k.code, say(a.off(m, f), ": "+k.what), say("if so, ", k.mend(r, f, k.meant(a, m.Figure))))
			continue
		}
		if a.shortWritten(r, m) {
			continue
		}
		open = append(open, m)
	}
	open = a.missing(r, open)
	distance()
	for _, m := range open {
		f, _ := logbook.FieldNamed(r.Kind(), m.Field)
		if a.restarted(m, open) {
			continue
		}
		if k := a.unsettled(m); k != nil {
			a.add(r, m.Field, k.code, say(a.off(m, f), ": "+k.what), say("if so, ", k.mend(r, f, 0)))
			continue
		}
		a.add(r, m.Field, codeUnlike, a.off(m, f), say("look at your notes or the meter's picture of that day; where it cannot be put right, take it out: "+amend(r, m.Field, "")))
	}
}

// gross files Ah or Wh beyond what the pack holds, where the record's other
// figure tells the factor.
func (a *audit) gross(r logbook.Record) bool {
	for _, field := range []string{"discharged_ah", "discharged_wh", "charged_ah", "charged_wh"} {
		f, ok := logbook.FieldNamed(r.Kind(), field)
		if !ok || !a.beyondPack(field, f.Number(r)) {
			continue
		}
		v, partner := f.Number(r).V, a.crossed(r, field)
		if k := a.explain(field, v, partner, nearSds); k != nil {
			a.add(r, field, k.code, say(named(field), " is ", exact(v, f.Unit), ", more than this pack holds: "+k.what), say("if so, ", k.mend(r, f, k.meant(a, v))))
			return true
		}
	}
	return false
}

// beyondPack reports whether Ah or Wh are more than the pack can hold.
func (a *audit) beyondPack(field string, v logbook.Num) bool {
	p := a.h.Pack
	most := 1.5 * max(p.Parallel.Or(0)*p.CellCapacityAh.Or(0), p.AsnewAh.Or(0))
	if strings.HasSuffix(field, "_wh") {
		most *= a.packV()
	}
	return v.OK && most > 0 && v.V > most
}

// off says how far a figure is from what is expected.
func (a *audit) off(m model.Misreading, f logbook.Field) phrase {
	return say(named(m.Field), " is ", exact(m.Figure, f.Unit), " where the rest of the log expects ", a.expected(m, f))
}

// expected says what the rest of the log expects. Where a pack went in and out
// of its records beyond full or empty, the volts that follow are none that a
// cell rests at, and are not told.
func (a *audit) expected(m model.Misreading, f logbook.Field) phrase {
	if n := a.series(); n > 0 && strings.HasSuffix(m.Field, "rest_v") {
		p := a.h.PackAt(logbook.AtOf(m.Record))
		switch {
		case m.Expected/n > p.CellFullV.Or(mostCellV):
			return say("a full pack")
		case m.Expected/n < leastCellV, m.Expected < p.LimitV.Or(0): // at rest none is below its limit under load
			return say("an empty pack")
		}
	}
	return say("about ", rough{m.Expected, f.Unit})
}

// small reports whether a figure is hardly off, or held against volts that no
// cell can have: then it is the state of the pack that went astray before it.
func (a *audit) small(m model.Misreading) bool {
	if n := a.series(); strings.HasSuffix(m.Field, "_v") {
		if strings.HasSuffix(m.Field, "rest_v") && a.sameLevel(m) {
			return true
		}
		return n > 0 && (math.Abs(m.Figure-m.Expected)/n < smallCellV || m.Expected/n < leastCellV || m.Expected/n > mostCellV)
	}
	return m.Expected > 0 && m.Figure > 0 && math.Abs(math.Log(m.Figure/m.Expected)) < smallShare
}

// smallLevel is how far two charge levels may be apart to be of one state of the
// pack. Where it is nearly empty its volts fall so steeply that so little charge
// is half a volt of a cell. Common practice, no source.
const smallLevel = .04

// sameLevel reports whether volts at rest tell about the charge level that is
// expected: then neither a reading nor a record is amiss.
func (a *audit) sameLevel(m model.Misreading) bool {
	is, known := a.levelAt(m.Figure)
	want, also := a.levelAt(m.Expected)
	return known && also && math.Abs(is-want) < smallLevel && math.Abs(math.Log(m.Figure/m.Expected)) < emptyShare
}

// emptyShare is by how much the volts of two empty packs may differ; those of one
// cell typed for the pack's do by more.
const emptyShare = .3

// levelAt is the charge level that volts at rest tell: empty where they lie below
// the curve.
func (a *audit) levelAt(volts float64) (float64, bool) {
	level, ok := a.fit.LevelAtRest(volts)
	return max(level, 0), ok || level < 0
}

// agreeShare is how near two figures of one record must be to bear each other
// out.
const agreeShare = .2

func agree(x, y float64) bool { return x > 0 && y > 0 && math.Abs(math.Log(x/y)) < agreeShare }

// mostMissing is how far (in its logarithm) a figure may lie from the expected
// one for a missing record to explain it, where nothing else bears it out.
const mostMissing = 1.6

// borneOut reports whether a figure may well be right although it is not
// expected.
func (a *audit) borneOut(r logbook.Record, m model.Misreading) bool {
	if counted(m.Field) && agree(m.Figure, a.crossed(r, m.Field)) {
		return true
	}
	return math.Abs(math.Log(m.Figure/m.Expected)) < mostMissing
}

// missing files that a ride or a charge before the record seems not to be
// logged, where its volts before use say so, or where it took up more than was
// ridden; it returns what that does not explain.
func (a *audit) missing(r logbook.Record, ms []model.Misreading) []model.Misreading {
	low := 0 // 1 the pack was emptier than expected, -1 fuller
	by := ""
	for _, m := range ms {
		charge := r.Kind() == logbook.KindCharge && (m.Field == "charged_ah" || m.Field == "charged_wh")
		switch {
		case m.Field == "start_rest_v" || m.Field == "rest_v" && r.Kind() == logbook.KindCheck:
			low, by = 1, m.Field
			if m.Figure > m.Expected {
				low = -1
			}
		case charge && low == 0 && m.Figure > m.Expected:
			low, by = 1, m.Field
		}
	}
	if low == 0 || !a.anyBefore(r) {
		return ms
	}
	var rest, told []model.Misreading
	for _, m := range ms {
		emptier := m.Figure < m.Expected
		if r.Kind() == logbook.KindCharge && strings.HasPrefix(m.Field, "charged_") {
			emptier = !emptier
		}
		explained := a.borneOut(r, m) && m.Field != "distance_km" && m.Field != "resistance_mohm" && !strings.HasPrefix(m.Field, "discharged_") && emptier == (low > 0)
		if explained {
			told = append(told, m)
		} else {
			rest = append(rest, m)
		}
	}
	if len(told) == 0 {
		return rest
	}
	by = first(told, by).Field
	f, _ := logbook.FieldNamed(r.Kind(), by)
	text := a.off(first(told, by), f)
	for _, m := range told {
		if m.Field != by {
			g, _ := logbook.FieldNamed(r.Kind(), m.Field)
			text = append(text, ", and ", named(m.Field), " ", exact(m.Figure, g.Unit), " where it expects ", a.expected(m, g))
		}
	}
	if low > 0 {
		a.add(r, by, codeNoRide, append(text, ": a ride before it may not be logged"), say("log that ride as far as you know it; if there was none, take the figure out: "+amend(r, by, "")))
	} else {
		a.add(r, by, codeNoCharge, append(text, ": a charge before it may not be logged"), say("log that charge as far as you know it; if there was none, take the figure out: "+amend(r, by, "")))
	}
	return rest
}

// anyBefore reports whether the log holds a ride or a charge before a record: a
// log that begins with it misses nothing.
func (a *audit) anyBefore(r logbook.Record) bool {
	at := logbook.AtOf(r)
	return len(a.h.Rides) > 0 && a.h.Rides[0].At.Before(at) || len(a.h.Charges) > 0 && a.h.Charges[0].At.Before(at)
}

func first(ms []model.Misreading, field string) model.Misreading {
	for _, m := range ms {
		if m.Field == field {
			return m
		}
	}
	return ms[0]
}

// restarted files a meter that was restarted on the way: Ah or Wh that are
// short by no factor of a slip, both alike where both are off.
func (a *audit) restarted(m model.Misreading, ms []model.Misreading) bool {
	if !counted(m.Field) || m.Expected <= 0 || m.Figure >= m.Expected {
		return false
	}
	if believed := slices.ContainsFunc(partners(m), func(field string) bool {
		return !slices.ContainsFunc(ms, func(o model.Misreading) bool { return o.Field == field })
	}); believed {
		return false // a meter that was restarted counted too little of both
	}
	share := m.Figure / m.Expected
	text := fmt.Sprintf("%s is only %.0f %% of what the rest of the log expects", m.Field, 100*share)
	for _, o := range ms {
		if o.Field == m.Field || !counted(o.Field) || o.Expected <= 0 {
			continue
		}
		if !agree(o.Figure/o.Expected, share) {
			return false
		}
		if a.told(m.Record, o.Field) {
			return true // of both already
		}
		text += ", and so is " + o.Field
	}
	if c, ok := m.Record.(*logbook.Charge); ok && c.Full == logbook.Absent && !(c.HoldMin.V > 0) && !c.EndRestV.OK {
		a.add(m.Record, m.Field, codePartCharge, say(text+": nobody says whether the charger had finished; it may have ended early, or the meter was restarted on the way"), say("if it ended early, "+amend(m.Record, "full", "no")))
		return true
	}
	why := ": the meter may have been restarted on the way"
	if m.Record.Kind() == logbook.KindCharge {
		why += ", or a charge before it may not be logged"
	}
	a.add(m.Record, m.Field, codeRestarted, say(text+why), say("if so, what it counted before is lost: add it where you know it, else take the figure out: "+amend(m.Record, m.Field, "")))
	return true
}

// partners are the other fields of a record that its meter counted.
func partners(m model.Misreading) (out []string) {
	add := func(field string, v logbook.Num) {
		if v.OK && field != m.Field {
			out = append(out, field)
		}
	}
	switch r := m.Record.(type) {
	case *logbook.Ride:
		add("discharged_ah", r.DischargedAh)
		add("discharged_wh", r.DischargedWh)
	case *logbook.Charge:
		add("charged_ah", r.ChargedAh)
		add("charged_wh", r.ChargedWh)
	}
	return out
}

func counted(field string) bool {
	return strings.HasSuffix(field, "_ah") || strings.HasSuffix(field, "_wh")
}

// unsettled tells volts that were not at rest: too low after a ride, too high
// after a charge. What is off by more than a tenth has another reason.
func (a *audit) unsettled(m model.Misreading) *slipKind {
	if !strings.HasSuffix(m.Field, "_v") || math.Abs(m.Figure/m.Expected-1) > .1 {
		return nil
	}
	low := m.Figure < m.Expected
	switch r := m.Record.(type) {
	case *logbook.Ride:
		switch {
		case !low || m.Field != "end_rest_v":
		case a.aboveLimit(r, m.Figure):
		case r.MinV.OK && m.Figure <= r.MinV.V*1.01, a.dropped(r, m):
			return kindNamed("read_under_load")
		default:
			return kindNamed("read_too_soon")
		}
	case *logbook.Charge:
		if !low && m.Field == "end_rest_v" {
			return kindNamed("read_too_soon")
		}
	}
	return nil
}

// Volts that lie so far below what they settle to were rather read under load
// than soon after: by a share of the drop under the ride's mean current, or by
// so many volts a cell. Common practice, no source.
const (
	droppedShare = .6
	droppedCellV = .08
)

// overLimit is how far above its limit a pack that stopped a ride there may be
// read under load. Common practice, no source.
const overLimit = 1.02

// aboveLimit reports whether a ride ended at the pack's limit and volts lie above
// it: under load it was down there, so they are volts of a pack at rest.
func (a *audit) aboveLimit(r *logbook.Ride, volts float64) bool {
	p := a.h.PackAt(r.At)
	switch r.Stop {
	case "limit":
		return p.LimitV.OK && volts > overLimit*p.LimitV.V
	case "cutoff":
		return p.CutoffV.OK && volts > overLimit*p.CutoffV.V
	}
	return false
}

// dropped reports whether volts lie about as far below the expected ones as a
// load pulls them down.
func (a *audit) dropped(r *logbook.Ride, m model.Misreading) bool {
	if n := a.series(); n > 0 && (m.Expected-m.Figure)/n >= droppedCellV {
		return true
	}
	hours := logbook.EndOf(r).Sub(r.At).Hours()
	if !a.fit.Known().Resistance || !(hours > 0) || !r.DischargedAh.OK {
		return false
	}
	if a.ohm == 0 {
		a.ohm = model.Quantile(a.fit.At(a.h.AsOf).ResistanceMohm, .5) / 1000
	}
	drop := a.ohm * r.DischargedAh.V / hours
	return drop > 0 && m.Expected-m.Figure > droppedShare*drop
}
