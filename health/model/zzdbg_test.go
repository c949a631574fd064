package model

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"packwane/health/logbook"
)

func TestZZ(t *testing.T) {
	seed, _ := strconv.Atoi(os.Getenv("ZZ"))
	recs, asOf := AnyLog(uint64(seed))
	h, _ := logbook.NewHistory(AnyPack, recs, asOf)
	m := prepare(h)
	fit := &Fit{m: m, f: newFitter(m)}
	fmt.Println(string(logbook.AppendJSON(nil, h.Pack)))
	for i, r := range h.Records() {
		if i < 12 {
			fmt.Println(string(logbook.AppendJSON(nil, r)))
		}
	}
	for i := range m.events {
		e := &m.events[i]
		bad := func(name string, v float64) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				fmt.Println("event", i, e.kind, name, v)
			}
		}
		bad("years", e.years)
		bad("age", e.age)
		bad("cycles", e.cycles)
		bad("knotW", e.knotW)
		if known(e.km) {
			bad("mass", e.trip.MassKg)
			bad("speed", e.trip.SpeedMs)
			bad("tripVar", e.tripVar)
			bad("climb", e.trip.ClimbPerM)
			bad("desc", e.trip.DescentPerM)
			bad("stand", e.trip.StandingSPerM)
		}
	}
	fmt.Println("knots", m.knots, "rated", m.ratedAh, m.series, m.usual)
	f := fit.f
	z := f.start()
	for i, v := range z {
		if v != 0 {
			fmt.Println("start", m.params[i].name, v)
		}
	}
	for round := range 2 {
		h, cost, status := minimise(f, z, 1e-10)
		fmt.Println("round", round, "cost", cost, status)
		n := len(z)
		for i := range n {
			if v := h.At(i, i); !(v < 1e10) {
				fmt.Println("hess", i, m.params[i].name, v, "z", z[i])
			}
		}
		for k := range f.p.tape {
			tp := &f.p.tape[k]
			if math.IsNaN(tp.resid) || math.IsInf(tp.resid, 0) || tp.sd == 0 || math.IsNaN(tp.isd) || math.Abs(tp.resid) > 1e4 {
				fmt.Printf("tape %d %+v kind of event %d\n", k, *tp, m.events[max(tp.event, 0)].kind)
			}
		}
		f.putAside()
		f.rescale()
	}
}
