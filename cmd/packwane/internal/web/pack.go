package web

import (
	"slices"

	"packwane/health/logbook"
	"packwane/health/prose"
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
	f := v.figures(report.WithoutBars(h.Warnings))
	data.Groups = []figureGroup{rangeGroup(f, p, h, v.limitName(a)), {Title: "The pack now", Rows: f.lines(h.PackLines())}, lifeGroup(f, h)}
	data.Limit, data.Notes = v.limitCaution(a), f.rest()
	data.Outlook = outlookTable(a.outlook().Every(report.Quarter), v.who.System)
	data.Monthly = address("/outlook", "pack", p.ID)
	data.Season = v.seasonWords(a)
	if data.Pictures, err = v.pictures(a); err != nil {
		return nil, err
	}
	data.Latest = v.recordLines(latest(a.history, latestRecords))
	data.All, data.Amend = address("/records", "pack", p.ID), address("/record", "record", "pack", "id", p.ID)
	for _, k := range logKinds {
		if slices.ContainsFunc(h.Warnings, report.Warning.Bars) && (k == logbook.KindRide || k == logbook.KindCharge) {
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

// limitCaution says not to ride on below the limit of a pack.
func (v *visit) limitCaution(a *answers) string {
	return report.LimitOf(a.history, a.fit()).Caution(v.who.System, "write it down with the pack")
}

// limitName names the limit of a pack.
func (v *visit) limitName(a *answers) string {
	return report.LimitOf(a.history, a.fit()).Name(v.who.System)
}

func rangeGroup(f *figures, p *logbook.Pack, r *report.Health, limit string) figureGroup {
	g := figureGroup{Title: "From full to " + limit + " under load", Rows: f.lines(r.RangeLines())}
	if p.NeedRangeKm.OK {
		met, missed := r.RangeKm.Meets(p.NeedRangeKm.V)
		needed := f.given(report.Given{Label: "Needed", Value: p.NeedRangeKm.V, Unit: units.Km, Remark: met, Alarm: missed})
		g.Rows = slices.Insert(g.Rows, len(g.Rows)-1, needed) // before the consumption
	}
	return g
}

func lifeGroup(f *figures, r *report.Health) figureGroup {
	g := figureGroup{Title: "Its life", Rows: f.lines(r.LifeLines())}
	if e := r.EndOfLife; e != nil {
		label := prose.Capital(e.Label(f.system))
		date := shown(label, e.Rounded())
		date.Why = f.beside.Beside(e.Why()...)
		g.Rows = append(g.Rows, date)
		if e.EquivalentFullCycles != nil {
			g.Rows = append(g.Rows, f.lines([]report.Line{{Label: label + ", in cycles", Estimate: e.EquivalentFullCycles, Unit: units.Count, Per: "cycles"}})...)
		}
	}
	return g
}

// outlookTable is a row for each month: the range, or the health where there is
// no range.
func outlookTable(o *report.Outlook, sys units.System) tableBlock {
	t := tableBlock{Caption: "If it is used as lately; with the bounds that hold 90 %"}
	first := &o.Points[0]
	var shown []report.OutlookFigure
	for _, c := range report.OutlookFigures() {
		if c.Of(first) != nil && len(shown) < 2 {
			shown = append(shown, c)
		}
	}
	t.Heads = []string{"month"}
	for _, c := range shown {
		name := c.Name
		if name == "season" {
			name = "in the month's weather"
		}
		t.Heads = append(t.Heads, name+", "+units.Symbol(c.Unit, sys))
	}
	for i := range o.Points {
		p := &o.Points[i]
		cells := []string{p.Date.Format("Jan 2006")}
		for _, c := range shown {
			r := c.Of(p).Rounded(c.Unit, sys)
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
	return a.outlook().ShortestWords(a.history.Pack.NeedRangeKm, v.who.System, "")
}

// undoView offers to take back the last change.
type undoView struct {
	Seq  uint64
	What string
	When string
}

// undoable returns the last change, nil where there is none to take back.
func (v *visit) undoable() (out *undoView, err error) {
	err = v.read(func(s *store.Store) (err error) {
		out, err = v.undoIn(s)
		return err
	})
	return out, err
}

// undoIn is undoable in a store that is open.
func (v *visit) undoIn(s *store.Store) (*undoView, error) {
	last, ok, err := lastAction(s)
	if !ok || err != nil {
		return nil, err
	}
	return &undoView{Seq: last.Seq, What: last.Words(), When: v.when(last.At)}, nil
}
