package report

import (
	"packwane/health/logbook"
	"packwane/health/units"
)

// OutlookFigure is one figure of an outlook, a column of its table.
type OutlookFigure struct {
	Name string // short enough to head a column
	Unit units.Unit
	Of   func(*OutlookPoint) *Estimate
	Why  []string // codes of the warnings that say why it is unknown
}

// OutlookFigures are the figures of an outlook, what a rider wants most first.
func OutlookFigures() []OutlookFigure {
	return []OutlookFigure{
		{"range", units.Km, func(p *OutlookPoint) *Estimate { return p.RangeKm }, whyNoRange},
		{"season", units.Km, func(p *OutlookPoint) *Estimate { return p.SeasonRangeKm }, nil},
		{"health", units.Pct, func(p *OutlookPoint) *Estimate { return p.SohPct }, whyNoCapacity},
		{"capacity", units.Wh, func(p *OutlookPoint) *Estimate { return p.CapacityWh }, whyNoCapacity},
		{"resistance", units.Mohm, func(p *OutlookPoint) *Estimate { return p.ResistanceMohm }, whyNoResistance},
		{"cycles", units.Count, func(p *OutlookPoint) *Estimate { return p.EquivalentFullCycles }, nil},
	}
}

// Quarter is the number of months between the points of a short outlook.
const Quarter = 3

// Every is the outlook at every so many months, and at its end.
func (o *Outlook) Every(months int) *Outlook {
	short := *o
	short.Points = nil
	for i, p := range o.Points {
		if i%months == 0 || i == len(o.Points)-1 {
			short.Points = append(short.Points, p)
		}
	}
	return &short
}

// Shortest is the point at which the range in the usual weather is the shortest;
// nil where no range is known.
func (o *Outlook) Shortest() *OutlookPoint {
	var worst *OutlookPoint
	for i := range o.Points {
		if p := &o.Points[i]; p.SeasonRangeKm != nil && (worst == nil || p.SeasonRangeKm.Value < worst.SeasonRangeKm.Value) {
			worst = p
		}
	}
	return worst
}

// ShortestWords says which time is the shortest and whether that meets a need;
// "" where no range is known. mark stands behind the need, for a picture of it.
func (o *Outlook) ShortestWords(needKm logbook.Num, sys units.System, mark string) string {
	p := o.Shortest()
	if p == nil {
		return ""
	}
	words := "Shortest about " + units.FormatDate(p.Date.Time) + ": " + p.SeasonRangeKm.In(units.Km, sys)
	if needKm.OK {
		met, _ := p.SeasonRangeKm.Meets(needKm.V)
		words += "; the " + units.Format(needKm.V, units.Km, sys) + " that you need" + mark + ": " + met
	}
	return words + "."
}
