package web

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /{$}", title: "Packs", serve: (*visit).home})

// packsView is the first page: every pack by its kilometres.
type packsView struct {
	Packs  []packCard
	Legend string
	Empty  bool // no board, no pack
	Bare   bool // boards and no pack
}

// packCard is one pack on it.
type packCard struct {
	Name, Path, About string
	Log               link // what to log next
	Now, Later        *figure
	Ruler             *ruler
	Due               []dueLine
	rangeKm           float64
}

func (v *visit) home() (reply, error) {
	l, all, err := v.everyPack(func(a *answers) []func() { return []func(){asked(a.health), asked(a.outlook), asked(a.due)} })
	if err != nil {
		return nil, err
	}
	data := packsView{Empty: len(l.packs)+len(l.boards) == 0, Bare: len(l.packs) == 0}
	scale := v.roadOf(all)
	for _, a := range all {
		c := v.card(a, scale)
		data.Packs = append(data.Packs, c)
		if c.Ruler != nil && (data.Legend == "" || c.Ruler.Need != nil) {
			data.Legend = c.Ruler.Legend()
		}
	}
	slices.SortStableFunc(data.Packs, func(a, b packCard) int {
		return cmp.Or(cmp.Compare(b.rangeKm, a.rangeKm), cmp.Compare(a.Name, b.Name))
	})
	return view{title: "Packs", tab: "/", layout: "home", data: data}, nil
}

// roadOf is the road on which all packs are shown.
func (v *visit) roadOf(all []*answers) road {
	var km []float64
	for _, a := range all {
		last := a.outlook().Points[len(a.outlook().Points)-1]
		for _, e := range []*report.Estimate{a.health().RangeKm, last.RangeKm} {
			if e != nil {
				_, high := e.Span()
				km = append(km, high)
			}
		}
		if need := a.history.Pack.NeedRangeKm; need.OK {
			km = append(km, need.V)
		}
	}
	return roadFor(v.who.System, km...)
}

func (v *visit) card(a *answers, scale road) packCard {
	p, h := a.history.Pack, a.health()
	last := &a.outlook().Points[len(a.outlook().Points)-1]
	f := v.figures(report.WithoutBars(h.Warnings))
	c := packCard{
		Name: nameOf(p), Path: address("/pack", "id", p.ID), Log: link{address("/log/ride", "pack", p.ID), "Log a ride"}, About: packWords(a.history),
		Due: v.dueLines(a), rangeKm: math.Inf(-1),
	}
	switch {
	case a.history.Retired() != nil:
		c.Log = link{address("/records", "pack", p.ID), "Its records"}
	case slices.ContainsFunc(h.Warnings, report.Warning.Bars):
		c.Log = link{address("/log/service", "pack", p.ID, "kind", "inspection"), "Log an inspection"}
	}
	switch {
	case h.RangeKm != nil:
		c.rangeKm = h.RangeKm.Value
		c.Now, c.Later = f.of("now", h.RangeKm, units.Km), f.of("in a year", last.RangeKm, units.Km)
	case h.CapacityWh != nil:
		c.Now, c.Later = f.of("now", h.CapacityWh, units.Wh, "no_road_rides", "range_unknown"), f.of("in a year", last.CapacityWh, units.Wh)
	default:
		c.Now = f.of("now", nil, units.Km, "no_records", "capacity_unknown", "range_unknown", "no_road_rides")
	}
	c.Ruler = scale.ruler(p.NeedRangeKm.Or(0), h.RangeKm, last.RangeKm)
	return c
}

// packWords says what a pack is and what the log holds of it.
func packWords(h *logbook.History) string {
	parts := typed.PackParts(h)
	if h.Pack.Name != "" { // else the heading says its id
		parts = append([]string{h.Pack.ID}, parts...)
	}
	return strings.Join(parts, " · ")
}
