package model

import (
	"math"
)

// How warm a pack may be, °C, and how far beyond nine tenths of the log's readings.
const (
	leastPackC, mostPackC = -15.0, 45.0
	beyondPackK           = 15.0
)

// oddAirK is how far the air may lie from the season's, K, at least, and oddAirSds
// in standard deviations of the days of the log.
const oddAirK, oddAirSds = 15.0, 4.0

// onRoad reports whether an event happened in the open: packs are mostly charged,
// checked and cycled indoors.
func (e *event) onRoad() bool { return e.kind == evRide && !e.bench }

// airs are the air temperatures on the road, or else those off it, and their days.
func (m *machine) airs(outdoors bool) (days, airs []float64) {
	for i := range m.events {
		if e := &m.events[i]; known(e.airC) && e.onRoad() == outdoors {
			days, airs = append(days, e.startDay), append(airs, e.airC)
		}
	}
	return days, airs
}

// dropOddTemperatures takes those of packs and air that no pack or day of this log
// has as not known.
func (m *machine) dropOddTemperatures() {
	m.dropOddPacks()
	m.dropOddAirs(true)
	m.dropOddAirs(false)
}

func (m *machine) dropOddPacks() {
	var packs []float64
	for i := range m.events {
		if e := &m.events[i]; known(e.packC) {
			packs = append(packs, e.packC)
		}
	}
	if len(packs) < leastAlike {
		return
	}
	low, high := min(leastPackC, Quantile(packs, .1)-beyondPackK), max(mostPackC, Quantile(packs, .9)+beyondPackK)
	low, high = slipsBeyond(packs, low, high)
	for i := range m.events {
		if e := &m.events[i]; known(e.packC) && (e.packC < low || e.packC > high) {
			m.oddTemps = append(m.oddTemps, Oddity{e.record, "pack_c", e.packC, median(packs)})
			e.packC = math.NaN()
		}
	}
}

// dropOddAirs holds the air on the road against the season there, and that indoors
// against what it is there.
func (m *machine) dropOddAirs(outdoors bool) {
	days, airs := m.airs(outdoors)
	if len(airs) < leastAlike {
		return
	}
	s := fitSeason(days, airs, m.south)
	off := make([]float64, len(airs))
	for i, d := range days {
		off[i] = airs[i] - s.at(d)
	}
	mid, most := median(off), max(oddAirK, oddAirSds*robustSd(off))
	coldest, warmest := slipsBeyond(off, mid-most, mid+most)
	for i := range m.events {
		e := &m.events[i]
		if usual := s.at(e.startDay); e.onRoad() == outdoors && (e.airC-usual < coldest || e.airC-usual > warmest) {
			m.oddTemps = append(m.oddTemps, Oddity{e.record, "ambient_c", e.airC, usual})
			e.airC = math.NaN()
		}
	}
}

// slipsBeyond returns the bounds, each without end where what lies beyond it is too
// often to be slips.
func slipsBeyond(values []float64, low, high float64) (least, most float64) {
	below, above := 0, 0
	for _, v := range values {
		if v < low {
			below++
		}
		if v > high {
			above++
		}
	}
	if !areSlips(below, len(values)) {
		low = math.Inf(-1)
	}
	if !areSlips(above, len(values)) {
		high = math.Inf(1)
	}
	return low, high
}
