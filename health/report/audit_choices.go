package report

import (
	"fmt"
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
)

// endedEarly files a stop at the limit that came with much of the charge left, by
// what the ride drew. It may have been chosen; if it was not, the pack is not well.
func (a *audit) endedEarly(m model.Misreading) {
	a.add(m.Record, m.Field, codeEarly, say(fmt.Sprintf("stop is limit, where by what the ride drew about %.0f %% of the charge was left, unless something ridden before it was not logged", math.Round(m.Expected))),
		say("if the limit did come so early, do not ride or charge the pack until somebody trained has looked at it; if you ended the ride yourself, "+amend(m.Record, m.Field, "chosen")))
}

// sides files the charges whose meter is, by its other charges, on the other side of
// the charger.
func (a *audit) sides() {
	other := logbook.OnOtherSide(a.h.Charges)
	for _, c := range a.h.Charges {
		if !other[c] {
			continue
		}
		is, was, place := "ac", "dc", "at the wall"
		if c.MeterSide == "ac" {
			is, was, place = "dc", "ac", "at the pack"
		}
		a.add(c, "meter_side", codeSide, say(fmt.Sprintf("meter_side is %s, where most charges have %s %s", was, c.Meter, place)), say("if it was there, "+amend(c, "meter_side", is)))
	}
}
