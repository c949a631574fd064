package web

import (
	"slices"

	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
	"packwane/store"
)

var _ = addPage(page{pattern: "GET /pack", title: "One pack", serve: (*visit).pack})

// packView is the page of one pack.
type packView struct {
	packCard
	ID       string
	AsOf     string
	Grave    []dueLine
	Others   []dueLine
	Monthly  string
	Groups   []figureGroup
	Outlook  tableBlock
	Season   string
	Pictures []pictureBlock
	Latest   []recordLine
	All      string
	Undo     *undoView
	Ask      []link
	Amend    string
	Limit    string
	Notes    notes
	Kinds    []link
}

// latestRecords is how many records the page of a pack shows.
const latestRecords = 8

func (v *visit) pack() (reply, error) {
	id := v.FormValue("id")
	var undo *undoView
	_, a, err := v.one(id)
	if err != nil {
		return nil, err
	}
	if undo, err = v.undoable(); err != nil {
		return nil, err
	}
	together(asked(a.health), asked(a.outlook), asked(a.due), asked(a.course), asked(a.consumption), asked(a.losses))
	p, h := a.history.Pack, a.health()
	data := packView{ID: p.ID, AsOf: v.when(a.history.AsOf), Undo: undo}
	data.packCard = v.card(a, v.roadOf([]*answers{a}))
	for _, d := range data.Due {
		if d.Grave {
			data.Grave = append(data.Grave, d)
		} else {
			data.Others = append(data.Others, d)
		}
	}
	f := v.figures(h.Warnings)
	limit := limitOf(a, v.who.System)
	data.Groups = []figureGroup{rangeGroup(f, p, h, limit.name), stateGroup(f, h), lifeGroup(f, h)}
	data.Limit, data.Notes = limit.caution, f.rest()
	data.Outlook = outlookTable(quarterly(a.outlook()), v.who.System)
	data.Monthly = address("/outlook", "pack", p.ID)
	data.Season = v.seasonWords(a)
	if data.Pictures, err = v.pictures(a); err != nil {
		return nil, err
	}
	data.Latest = v.recordLines(latest(a.history, latestRecords))
	data.All, data.Amend = address("/records", "pack", p.ID), address("/record", "record", "pack", "id", p.ID)
	for _, k := range logKinds {
		if stopped := slices.ContainsFunc(data.Grave, func(d dueLine) bool { return d.action == report.StopRiding }); stopped && (k == logbook.KindRide || k == logbook.KindCharge) {
			continue // the way to log what is past leads through the menu
		}
		data.Kinds = append(data.Kinds, link{address("/log/"+k.String(), "pack", p.ID), "Log a " + k.String()})
	}
	for _, q := range pages {
		if q.ofPack {
			data.Ask = append(data.Ask, link{address(pathOf(q), "pack", p.ID), q.title})
		}
	}
	return view{title: data.Name, tab: "/", layout: "pack", data: data}, nil
}

// quarterly keeps every third point of an outlook, and the last.
func quarterly(o *report.Outlook) *report.Outlook {
	short := *o
	short.Points = nil
	for i, p := range o.Points {
		if i%3 == 0 || i == len(o.Points)-1 {
			short.Points = append(short.Points, p)
		}
	}
	return &short
}

// limit names the limit down to which a range is counted, and says not to ride
// on below it. One that is assumed is never told as one to ride to.
type limit struct{ name, caution string }

func limitOf(a *answers, sys units.System) limit {
	volts := units.Format(a.fit().Reference().LimitV, units.Volt, sys)
	if a.history.Pack.LimitV.OK {
		return limit{volts, "Never ride on below " + volts + " under load."}
	}
	return limit{"an assumed " + volts, "The pack's low-voltage limit is not in the log: find it with its maker, write it down with the pack, and never ride on below it."}
}

func rangeGroup(f *figures, p *logbook.Pack, r *report.Health, limit string) figureGroup {
	g := figureGroup{Title: "From full to " + limit + " under load"}
	codes := []string{"range_unknown", "no_road_rides", "capacity_unknown"}
	g.Rows = append(g.Rows, f.of("Range on average", r.RangeKm, units.Km, codes...), f.of("The next range test", r.NextTestKm, units.Km, codes...))
	if p.NeedRangeKm.OK {
		remark, alarm := need(p.NeedRangeKm.V, r.RangeKm)
		g.Rows = append(g.Rows, f.given("Needed", p.NeedRangeKm.V, units.Km, remark, alarm))
	}
	g.Rows = append(g.Rows, f.of("Consumption", r.ConsumptionWhPerKm, units.WhPerKm, codes...))
	return g
}

func stateGroup(f *figures, r *report.Health) figureGroup {
	return figureGroup{Title: "The pack now", Rows: []*figure{
		f.of("Capacity", r.CapacityAh, units.Ah, "capacity_unknown", "limit_assumed", "chemistry_assumed", "series_unknown", "rating_unknown"),
		f.of("Energy", r.CapacityWh, units.Wh, "capacity_unknown"),
		f.of("State of health", r.SohPct, units.Pct, "capacity_unknown", "as_new_from_rating", "first_year"),
		f.of("Resistance", r.ResistanceMohm, units.Mohm, "resistance_unknown"),
		f.of("Resistance, more than as new", r.ResistanceGrowthPct, units.Pct, "resistance_growth_unknown", "resistance_unknown"),
		f.of("Round trip", r.RoundTripPct, units.Pct, "round_trip_unknown", "capacity_unknown"),
		f.of("Self-discharge", r.SelfDischargePctMonth, units.Pct, "self_discharge_unknown").in("% a month"),
	}}
}

func lifeGroup(f *figures, r *report.Health) figureGroup {
	g := figureGroup{Title: "Its life", Rows: []*figure{
		f.of("Full cycles so far", r.EquivalentFullCycles, units.Count).in("cycles"),
		f.of("Charge taken out", r.CapacityThroughputAh, units.Ah),
		f.of("Energy taken out", r.EnergyThroughputKwh, units.Count).in("kWh"),
	}}
	if r.Fade != nil {
		g.Rows = append(g.Rows, f.of("Lost by cycling", r.Fade.CycleLossPct, units.Pct), f.of("Lost by time", r.Fade.CalendarLossPct, units.Pct))
	}
	if e := r.EndOfLife; e != nil {
		label := "Retire, at " + units.Format(e.SohPct, units.Pct, f.system)
		date := f.date(label, e.Date, "end_of_life_not_in_sight", "end_of_life_may_not_come")
		if e.EquivalentFullCycles == nil {
			date.Value = "not in sight"
			g.Rows = append(g.Rows, date)
			return g
		}
		g.Rows = append(g.Rows, date, f.of(label+", in cycles", e.EquivalentFullCycles, units.Count).in("cycles"))
	}
	return g
}

// outlookTable is a row for each month: the range, or the health where there is
// no range.
func outlookTable(o *report.Outlook, sys units.System) tableBlock {
	t := tableBlock{Caption: "If it is used as lately; with the bounds that hold 90 %"}
	type column struct {
		name string
		unit units.Unit
		of   func(*report.OutlookPoint) *report.Estimate
	}
	columns := []column{
		{"range", units.Km, func(p *report.OutlookPoint) *report.Estimate { return p.RangeKm }},
		{"in the month's weather", units.Km, func(p *report.OutlookPoint) *report.Estimate { return p.SeasonRangeKm }},
		{"health", units.Pct, func(p *report.OutlookPoint) *report.Estimate { return p.SohPct }},
		{"capacity", units.Wh, func(p *report.OutlookPoint) *report.Estimate { return p.CapacityWh }},
		{"resistance", units.Mohm, func(p *report.OutlookPoint) *report.Estimate { return p.ResistanceMohm }},
	}
	first := &o.Points[0]
	var shown []column
	for _, c := range columns {
		if c.of(first) != nil && len(shown) < 2 {
			shown = append(shown, c)
		}
	}
	t.Heads = []string{"month"}
	for _, c := range shown {
		t.Heads = append(t.Heads, c.name+", "+units.Symbol(c.unit, sys))
	}
	for i := range o.Points {
		p := &o.Points[i]
		cells := []string{p.Date.Format("Jan 2006")}
		for _, c := range shown {
			e := c.of(p)
			if e == nil {
				cells = append(cells, unknown)
				continue
			}
			r := rounded(e, c.unit, sys)
			r.Symbol = ""
			cells = append(cells, r.String())
		}
		t.Rows = append(t.Rows, row{Cells: cells})
	}
	if len(shown) == 0 {
		t.Rows = nil
	}
	return t
}

// seasonWords says which month is the shortest, and whether it will do.
func (v *visit) seasonWords(a *answers) string {
	worst := (*report.OutlookPoint)(nil)
	o := a.outlook()
	for i := range o.Points {
		if p := &o.Points[i]; p.SeasonRangeKm != nil && (worst == nil || p.SeasonRangeKm.Value < worst.SeasonRangeKm.Value) {
			worst = p
		}
	}
	if worst == nil {
		return ""
	}
	text := "Shortest about " + worst.Date.Format("2 January 2006") + ": " + interval(worst.SeasonRangeKm, units.Km, v.who.System)
	if n := a.history.Pack.NeedRangeKm; n.OK {
		remark, _ := need(n.V, worst.SeasonRangeKm)
		text += "; the " + units.Format(n.V, units.Km, v.who.System) + " that you need: " + remark
	}
	return text + "."
}

// undoView offers to take back the last change.
type undoView struct {
	Seq  uint64
	What string
	When string
}

// undoable returns the last change, nil where there is none to take back.
func (v *visit) undoable() (*undoView, error) {
	var out *undoView
	err := v.read(func(s *store.Store) error {
		last, ok, err := lastAction(s)
		if ok {
			out = &undoView{Seq: last.Seq, What: actionText(last), When: v.when(last.At)}
		}
		return err
	})
	return out, err
}
