package logbook

// leastSameSide is how many charges at one side of a charger stand against each at
// the other for a meter to be taken as always at that side.
const leastSameSide = 3

// OnOtherSide returns the charges whose meter is, by its other charges, at the other
// side of the charger than they say: at the wall or at the pack. A meter that has a
// name stays where it is, and its side is easily forgotten; which one a charge without
// a meter's name means, nobody knows. What counts Ah is at the pack.
func OnOtherSide(charges []*Charge) map[*Charge]bool {
	named := func(c *Charge) bool { return c.ChargedWh.OK && c.Meter != "" && c.Meter != DefaultMeter }
	all, wall := map[string]int{}, map[string]int{}
	for _, c := range charges {
		if named(c) {
			all[c.Meter]++
			if c.MeterSide == "ac" {
				wall[c.Meter]++
			}
		}
	}
	out := map[*Charge]bool{}
	for _, c := range charges {
		if !named(c) || c.ChargedAh.OK {
			continue
		}
		same := wall[c.Meter]
		if c.MeterSide != "ac" {
			same = all[c.Meter] - same
		}
		if all[c.Meter]-same >= leastSameSide*same {
			out[c] = true
		}
	}
	return out
}
