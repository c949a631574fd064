package model

import (
	"math"
	"slices"
	"time"

	"packwane/health/logbook"
)

// pastAge returns the age of the pack on a day within the log.
func (fit *Fit) pastAge(day float64) age {
	m := fit.m
	i, _ := slices.BinarySearchFunc(m.events, day, func(e event, day float64) int {
		if e.startDay < day {
			return -1
		}
		return 1
	})
	through := 0.0
	if i > 0 {
		through = fit.through[i-1]
	}
	return age{years: max(day-dayOf(m.born), 0) / yearDays, cycles: m.before + through/m.ratedAh}
}

// Course returns draws of capacity_ah and of the resistance (mΩ) at a time
// anywhere in the pack's life: in the log as it was, from as-of on as it will
// be.
func (fit *Fit) Course(t time.Time) (capacityAh, resistanceMohm Draws) {
	day := dayOf(t)
	m := fit.m
	last := len(m.knots) - 1
	for i := range fit.draws {
		d := &fit.draws[i]
		var a age
		var lnC float64
		if day >= m.lastDay {
			a = fit.ageAt(d, day)
			lnC = fit.lnCAhead(d, a)
		} else {
			a = fit.pastAge(day)
			if a.cycles >= fit.mix.e.cycles[last] {
				lnC = fit.lnCAhead(d, a)
			} else {
				lnC = fit.lnCBetween(d, a.cycles)
			}
		}
		capacityAh = append(capacityAh, d.cell.referenceAh(m, lnC, a.years, a.cycles))
		resistanceMohm = append(resistanceMohm, 1000*m.series*d.cell.groupOhm(lnC, a.years, a.cycles))
	}
	return capacityAh, resistanceMohm
}

// Test is one full ride or one check, brought to reference conditions at the
// mode of the fit: what was measured, times what the model expects there over
// what it expects in the ride's own conditions.
type Test struct {
	Record         logbook.Record
	At             time.Time
	CapacityAh     float64 // NaN where not measured
	CapacityWh     float64
	RangeKm        float64
	ResistanceMohm float64
	Doubted        bool // a figure of it was put aside as a misreading
}

// Tests lists the rides that began full and ended at the limit, and the
// checks that show a resistance, in the order of the log.
func (fit *Fit) Tests() []Test {
	m := fit.m
	p := &fit.f.p
	var c cellState
	m.decode(fit.z, &c)
	var out []Test
	nan := math.NaN()
	for i := range m.events {
		e := &m.events[i]
		t := Test{Record: e.record, At: timeOfDay(e.endDay), CapacityAh: nan, CapacityWh: nan, RangeKm: nan, ResistanceMohm: nan}
		lnC := c.lnCapacity(e)
		switch {
		case e.kind == evRide && e.stop == "limit" && math.Abs(p.carry[i].x0) < .03:
			d := draw{cell: c}
			ah, wh, load := fit.toLimit(&d, e, lnC, age{e.years, e.cycles})
			ref := c.reference(m, c.lnRested(e), e.years, e.cycles, even(m.ref.packC), &m.ref.trip)
			t.CapacityAh = e.ah * ref.ah / ah
			t.CapacityWh = e.wh * ref.wh / wh
			t.RangeKm = e.km * ref.km / (wh / math.Exp(load))
			t.Doubted = p.rejected(i, obLimit) || p.rejected(i, obAh) || p.rejected(i, obWh) || p.rejected(i, obDistance)
		case e.kind == evCheck && known(e.ohm):
			expected := m.series * c.groupOhm(lnC, e.years, e.cycles)
			innovation := 0.0
			for k, to := fit.f.p.rowsOf(i); k < to; k++ {
				if p.tape[k].kind == obOhm {
					innovation = p.tape[k].innovation
				}
			}
			t.ResistanceMohm = 1000 * expected * math.Exp(innovation)
			t.Doubted = p.rejected(i, obOhm)
		default:
			continue
		}
		out = append(out, t)
	}
	return out
}
