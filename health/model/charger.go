package model

import (
	"math"
	"time"

	"packwane/health/logbook"
)

// A charger is replaced, or its meter, and nobody says so: what the wall gives for what was
// ridden is another from then on. Both sides of the change must tell it so often, by so much,
// so many times the doubt of the difference, and neither may go on changing by more than half
// of it, as losses that grow do; both must have been ridden as far and stood as long before a
// charge, for what stands loses charge and a charger takes some for itself. Common practice,
// no source.
const (
	leastRefills   = 6
	anotherCharger = .05 // of a logarithm
	noCharger      = .3  // no two chargers differ so much
	likeDepth      = .2  // of a logarithm
	likeDays       = .5
	likeStood      = .2 // of the longer stand
	chargerSds     = 6.0
	mostSplits     = 48 // places where it is looked for
)

// refill is what the wall gave for what was ridden since the pack was full.
type refill struct {
	day    float64
	ln     float64 // Wh over Wh
	ridden float64 // ln of Wh
	stood  float64 // days since the pack was full
}

// refills lists the full charges metered at the wall before which all was counted, of the
// meter that is named most: who names two says so.
func (m *machine) refills() []refill {
	var out []refill
	ridden, counted, full, name, count := 0.0, false, 0.0, "", map[string]int{}
	for i := range m.events {
		if c, ok := m.events[i].record.(*logbook.Charge); ok && m.events[i].ac {
			if count[c.Meter]++; count[c.Meter] > count[name] {
				name = c.Meter
			}
		}
	}
	for i := range m.events {
		e := &m.events[i]
		switch {
		case e.kind == evRide && e.unloggedKm > 0:
			counted = false
		case e.kind == evRide && known(e.wh):
			ridden += e.wh
		case e.kind == evRide && known(e.ah):
			ridden += e.ah * m.chem.NominalV * m.series
		case e.kind == evRide, e.kind == evCharge && e.full != logbook.Yes:
			counted = false
		case e.kind == evCharge:
			c := e.record.(*logbook.Charge)
			if counted && e.ac && c.Meter == name && e.wh > 0 && ridden > refillLeast*m.ratedAh*m.chem.NominalV*m.series {
				out = append(out, refill{e.endDay, math.Log(e.wh / ridden), math.Log(ridden), e.startDay - full})
			}
			ridden, counted, full = 0, true, e.endDay
		}
	}
	return out
}

// refillLeast is the share of a full charge that must have been ridden for a refill to
// tell the charger.
const refillLeast = .2

// findCharger finds the day from which on another charger is used; +Inf where none shows.
func (m *machine) findCharger() {
	m.chargerSince = math.Inf(1)
	all := m.refills()
	ends := max(leastRefills, len(all)/6)
	if len(all) < 2*leastRefills || math.Abs(median(lnsOf(all[len(all)-ends:]))-median(lnsOf(all[:ends]))) < anotherCharger/2 {
		return // as it began, so it ends
	}
	least, at := math.Inf(1), 0
	for k := leastRefills; k+leastRefills <= len(all); k += max(len(all)/mostSplits, 1) {
		if off := offMedian(lnsOf(all[:k])) + offMedian(lnsOf(all[k:])); off < least {
			least, at = off, k
		}
	}
	before, after := lnsOf(all[:at]), lnsOf(all[at:])
	step := median(after) - median(before)
	sd := math.Hypot(scatter(before)/math.Sqrt(float64(len(before))), scatter(after)/math.Sqrt(float64(len(after))))
	if math.Abs(step) > anotherCharger && math.Abs(step) < noCharger && math.Abs(step) > chargerSds*sd && steady(before, step) && steady(after, step) && alike(all[:at], all[at:]) {
		m.chargerSince, m.chargerStep = all[at].day, step
	}
}

// AnotherCharger returns since when what the wall gives for what was ridden is another, and
// how much more it is, percent; false where it stayed as it was.
func (fit *Fit) AnotherCharger() (since time.Time, morePct float64, is bool) {
	if math.IsInf(fit.m.chargerSince, 1) {
		return since, 0, false
	}
	return timeOfDay(fit.m.chargerSince), 100 * math.Expm1(fit.m.chargerStep), true
}

// offMedian is how far a list lies off its median in all.
func offMedian(list []float64) (sum float64) {
	mid := median(list)
	for _, v := range list {
		sum += math.Abs(v - mid)
	}
	return sum
}

func lnsOf(list []refill) []float64 {
	out := make([]float64, len(list))
	for i := range list {
		out[i] = list[i].ln
	}
	return out
}

// scatter is the standard deviation of a normal distribution half of which lies as near the
// median as half of the list does, 1 % at least.
func scatter(list []float64) float64 {
	mid := median(list)
	off := make([]float64, len(list))
	for i, v := range list {
		off[i] = math.Abs(v - mid)
	}
	return max(median(off)/.6745, .01)
}

// alike reports whether the pack was ridden as far before the refills of two lists, and
// stood as long.
func alike(a, b []refill) bool {
	middles := func(list []refill) (ridden, stood float64) {
		var all, days []float64
		for i := range list {
			all, days = append(all, list[i].ridden), append(days, list[i].stood)
		}
		return median(all), median(days)
	}
	ridden, stood := middles(a)
	then, days := middles(b)
	return math.Abs(ridden-then) < likeDepth && math.Abs(stood-days) < likeDays+likeStood*max(stood, days)
}

// steady reports whether the halves of a list differ by less than half of a step.
func steady(list []float64, step float64) bool {
	k := len(list) / 2
	return math.Abs(median(list[k:])-median(list[:k])) < math.Abs(step)/2
}

// chargedBy is the name of the meter of a charge at the wall.
func (m *machine) chargedBy(e *event, name string) string {
	if name == "" || name == logbook.DefaultMeter {
		name = "\x00wall" // a wall figure is never the pack's own count
	}
	if e.endDay >= m.chargerSince {
		name += "\x00new"
	}
	return name
}
