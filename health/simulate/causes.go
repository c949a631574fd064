package simulate

import (
	"math"
	"math/bits"
)

// Causes lists, in the contract's order, what can make a ride longer or
// shorter than the reference.
var Causes = [...]string{"ageing", "temperature", "tyre_pressure", "rider_mass", "speed", "wind", "climb", "route", "start_charge"}

// Share is how many kilometres each of the Causes made of the difference
// between a ride and the reference.
type Share struct {
	ReferenceKm   float64 // a full charge as new, at reference conditions
	RideKm        float64 // from that ride's start charge to the limit, in its conditions and with the whims that it had as far as it went
	Km            [len(Causes)]float64
	UnexplainedKm float64 // the whims: gusts, hills and ups and downs of the throttle, dirt, air pressure
}

// Explain returns the Shapley shares of the causes of one ride: for every
// order in which its conditions could take the place of the reference ones,
// what each changes, averaged over the orders. The speed is the one that was
// ridden, not the one that was meant: throttle and stops make some percent of
// difference, and the log has what came of it. It rides some hundred rides.
func (t *Truth) Explain(r RideTruth) Share {
	refs := t.references(NewAge())
	ridden, usual := r.Drive, t.GoKm(r.Drive, r.MaxKm)
	if usual.SpeedKmh > 0 && r.Outcome.SpeedKmh > 0 {
		ridden.SpeedKmh *= r.Outcome.SpeedKmh / usual.SpeedKmh
	}
	var value [1 << len(Causes)]float64
	for _, ref := range refs {
		fair := t.g.fairly(func(set int) Drive { return swap(ref, ridden, set) })
		for set := range value {
			d := swap(ref, ridden, set)
			value[set] += t.g.meanRange(&d, briefly[:]) * math.Exp(fair(set)) / float64(len(refs))
		}
	}
	full := len(value) - 1
	s := Share{ReferenceKm: value[0], RideKm: r.Outcome.Km}
	if r.Outcome.Stop == "chosen" { // as far as it went it took so much more than is usual at that speed
		usual = t.GoKm(ridden, r.MaxKm)
		s.RideKm = value[full] * (usual.Wh - usual.RegenWh) / usual.Km * r.Outcome.Km / (r.Outcome.Wh - r.Outcome.RegenWh)
	}
	s.UnexplainedKm = s.RideKm - value[full]
	weight := shapleyWeights(len(Causes))
	for i := range Causes {
		for set := range value {
			if set&(1<<i) == 0 {
				s.Km[i] += weight[bits.OnesCount(uint(set))] * (value[set|1<<i] - value[set])
			}
		}
	}
	return s
}

// Whims of the road and the throttle: a few that every set of conditions is
// ridden with, and many that tell how fair those few are.
var (
	briefly = [...]uint64{5, 6}
	widely  = [...]uint64{10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21}
)

// meanRange is the mean range over pairs of mirrored whims.
func (g *rig) meanRange(d *Drive, pairs []uint64) float64 {
	s := g.begin(d)
	km := 0.0
	for _, seed := range pairs {
		km += g.run(d, s, toLimitKm, newNoise(seed, 0x726566, false)).Km + g.run(d, s, toLimitKm, newNoise(seed, 0x726566, true)).Km
	}
	return km / (2 * float64(len(pairs)))
}

// fairly returns, for a set of causes, ln of the mean range over that of the
// few whims: measured with none, each and all of the causes, and added up
// between, so that a cause that is as in the reference changes nothing.
func (g *rig) fairly(drive func(set int) Drive) func(set int) float64 {
	off := func(set int) float64 {
		d := drive(set)
		return math.Log(g.meanRange(&d, widely[:]) / g.meanRange(&d, briefly[:]))
	}
	none, all := off(0), off(1<<len(Causes)-1)
	var each [len(Causes)]float64
	rest, size := all-none, 0.0
	for i := range each {
		each[i] = off(1<<i) - none
		rest -= each[i]
		size += math.Abs(each[i])
	}
	return func(set int) float64 {
		sum := none
		for i := range each {
			if set&(1<<i) != 0 && each[i] != 0 {
				sum += each[i] + rest*math.Abs(each[i])/size
			}
		}
		return sum
	}
}

// shapleyWeights returns the weight of a set of k of n-1 others: k! (n-1-k)! / n!.
func shapleyWeights(n int) []float64 {
	w := make([]float64, n)
	w[0] = 1 / float64(n)
	for k := 1; k < n; k++ {
		w[k] = w[k-1] * float64(k) / float64(n-k)
	}
	return w
}

// swap returns the reference drive with the conditions in the set taken from
// the ride.
func swap(ref, ride Drive, set int) Drive {
	d := ref
	has := func(cause int) bool { return set&(1<<cause) != 0 }
	if has(0) {
		d.Age = ride.Age
	}
	if has(1) {
		d.AirC, d.PackC, d.HoldC = ride.AirC, ride.PackC, ride.HoldC
	}
	if has(2) {
		d.TyreKpa = ride.TyreKpa
	}
	if has(3) {
		d.Rider.Kg, d.Rider.DragM2, d.BoardKg = ride.Rider.Kg, ride.Rider.DragM2, ride.BoardKg
	}
	if has(4) {
		d.SpeedKmh, d.Rider.Restless, d.Rider.Peaks = ride.SpeedKmh, ride.Rider.Restless, ride.Rider.Peaks
	}
	if has(5) {
		d.WindKmh, d.FromDeg = ride.WindKmh, ride.FromDeg
	}
	if has(7) {
		d.Route = ride.Route
		d.Route.ClimbMKm, d.Route.RiseMKm = 0, 0
	}
	if has(6) {
		d.Route.ClimbMKm, d.Route.RiseMKm = ride.Route.ClimbMKm, ride.Route.RiseMKm
	}
	if has(8) {
		d.Level, d.Spread = ride.Level, ride.Spread
	}
	return d
}
