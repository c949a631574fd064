package logbook_test

import (
	"testing"

	"packwane/health/logbook"
)

// TestOnOtherSide: a meter's side is that of three of its charges in four; one
// without a name, or that counts no energy, may be any.
func TestOnOtherSide(t *testing.T) {
	charge := func(meter, side string) *logbook.Charge {
		return &logbook.Charge{Meter: meter, MeterSide: side, ChargedWh: logbook.Some(400)}
	}
	forgotten, turned, bare := charge("plug", ""), charge("shunt", "ac"), charge("plug", "dc")
	bare.ChargedWh = logbook.Num{}
	counted := charge("plug", "dc")
	counted.ChargedAh = logbook.Some(10)
	for _, c := range []struct {
		name    string
		charges []*logbook.Charge
		odd     *logbook.Charge
	}{
		{"forgotten once", []*logbook.Charge{charge("plug", "ac"), forgotten, charge("plug", "ac"), charge("plug", "ac")}, forgotten},
		{"turned once", []*logbook.Charge{charge("shunt", ""), charge("shunt", "dc"), charge("shunt", ""), turned}, turned},
		{"two of one and one of the other tell nothing", []*logbook.Charge{charge("plug", "ac"), charge("plug", "ac"), charge("plug", "dc")}, nil},
		{"two meters", []*logbook.Charge{charge("plug", "ac"), charge("plug", "ac"), charge("plug", "ac"), charge("shunt", "dc")}, nil},
		{"no name", []*logbook.Charge{charge("", "ac"), charge("", "ac"), charge("", "ac"), charge("", "dc")}, nil},
		{"the pack's own, by its name", []*logbook.Charge{charge("pack", "ac"), charge("pack", "ac"), charge("pack", "ac"), charge("pack", "dc")}, nil},
		{"an Ah is counted at the pack", []*logbook.Charge{charge("plug", "ac"), charge("plug", "ac"), charge("plug", "ac"), counted}, nil},
		{"no energy", []*logbook.Charge{charge("plug", "ac"), charge("plug", "ac"), charge("plug", "ac"), bare}, nil},
		{"none", nil, nil},
	} {
		got := logbook.OnOtherSide(c.charges)
		if len(got) > 1 || (c.odd != nil) != (len(got) == 1) || c.odd != nil && !got[c.odd] {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
