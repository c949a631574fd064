package trace

import (
	"slices"
	"strings"
)

// candidate is a column that could play a role, and how well it fits.
type candidate struct {
	index int
	score int
}

// leastScore is what a column must reach to be proposed at all.
const leastScore = 5

// The words that make a column more or less likely to be the pack's own value.
var (
	packWords    = []string{"pack", "battery", "batt", "bat", "batterie", "akku", "total", "terminal", "main", "vbat", "vbatt", "ibat", "ibatt", "vpack", "ipack", "ubat", "ubatt", "upack"}
	cellWords    = []string{"cell", "cells", "group", "zelle", "zell", "cellule", "celda"}
	foreignWords = []string{"motor", "phase", "throttle", "aux", "bec", "usb", "ac", "charger", "supply", "d", "q", "fet", "mos", "leak", "heater", "reference", "ref", "ocv"}
	boundWords   = []string{"max", "min", "limit", "set", "setpoint", "target", "cutoff", "peak", "maximum", "minimum", "delta", "diff", "spread", "error", "flag", "alarm", "protection", "nominal", "rated", "lowest", "highest"}
	meanWords    = []string{"avg", "average", "mean", "mittel", "mittelwert", "moyenne", "filtered"}
	airWords     = []string{"ambient", "air", "room", "outside", "env", "environment", "chamber", "umgebung", "aussen", "external"}
	hotWords     = []string{"motor", "fet", "mos", "mosfet", "controller", "esc", "board", "pcb", "cpu", "mcu", "charger", "inverter", "heatsink", "vesc"}
	inWords      = []string{"charge", "charging", "charged", "chg", "chrg", "in", "laden", "ladung", "regen", "regenerated"}
	outWords     = []string{"discharge", "discharging", "discharged", "dchg", "dsg", "out", "used", "consumed", "entladen", "entladung", "drawn"}
	netWords     = []string{"net"}
	stepWords    = []string{"step", "cycle", "lap", "remaining", "remain", "rest", "full", "nominal", "design", "rated", "left"}
)

// scoreOf says how well a column fits a role; 0 where it does not.
func scoreOf(r Role, l label) int {
	s := 0
	add := func(points int, words []string) {
		if l.has(words...) {
			s += points
		}
	}
	switch r {
	case Voltage, Current:
		want := qVoltage
		if r == Current {
			want = qCurrent
		}
		if l.quantity != want {
			return 0
		}
		s = 10
		if len(l.words) <= 1 {
			s += 3
		}
		add(2, packWords)
		add(-3, cellWords)
		add(-6, foreignWords)
		add(-6, boundWords)
		add(-2, meanWords)
		if r == Current && (oneWay(l, inWords) || oneWay(l, outWords)) {
			return 0 // a column of one direction alone
		}
	case ChargeCurrent, DischargeCurrent:
		out := l.has(outWords...)
		if l.quantity != qCurrent || !out && !l.has(inWords...) || out != (r == DischargeCurrent) {
			return 0
		}
		s = 10
		add(-6, boundWords)
		add(-2, meanWords)
	case PackTemp, Ambient:
		if l.quantity != qTemperature || l.has(airWords...) != (r == Ambient) {
			return 0
		}
		s = 10
		add(3, packWords)
		add(2, cellWords)
		add(-6, hotWords)
		add(-3, boundWords)
	case Speed, Odometer:
		if r == Speed && l.quantity != qSpeed || r == Odometer && l.quantity != qDistance {
			return 0
		}
		s = 10
		add(-4, boundWords)
		add(-3, meanWords)
		add(2, []string{"odometer", "odo", "total"})
	case ChargedCount, DischargedCount, NetCount:
		s = counterScore(l, qCharge, r-ChargedCount)
	case ChargedEnergy, DischargedEnergy, NetEnergy:
		s = counterScore(l, qEnergy, r-ChargedEnergy)
	}
	return s
}

// oneWay reports whether a current is that of one direction alone. "In" and
// "out" by themselves do not say so: a controller's current in is the pack's.
func oneWay(l label, words []string) bool {
	for _, w := range l.words {
		if w != "in" && w != "out" && slices.Contains(words, w) {
			return true
		}
	}
	return false
}

// counterScore rates a column of counted charge or energy for one of the three
// ways to count: in, out, net.
func counterScore(l label, q quantity, way Role) int {
	if l.quantity != q || l.has(stepWords...) || l.has(boundWords...) {
		return 0
	}
	words := [][]string{inWords, outWords, netWords}
	for w, list := range words {
		if l.has(list...) != (w == int(way)) {
			return 0
		}
	}
	return 10
}

// best returns the best column for a role, and every other that fits as well
// as it.
func best(r Role, labels []label, taken map[int]bool) (top candidate, ties []int) {
	for i, l := range labels {
		if taken[i] {
			continue
		}
		switch s := scoreOf(r, l); {
		case s < leastScore:
		case s > top.score:
			top, ties = candidate{i, s}, nil
		case s == top.score:
			ties = append(ties, i)
		}
	}
	return top, ties
}

// rivals returns the columns beside the best one against which nothing speaks.
func rivals(r Role, labels []label, taken map[int]bool, top int) (at []int) {
	for i, l := range labels {
		if i != top && !taken[i] && scoreOf(r, l) >= plainScore {
			at = append(at, i)
		}
	}
	return at
}

// plainScore is the score of a column that nothing speaks for or against but
// its quantity.
const plainScore = 10

// timeScore rates a column as the running time of the rows.
func timeScore(l label, kind timeKind, isTime bool) int {
	if !isTime && l.quantity != qTime && l.quantity != qDate {
		return 0
	}
	s := 10
	if kind == timeDate {
		return 0
	}
	if l.has("test", "total", "elapsed", "running") {
		s += 3
	}
	if l.has("step", "cycle", "lap", "remaining", "left", "charge", "balance") {
		s -= 6
	}
	if l.has("uptime", "boot") {
		s--
	}
	return s
}

// columnNames lists headers for an error, a few of them.
func columnNames(labels []label, at []int) string {
	var out []string
	for _, i := range at {
		if len(out) == 12 {
			out = append(out, "…")
			break
		}
		out = append(out, `"`+labels[i].text+`"`)
	}
	return strings.Join(out, ", ")
}
