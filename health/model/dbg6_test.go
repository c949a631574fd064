package model

import (
	"fmt"
	"math"
	"os"
	"sort"
	"strconv"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgScale(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("SCALE"))
	if n == 0 {
		t.Skip()
	}
	log, _ := simulate.Run(simulate.Preset(simulate.WallOnly, uint64(n)))
	var pack string
	for _, r := range log.Records {
		if p, ok := r.(*logbook.Pack); ok {
			pack = p.ID
		}
	}
	h, _ := logbook.NewHistory(pack, log.Records, log.Truth.End)
	fit := FitHistory(h, nil)
	f := fit.f
	f.p.base(fit.z)
	var c cellState
	fit.m.decode(fit.z, &c)
	r0 := make([]float64, len(f.p.tape))
	f.p.follow(&c, 0, len(fit.m.events), r0)
	const d = .01
	for k := range c.lnC {
		c.lnC[k] += d
	}
	s := math.Exp(d)
	c.road.Rolling *= s
	c.road.DragAreaM2 *= s
	c.road.StandingW *= s
	c.resistance /= s
	c.standbyW *= s
	c.wall *= s
	r1 := make([]float64, len(f.p.tape))
	f.p.follow(&c, 0, len(fit.m.events), r1)
	type dd struct {
		k int
		v float64
	}
	var all []dd
	by := map[string]float64{}
	for k := range r0 {
		x := r1[k] - r0[k]
		tp := f.p.tape[k]
		ev := 9
		if tp.event >= 0 {
			ev = int(fit.m.events[tp.event].kind)
		}
		by[fmt.Sprintf("obs%d/%d", tp.kind, ev)] += x * x
		all = append(all, dd{k, x})
	}
	sort.Slice(all, func(i, j int) bool { return math.Abs(all[i].v) > math.Abs(all[j].v) })
	fmt.Println(by)
	for _, a := range all[:12] {
		tp := f.p.tape[a.k]
		fmt.Printf("%+v diff %.4f x0 %.3f q %.3f unlogged %.2f reset %v\n", tp, a.v, f.p.carry[max(tp.event, 0)].x0, f.p.carry[max(tp.event, 0)].qAh, fit.m.events[max(tp.event, 0)].unloggedKm, f.p.carry[max(tp.event, 0)].reset)
	}
}
