package model

import "math"

// Cycling leaves the charge of a cell unevenly spread, which hides some of its
// capacity until it has rested, and passes for ageing where it never does (World
// Electr. Veh. J. 16 (2025) 255; Schreiber et al., J. Energy Storage 127 (2025)
// 116924, where long rest gave half of the loss back). Days, from memory: what
// rest it takes, and over what time the usual is a mean.
const (
	restDays  = 8.0
	usualDays = 45.0
)

// tire tells every event how many full cycles of the last days, each counting
// less the longer ago it was, lie on the pack beyond what is usual for it. A pack
// that was used before the log is taken to have been used as in it.
func (m *machine) tire() {
	n := len(m.events)
	if n == 0 {
		return
	}
	recent := 0.0
	if m.before > 0 || m.events[0].startDay-dayOf(m.born) > usualDays {
		for i := range m.events {
			recent += m.events[i].share
		}
		recent *= restDays / max(m.events[n-1].endDay-m.events[0].startDay, usualDays)
	}
	usual := recent
	at := m.events[0].startDay
	for i := range m.events {
		e := &m.events[i]
		days := max(e.startDay-at, 0)
		at += days
		recent *= math.Exp(-days / restDays)
		usual += (recent - usual) * (1 - math.Exp(-days/usualDays))
		e.tired = recent - usual
		if e.kind == evRide {
			recent += e.share
		}
	}
}
