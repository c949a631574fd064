package web

import (
	"fmt"
	"net/http"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /plan", title: "Plan tests", menu: menuAnswers, about: "how many range tests tell a difference apart", ofPack: true, serve: (*visit).plan})

var planAsks = []quantityAsk{{"difference", "difference to be told apart", typed.AskDifference, ""}}

func (v *visit) plan() (reply, error) {
	chosen := v.URL.Query()["pack"]
	l, err := v.load(allPacks)
	if err != nil {
		return nil, err
	}
	inputs, values, ok := v.askedWith(planAsks)
	paired := v.FormValue("paired") == "yes"
	form := asking{
		Path: "/plan", Picks: picks{Title: "One pack, or two to compare", Name: "pack", Choices: packPicks(l, chosen)}, Inputs: inputs,
		Tick: tick{"paired", "Both on the same outings", paired}, Button: "Plan",
	}
	d := document{Title: "Plan tests", Lead: "How many range tests tell a difference apart, by how the log's own tests scatter once all known conditions are taken off.", Up: link{"/more", "More"}}
	known, all, err := v.knownOf(l, chosen)
	if err != nil {
		return nil, err
	}
	difference := values["difference"]
	if len(known) > 2 {
		form.Picks.Error, ok = "Choose one or two.", false
	}
	if !ok || len(known) == 0 || !difference.OK {
		d.Blocks = []block{form}
		out := documentOf("/more", d)
		if !ok {
			out.status = http.StatusBadRequest
		}
		return out, nil
	}
	p := report.PlanOf(known, difference.V, paired)
	picture, err := draw("How often so many tests find it", pictures.Power(p, v.who.System))
	if err != nil {
		return nil, err
	}
	for _, a := range all {
		d.Grave = append(d.Grave, v.grave(a)...)
		d.Cautions = append(d.Cautions, nameOf(a.history.Pack)+": "+v.limitCaution(a))
	}
	f := v.figures(p.Warnings)
	d.Blocks = []block{words{Text: []string{p.Words(v.who.System)}}, planFigures(f, p), picture, detectable(p, v.who.System), f.rest(), form}
	return documentOf("/more", d), nil
}

func planFigures(f *figures, p *report.Plan) figureGroup {
	scatter := f.of("One test scatters by", p.RepeatabilityKm, units.Km)
	scatter.Remark = p.UsedWords()
	return figureGroup{Title: "From the log", Rows: []*figure{f.of("Range on average", p.RangeKm, units.Km), scatter}}
}

func detectable(p *report.Plan, sys units.System) block {
	t := tableBlock{Caption: "What so many " + p.TestsWord() + " tell apart", Heads: []string{p.TestsWord(), "tells apart", "finds " + units.Format(p.DifferenceKm, units.Km, sys)}}
	for _, x := range p.DetectableKm {
		t.Rows = append(t.Rows, row{Cells: []string{fmt.Sprint(x.Tests), units.Format(report.TwoFigures(x.Km), units.Km, sys), fmt.Sprintf("%.0f %% of the time", p.PowerAt(x.Tests))}})
	}
	if len(t.Rows) == 0 {
		return notes{}
	}
	return t
}
