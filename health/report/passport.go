package report

import (
	"fmt"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// Document is a report to publish or to hand to a buyer: parts of words,
// tables and pictures, in the reader's units.
type Document struct {
	Title string
	Lead  string
	Parts []Part
}

// Part is one section of a document. Pictures names pictures for the renderer
// to put behind the words, by the kinds it knows.
type Part struct {
	Title    string
	Words    []string
	Heads    []string
	Rows     [][]string
	Pictures []string
	Pack     string // whose pictures they are; "" for those of a comparison
}

// writer writes figures in one rider's units.
type writer struct{ sys units.System }

func (w writer) estimate(e *Estimate, u units.Unit) (value, bounds string) {
	r := e.Rounded(u, w.sys)
	bounds = r.Between()
	r.Low, r.High = "", ""
	return r.String(), bounds
}

func (w writer) num(n logbook.Num, u units.Unit) string {
	if !n.OK {
		return ""
	}
	return units.Format(n.V, u, w.sys)
}

// row is a figure with its bounds.
func (w writer) row(label string, e *Estimate, u units.Unit, unit string) []string {
	value, bounds := w.estimate(e, u)
	if e != nil && unit != "" {
		value += " " + unit
	}
	return []string{label, value, bounds}
}

// DocumentOf makes the report of one pack, or, of several, their comparison
// and then each.
func DocumentOf(packs []Known, sys units.System) *Document {
	w := writer{sys}
	first := packs[0].History
	d := &Document{Title: nameOf(first.Pack)}
	if len(packs) > 1 {
		names := ""
		for i, k := range packs {
			if i > 0 {
				names += " and "
			}
			names += nameOf(k.History.Pack)
		}
		d.Title = names
		d.Parts = append(d.Parts, w.comparison(packs))
	}
	d.Lead = "As of " + units.FormatDate(first.AsOf) + ". Every figure is the middle of what the log leaves believable, with the bounds that hold 90 % of it. Measurements are brought to the stated conditions by one model of pack, board and rider; what was measured stands below as it was logged."
	for _, k := range packs {
		d.Parts = append(d.Parts, w.pack(k, len(packs) > 1)...)
	}
	d.Parts = append(d.Parts, Part{Title: "Cautions", Words: []string{
		"Never ride on below the low-voltage limit. " + BelowLimit,
		"A pack that was knocked, wet, hot, swollen or smells is not to be ridden, charged or opened; leave it to trained people under your local codes. A used pack is to be inspected by one before it changes hands. Charge and store it away from what burns.",
	}})
	return d
}

func (w writer) comparison(packs []Known) Part {
	c := ComparePacks(packs, Overrides{})
	p := Part{Title: "Side by side", Pictures: []string{"compare"}, Heads: []string{"", "range", "90 %", "capacity", "consumption"}}
	k := c.Conditions
	p.Words = append(p.Words, fmt.Sprintf("Brought to %s, %s, a rider of %s with gear and no wind, each board at its own tyre pressure.", units.Format(k.SpeedKmh, units.Kmh, w.sys), units.Format(k.TempC, units.Celsius, w.sys), units.Format(k.RiderKg, units.Kg, w.sys)))
	for _, e := range c.Entries {
		km, bounds := w.estimate(e.RangeKm, units.Km)
		wh, _ := w.estimate(e.CapacityWh, units.Wh)
		per, _ := w.estimate(e.ConsumptionWhPerKm, units.WhPerKm)
		p.Rows = append(p.Rows, []string{e.Name, km, bounds, wh, per})
	}
	for _, pair := range c.Pairs {
		value, bounds := w.estimate(pair.DifferenceKm, units.Km)
		p.Rows = append(p.Rows, []string{pair.A + " less " + pair.B, value, bounds, "", ""})
		if pair.Verdict == VerdictAlike {
			p.Words = append(p.Words, pair.A+" and "+pair.B+" cannot be told apart.")
		}
	}
	for _, warning := range c.Warnings {
		p.Words = append(p.Words, warning.TextIn(w.sys)+".")
	}
	return p
}

// pack lists the parts about one pack.
func (w writer) pack(k Known, several bool) []Part {
	h, fit := k.History, k.Fit
	health := HealthOf(h, fit)
	head := ""
	if several {
		head = nameOf(h.Pack) + ": "
	}
	figures := Part{Title: head + "what it is now", Heads: []string{"", "value", "90 %"}, Pictures: []string{"range", "capacity", "resistance", "consumption", "round-trip", "standby"}, Pack: h.Pack.ID}
	figures.Rows = [][]string{
		w.row("range, on average", health.RangeKm, units.Km, ""), w.row("the next range test", health.NextTestKm, units.Km, ""), w.row("consumption", health.ConsumptionWhPerKm, units.WhPerKm, ""),
		w.row("capacity", health.CapacityAh, units.Ah, ""), w.row("capacity in energy", health.CapacityWh, units.Wh, ""), w.row("state of health", health.SohPct, units.Pct, ""),
		w.row("resistance", health.ResistanceMohm, units.Mohm, ""), w.row("resistance over as new", health.ResistanceGrowthPct, units.Pct, ""),
	}
	for _, warning := range WithoutBars(health.Warnings) {
		figures.Words = append(figures.Words, prose.Capital(prose.Spaced(warning.Code))+": "+warning.TextIn(w.sys)+".")
	}
	var stand []string
	if at := h.RetiredAt(); !at.IsZero() {
		stand = append(stand, prose.Sentence(RetiredWords(h, at)))
	}
	for _, r := range DueOf(h, fit, h.AsOf) {
		if !r.Due.After(h.AsOf) {
			stand = append(stand, prose.Capital(prose.Spaced(string(r.Action)))+": "+r.BecauseIn(w.sys)+".")
		}
	}
	out := []Part{w.conditions(head, k), figures}
	if len(stand) > 0 {
		out = append(out, Part{Title: head + "what is due", Words: stand})
	}
	out = append(out, w.passport(head, k, health), w.tests(head, k))
	for i := range out {
		out[i].Title = prose.Capital(out[i].Title)
	}
	return out
}

// conditions are those for which the figures hold.
func (w writer) conditions(head string, k Known) Part {
	h, ref := k.History, k.Fit.Reference()
	p := Part{Title: head + "conditions", Heads: []string{"", ""}}
	add := func(label, value string) {
		if value != "" {
			p.Rows = append(p.Rows, []string{label, value})
		}
	}
	pack := h.Pack
	add("pack", pack.ID)
	add("chemistry", pack.Chemistry)
	add("cells", pack.CellModel)
	if pack.Series.OK && pack.Parallel.OK {
		add("build", logbook.FormatNumber(pack.Series.V)+" in series, "+logbook.FormatNumber(pack.Parallel.V)+" in parallel")
	}
	if pack.Board != "" {
		b := h.BoardAt(pack.Board, h.AsOf)
		board := b.ID
		if b.MassKg.OK {
			board += ", " + w.num(b.MassKg, units.Kg) + " ready to ride"
		}
		add("board", board)
		add("tyre", w.num(b.RefTyreKpa, units.Kpa))
	}
	add("air and pack", units.Format(ref.AirC, units.Celsius, w.sys))
	if k.Fit.Bench() {
		add("discharged at", units.Format(ref.AmpereBench, units.Ampere, w.sys))
	} else {
		add("speed", units.Format(ref.SpeedKmh, units.Kmh, w.sys))
		add("rider with gear", units.Format(k.Fit.ReferenceRiderKg(), units.Kg, w.sys))
		add("route", pack.RefRoute)
		add("wind and climb", "none")
	}
	add("from", "full, when the charger has finished")
	add("to", units.Format(ref.LimitV, units.Volt, w.sys)+" under load")
	return p
}
