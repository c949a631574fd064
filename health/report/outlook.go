package report

import (
	"packwane/health/logbook"
	"packwane/health/model"
)

// Outlook is the answer to "what will this pack be?", if it is used as lately.
type Outlook struct {
	Pack     string         `json:"pack"`
	AsOf     string         `json:"as_of"`
	Points   []OutlookPoint `json:"points"`
	Warnings []Warning      `json:"warnings"`
}

// OutlookPoint is the pack on one date.
type OutlookPoint struct {
	Date                 Date      `json:"date"`
	EquivalentFullCycles *Estimate `json:"equivalent_full_cycles"`
	SohPct               *Estimate `json:"soh_pct"`
	CapacityWh           *Estimate `json:"capacity_wh"`
	ResistanceMohm       *Estimate `json:"resistance_mohm"`
	RangeKm              *Estimate `json:"range_km"`
	SeasonRangeKm        *Estimate `json:"season_range_km"`
}

// DefaultOutlookMonths is how far an outlook reaches if nobody says.
const DefaultOutlookMonths = 12

// OutlookOf gives a point for now and for each month up to months ahead.
func OutlookOf(h *logbook.History, fit *model.Fit, months int) *Outlook {
	known := fit.Known()
	o := &Outlook{Pack: h.Pack.ID, AsOf: logbook.FormatTime(h.AsOf)}
	for n := range months + 1 {
		at := monthsAhead(h.AsOf, n)
		s := fit.At(at)
		o.Points = append(o.Points, OutlookPoint{
			Date:                 Date{at},
			EquivalentFullCycles: estimate(s.EquivalentFullCycles),
			SohPct:               when(known.Capacity, s.SohPct),
			CapacityWh:           when(known.Capacity, s.CapacityWh),
			ResistanceMohm:       when(known.Resistance, s.ResistanceMohm),
			RangeKm:              when(known.Capacity && known.Road, s.RangeKm),
			SeasonRangeKm:        when(known.Capacity && known.Road, fit.SeasonRangeKm(at)),
		})
	}
	o.Warnings = healthWarnings(h, fit, known, &Health{})
	return o
}
