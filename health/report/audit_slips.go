package report

import (
	"strings"

	"packwane/health/logbook"
	"packwane/health/prose"
)

// renamed gives slips that name a unit the code of that slip.
var renamed = map[string]string{"typed_in_psi": "psi_as_kpa", "typed_in_bar": "bar_as_kpa", "typed_in_fahrenheit": codeFahrenheit, "typed_in_pounds": "pounds_as_kg"}

// slips files what a logbook.Judge sees in any record of the pack or its boards.
func (a *audit) slips() {
	// Seen from the end of the log nothing lies in the future.
	judge := logbook.NewJudge(a.h, a.h.AsOf)
	a.odometer = map[string]float64{}
	odd := a.oddReadings()
	var used []logbook.Record // though the pack was retired
	for _, r := range a.h.Records() {
		for _, s := range judge.Slips(r) {
			if s.Code == "overlaps" && a.overlapTold(r, s) || odd.other(r, s) {
				continue // told of the other record
			}
			if s.Code == codeRetirement {
				used = append(used, r)
				continue // told once, of the retirement
			}
			if a.miscounted() && restsOnSeries(s) {
				continue // it is the number of groups that is wrong
			}
			if strings.HasSuffix(s.Code, "_for_the_energy") && (a.told(r, "discharged_wh") || a.told(r, "discharged_ah")) {
				continue // it is the energy that is wrong
			}
			a.slip(r, s)
		}
	}
	if len(used) > 0 {
		by := a.h.Retired()
		a.add(by, "kind", codeRetirement, say("the pack was retired on "+a.h.Day(by.At)+", and ridden or charged since ("+prose.Plural(len(used), "record")+", the first "+logbook.HeadOf(used[0]).ID+")"), say("leave the pack alone where it was; where that record is wrong, packwane remove "+by.ID))
	}
}

// readings are the odometer readings that are believed, by the ids of the rides,
// and, of these, those that follow on one that is believed too.
type readings struct{ believed, follows map[string]bool }

// other reports whether a slip of an odometer belongs to another record: of two
// readings that contradict each other it is never the one that is believed.
func (o readings) other(r logbook.Record, s logbook.Slip) bool {
	id := logbook.HeadOf(r).ID
	switch s.Code {
	case "above_a_later_reading", "below_an_earlier_reading":
		return o.believed[id]
	case "denied_by_the_odometer", "jumps":
		return o.believed[id] && !o.follows[id]
	}
	return false
}

// oddReadings finds the readings that are believed, and where the odometer stood
// after each ride by them.
func (a *audit) oddReadings() readings {
	o := readings{map[string]bool{}, map[string]bool{}}
	for id := range a.h.Boards {
		legs := a.legsOf(id)
		rides := make([]*logbook.Ride, len(legs))
		for i, l := range legs {
			rides[i] = l.ride
			a.odometer[l.ride.ID] = l.km
		}
		before := true // whether the reading before is believed
		for i, is := range believable(rides) {
			if rides[i].OdometerKm.OK {
				o.believed[rides[i].ID], o.follows[rides[i].ID] = is, before
				before = is
			}
		}
	}
	return o
}

// overlapTold reports whether an overlap was told of the other record, or the
// record is a duplicate, which tells it already.
func (a *audit) overlapTold(r logbook.Record, s logbook.Slip) bool {
	for _, f := range a.out {
		if f.Code == codeDuplicate && f.at == r {
			return true
		}
		if f.Code == "overlaps" && containsWord(f.Text, logbook.HeadOf(r).ID) {
			return true
		}
		if f.Code == codeDuplicate && containsWord(f.Text, logbook.HeadOf(r).ID) && containsWord(s.Text, f.Record) {
			return true
		}
	}
	return false
}

// slip files one slip, with the value that would fit where a factor leads to
// one.
func (a *audit) slip(r logbook.Record, s logbook.Slip) {
	f, ok := logbook.FieldNamed(r.Kind(), s.Field)
	if !ok {
		return
	}
	code := s.Code
	if name, ok := renamed[code]; ok {
		code = name
	}
	text := say(named(s.Field), " "+s.Text)
	if s.Value.OK {
		text = say(named(s.Field), " ", exact(s.Value.V, f.Unit), " "+s.Text)
	}
	if code == codeFahrenheit {
		a.addTemperature(r, s.Field, code, text, celsius(s.Value.V))
		return
	}
	if k := a.factorInto(r, s); k != nil {
		a.add(r, s.Field, k.code, append(text, ": "+k.what), say("if so, ", k.mend(r, f, k.meant(a, s.Value.V))))
		return
	}
	advice := say(want(s, f), "; put it right or take it out: "+amend(r, s.Field, ""))
	if code == "voltage_above_full" {
		advice = append(say("where it is true the pack is overcharged: do not ride or charge it, keep away from it, and ask a trained person; else "), advice...)
	}
	a.add(r, s.Field, code, text, advice)
}

// want says what would be accepted.
func want(s logbook.Slip, f logbook.Field) phrase {
	switch {
	case s.Min.OK && s.Max.OK && s.Min == s.Max:
		return say("expected ", exact(s.Min.V, f.Unit))
	case s.Min.OK && s.Max.OK:
		return say("expected ", exact(s.Min.V, f.Unit), " to ", exact(s.Max.V, f.Unit))
	case s.Min.OK:
		return say("expected at least ", exact(s.Min.V, f.Unit))
	case s.Max.OK:
		return say("expected at most ", exact(s.Max.V, f.Unit))
	}
	return say("look at it again")
}

// factorInto returns the slip whose factor brings a figure to where it would be
// accepted: near what the record's own other figures tell where they do, else
// the first of the table that does.
func (a *audit) factorInto(r logbook.Record, s logbook.Slip) *slipKind {
	if !s.Value.OK || !s.Min.OK && !s.Max.OK || s.Value.V <= 0 {
		return nil
	}
	if e := a.partner(r, s.Field); e > 0 {
		return a.explain(s.Field, s.Value.V, e, nearSds)
	}
	for i := range slipKinds {
		k := &slipKinds[i]
		v := k.meant(a, s.Value.V)
		if k.lost || !k.suits(s.Field) || v <= 0 || s.Max.OK && v > s.Max.V || s.Min.OK && v < s.Min.V {
			continue
		}
		if !s.Min.OK && v < s.Max.V/20 || !s.Max.OK && v > s.Min.V*20 {
			continue // accepted, but hardly what was meant
		}
		if n := a.series(); n > 0 && strings.HasSuffix(s.Field, "_v") && s.Field != "group_v" && (v < leastCellV*n || v > mostCellV*n) {
			continue // no pack has that: what is somewhat too high or low is no slip of the point
		}
		return k
	}
	return nil
}
