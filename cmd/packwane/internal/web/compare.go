package web

import (
	"net/http"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /compare", title: "Compare", menu: menuAnswers, about: "which pack goes farther, at the same conditions", ofPack: true, serve: (*visit).compare})

var compareAsks = []quantityAsk{
	{"speed", "moving speed", typed.AskSpeed, ""}, {"temp", "air and pack", typed.AskAir, ""},
	{"rider", "rider with gear", typed.AskRider, ""}, {"wind", "wind against", typed.AskHeadwind, "along the way"},
	{"tyre", "all tyres at", typed.AskTyre, "else each at its own"},
}

func (v *visit) compare() (reply, error) {
	chosen := v.URL.Query()["pack"]
	l, err := v.load(allPacks)
	if err != nil {
		return nil, err
	}
	inputs, values, ok := v.askedWith(compareAsks)
	d := document{Title: "Compare", Lead: "Each pack with its board, brought to the first one's reference conditions unless you say otherwise.", Up: link{"/more", "More"}}
	known, all, err := v.knownOf(l, chosen)
	if err != nil {
		return nil, err
	}
	var histories []*logbook.History
	for _, k := range known {
		histories = append(histories, k.History)
	}
	board, on := v.boardAsk(histories...)
	if board != nil {
		inputs = append(inputs, board)
	}
	form := asking{Path: "/compare", Picks: picks{Title: "Packs", Name: "pack", Choices: packPicks(l, chosen)}, More: []inputGroup{{Title: "Other conditions", Open: len(values) > 0 || !ok || on != "", Inputs: inputs}}, Button: "Compare"}
	if len(known) < 2 || !ok {
		if len(known) == 1 {
			form.Picks.Error = "Choose one more at least."
		}
		d.Blocks = []block{form}
		out := documentOf("/more", d)
		if !ok {
			out.status = http.StatusBadRequest
		}
		return out, nil
	}
	c := report.ComparePacks(known, report.Overrides{SpeedKmh: values["speed"], TempC: values["temp"], RiderKg: values["rider"], HeadwindKmh: values["wind"], TyreKpa: values["tyre"], Board: on})
	picture, err := draw("Side by side", pictures.Compared(c, v.who.System))
	if err != nil {
		return nil, err
	}
	d.Lead = c.Conditions.Words(v.who.System)
	for _, a := range all {
		d.Grave = append(d.Grave, v.grave(a)...)
	}
	d.Blocks = append([]block{v.verdicts(c), picture}, v.compareFigures(c)...)
	d.Blocks = append(d.Blocks, form)
	return documentOf("/more", d), nil
}

// knownOf fits the packs of these ids, each once, in their order.
func (v *visit) knownOf(l *loaded, ids []string) ([]report.Known, []*answers, error) {
	var known []report.Known
	var all []*answers
	var work []func()
	seen := map[string]bool{}
	for _, id := range ids {
		if seen[id] || id == "" {
			continue
		}
		seen[id] = true
		a, err := v.answers(l, id)
		if err != nil {
			return nil, nil, err
		}
		all, work = append(all, a), append(work, asked(a.fit), asked(a.due))
	}
	together(work...)
	for _, a := range all {
		known = append(known, report.Known{History: a.history, Fit: a.fit()})
	}
	return known, all, nil
}

// verdicts say each pair in a sentence.
func (v *visit) verdicts(c *report.Compare) words {
	name := map[string]string{}
	for _, e := range c.Entries {
		name[e.Pack] = e.Name
	}
	var out words
	for _, p := range c.Pairs {
		out.Text = append(out.Text, p.Words(name[p.A], name[p.B], v.who.System))
	}
	return out
}

func (v *visit) compareFigures(c *report.Compare) []block {
	f := v.figures(c.Warnings)
	var out []block
	for _, e := range c.Entries {
		out = append(out, figureGroup{Title: e.Name, Rows: f.lines(e.Lines())})
	}
	g := figureGroup{Title: "Differences"}
	for _, p := range c.Pairs {
		row := f.of(p.A+" less "+p.B, p.DifferenceKm, units.Km)
		if chance := p.Chance(); chance != "" {
			row.Remark = chance + " % that it goes farther"
		}
		g.Rows = append(g.Rows, row)
	}
	return append(out, g, f.rest())
}
