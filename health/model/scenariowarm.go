package model

import "math"

// warmUp is how much warmer than the air the pack is, on average over a full
// charge, as the log's rides to the limit show: of itself, and by a share of
// how far the air is from the room it may come from.
type warmUp struct {
	own, room float64
	sd        float64 // of one ride, K
	told      bool
}

const leastWarmUps = 3

// warmUp fits the two figures by least squares with a prior of 4 ± 3 K and
// 0.1 ± 0.15 (from memory); told is false where the log has too few rides to
// the limit with both temperatures.
func (fit *Fit) warmUp() warmUp {
	const noise = 2.0
	w := warmUp{own: 4, room: .1, sd: 3}
	a11, a12, a22 := 1/square(3.0), 0.0, 1/square(.15)
	b1, b2 := w.own*a11, w.room*a22
	n := 0
	var seen [][2]float64
	for i := range fit.m.events {
		e := &fit.m.events[i]
		if e.kind != evRide || e.bench || e.stop != "limit" || !known(e.packC) || e.tempVar > 0 || !known(e.airC) {
			continue
		}
		x, y := typicalIndoorC-e.airC, e.packC-e.airC
		if math.Abs(y) > 30 {
			continue
		}
		v := 1 / square(noise)
		a11, a12, a22, b1, b2 = a11+v, a12+v*x, a22+v*x*x, b1+v*y, b2+v*x*y
		seen = append(seen, [2]float64{x, y})
		n++
	}
	if n < leastWarmUps {
		return w
	}
	det := a11*a22 - a12*a12
	w.own, w.room, w.told = (a22*b1-a12*b2)/det, (a11*b2-a12*b1)/det, true
	sum := 3 * square(noise)
	for _, p := range seen {
		sum += square(p[1] - w.own - w.room*p[0])
	}
	w.sd = math.Sqrt(sum / float64(n+3))
	return w
}

// at is the mean temperature of the pack over a full charge in that air.
func (w warmUp) at(airC float64) float64 { return airC + w.own + w.room*(typicalIndoorC-airC) }
