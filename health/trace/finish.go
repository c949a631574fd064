package trace

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"packwane/health/units"
)

// side is charge and energy in one direction.
type side struct{ ah, wh float64 }

// sides returns what a piece took in and gave out.
func (r *reading) sides(p *piece) (in, out side) {
	pos := side{p.pos / 3600, p.posE / 3600}
	neg := side{p.neg / 3600, p.negE / 3600}
	if r.sign == PositiveDischarges {
		return neg, pos
	}
	return pos, neg
}

// sum turns the sums of all pieces into Ah and Wh.
func (r *reading) sum() {
	a := r.pieces
	in, out := r.sides(&piece{pos: a.pos.value(), neg: a.neg.value(), posE: a.posE.value(), negE: a.negE.value()})
	r.res.ChargedAh, r.res.ChargedWh, r.res.DischargedAh, r.res.DischargedWh = in.ah, in.wh, out.ah, out.wh
}

// flowed reports whether any current flowed at all.
func (c *cursor) flowed() bool {
	for _, p := range c.thin.points {
		if p.MinA != 0 || p.MaxA != 0 {
			return true
		}
	}
	return false
}

// currentName is the header of the current, or of the first of two.
func (l *layout) currentName() string {
	for _, r := range []Role{Current, ChargeCurrent, DischargeCurrent} {
		if c := l.column(r); c >= 0 {
			return l.name(c)
		}
	}
	return ""
}

// grain returns the last decimal in which the first rows write a column, in
// the canonical unit.
func (l *layout) grain(r Role) float64 {
	p := l.pickOf(r)
	if p == nil {
		return 0
	}
	most := 0
	for _, f := range l.sampleCells(p.index) {
		if at := bytes.IndexByte(f, l.point); at >= 0 {
			most = max(most, len(unquote(f))-at-1)
		}
	}
	return math.Abs(p.scale.to(math.Pow10(-most)) - p.scale.to(0))
}

// points turns the thinned trace to the sign of the package.
func (r *reading) points() {
	for _, p := range r.cur.thin.points {
		p.Seconds -= r.pieces.t0
		if r.sign == PositiveDischarges {
			p.MinA, p.MaxA = -p.MaxA, -p.MinA
		}
		r.res.Points = append(r.res.Points, p)
	}
}

// mapping returns the map that reads this file the same way again.
func (l *layout) mapping(sign Sign) Mapping {
	m := Mapping{sign: sign, point: l.point, channel: string(l.channel), dates: l.time.order}
	for name, c := range delimNames {
		if c == l.delim {
			m.delim = name
		}
	}
	if l.time.kind == timeNumber || l.time.kind == timeClock && l.column(Date) < 0 {
		m.dates = orderUnknown
	}
	var groups []string
	for _, p := range l.picks {
		name := l.name(p.index)
		if strings.HasPrefix(name, "#") || l.doubled(name) || strings.Contains(name, "|") {
			name = fmt.Sprintf("#%d", p.index+1)
		}
		if p.role == Groups {
			groups = append(groups, name)
		} else {
			m.columns[p.role] = name
		}
		if unitOfRole[p.role] != units.None && p.unit != l.labels[p.index].unit {
			m.units[p.role] = p.unit
		}
	}
	m.columns[Groups] = strings.Join(groups, "|")
	if m.channel == "" {
		m.columns[Channel] = ""
	}
	return m
}

// doubled reports whether two columns have this header.
func (l *layout) doubled(name string) bool {
	n := 0
	for _, c := range l.labels {
		if c.text == name {
			n++
		}
	}
	return n > 1
}

// final looks at the order of the rows once more, with all of them counted.
func (f *findings) final(rows int64) error {
	if f.late.n > 0 && float64(f.late.n+f.jumps.n) > max(orderChance, outOfOrder*float64(rows)) {
		return f.orderly(rows)
	}
	return nil
}

func (r *reading) stuckWarnings() []Warning {
	var out []Warning
	say := func(code string, role Role, s *stuckRun, other string) {
		if s.finds == 0 {
			return
		}
		out = append(out, Warning{code, fmt.Sprintf("column %q stays at %s %s although the %s moves, %s at the longest, from before row %d: a stuck sensor; nothing is learned from there",
			r.lay.name(r.lay.column(role)), brief(s.worst.value), times(s.finds), other, duration(s.worst.seconds), s.worst.line)})
	}
	if r.cur.steps.shortOfSpace {
		out = append(out, Warning{"many_steps", fmt.Sprintf("only the first %d steps of the current were kept to read the resistance from", mostPulses)})
	}
	say("stuck_voltage", Voltage, &r.cur.stuck.volts, "current")
	say("stuck_current", Current, &r.cur.stuck.amps, "voltage")
	return out
}

// counterError is how far a counter of the file may be off the integral.
const counterError = 0.01

// counterWarnings compares the integral with the file's own counters.
func (r *reading) counterWarnings() []Warning {
	var out []Warning
	ours := map[Role]float64{
		ChargedCount: r.res.ChargedAh, DischargedCount: r.res.DischargedAh, NetCount: r.res.ChargedAh - r.res.DischargedAh,
		ChargedEnergy: r.res.ChargedWh, DischargedEnergy: r.res.DischargedWh, NetEnergy: r.res.ChargedWh - r.res.DischargedWh,
	}
	for _, n := range r.cur.counts {
		total, own := n.total(), ours[n.role]
		if n.role == NetCount || n.role == NetEnergy {
			total = math.Copysign(total, own) // counters of what is drawn count either way
		}
		size := max(math.Abs(total), math.Abs(own))
		if !n.begun || size == 0 || total == 0 || math.Abs(total-own) <= counterError*size {
			continue
		}
		unit := unitOfRole[n.role]
		again := ""
		if n.restarts > 0 {
			again = fmt.Sprintf(" (it started again %s)", times(n.restarts))
		}
		out = append(out, Warning{"counter_disagrees", fmt.Sprintf("column %q counts %s %s%s, the rows give %s %s: %s %% apart; the rows count",
			r.lay.nameOf(n.role), brief(total), unit, again, brief(own), unit, brief(100*math.Abs(total-own)/size))})
	}
	return out
}

func (l *layout) nameOf(r Role) string { return l.name(l.column(r)) }

// voltageWarnings says where the voltage cannot be that of the pack.
func (r *reading) voltageWarnings() []Warning {
	p := r.opts.Pack
	if p == nil || !p.Series.OK {
		return nil
	}
	hi := r.pieces.maxV
	name := r.lay.nameOf(Voltage)
	if perCell := hi / p.Series.V; perCell < leastCellV || perCell > mostCellV {
		return []Warning{{"voltage_scale", fmt.Sprintf("column %q reaches %s V, %s V a cell for %s in series: is it another pack, one cell alone or another unit?", name, brief(hi), brief(perCell), brief(p.Series.V))}}
	}
	return nil
}

// What the highest voltage of a trace is per cell: below a flat iron-phosphate
// cell, or above any cell of the chemistries of the records, it is not the
// pack's (from memory).
const (
	leastCellV = 2.5
	mostCellV  = 4.6
)
