package web

import (
	"bytes"
	"net/url"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/report"
)

var _ = addPage(page{pattern: "GET /report", title: "Report", menu: menuAnswers, about: "a pack, or a comparison, to hand on", ofPack: true, serve: (*visit).report})
var _ = addPage(page{pattern: "GET /report/file", serve: (*visit).reportFile})

// mostReported is how many packs a report takes.
const mostReported = 6

// report shows a report and offers it as a file.
func (v *visit) report() (reply, error) {
	chosen := v.URL.Query()["pack"]
	l, err := v.load(allPacks)
	if err != nil {
		return nil, err
	}
	form := asking{Path: "/report", Picks: picks{Title: "One pack, or several with their comparison", Name: "pack", Choices: packPicks(l, chosen)}, Button: "Make the report"}
	d := document{Title: "Report", Lead: "The conditions, the figures with their bounds, what was corrected and by how much, and the tests as logged.", Up: link{"/more", "More"}}
	known, all, err := v.knownOf(l, chosen)
	if err != nil {
		return nil, err
	}
	if len(known) > mostReported {
		form.Picks.Error = "Choose six at most."
	}
	if len(known) == 0 || len(known) > mostReported {
		d.Blocks = []block{form}
		return documentOf("/more", d), nil
	}
	doc := report.DocumentOf(known, v.who.System)
	d.Title, d.Lead = doc.Title, doc.Lead
	for _, a := range all {
		d.Grave = append(d.Grave, v.grave(a)...)
	}
	for _, p := range doc.Parts {
		blocks, err := v.part(p, known, all)
		if err != nil {
			return nil, err
		}
		d.Blocks = append(d.Blocks, blocks...)
	}
	file := "/report/file?" + url.Values{"pack": chosen}.Encode()
	d.Blocks = append(d.Blocks, words{
		Title: "As a file", Text: []string{"It holds the names, dates and notes of the log: read it before you publish it."},
		Links: []link{{file, "One page, with its pictures"}, {file + "&as=markdown", "Markdown"}},
	}, form)
	return documentOf("/more", d), nil
}

// part makes a part of a report into blocks.
func (v *visit) part(p report.Part, known []report.Known, all []*answers) ([]block, error) {
	out := []block{words{Title: p.Title, Text: p.Words}}
	if len(p.Rows) > 0 {
		t := tableBlock{Caption: p.Title, Quiet: true, Heads: p.Heads}
		for _, cells := range p.Rows {
			t.Rows = append(t.Rows, row{Cells: cells})
		}
		if joinedBy("", p.Heads...) == "" {
			t.Heads = nil
		}
		out = append(out, t)
	}
	for _, kind := range p.Pictures {
		picture, title := v.partPicture(kind, p.Pack, known, all)
		if picture == nil {
			continue
		}
		drawn, err := draw(title, picture)
		if err != nil {
			return nil, err
		}
		out = append(out, drawn)
	}
	return out, nil
}

// partPicture is a picture that a report names; nil where the pack has none
// such.
func (v *visit) partPicture(kind, pack string, known []report.Known, all []*answers) (charts.Picture, string) {
	if kind == pictures.Comparison {
		return pictures.Compared(report.ComparePacks(known, report.Overrides{}), v.who.System), "Side by side"
	}
	for _, a := range all {
		if a.history.Pack.ID == pack {
			return v.picturesOf(a).Shown(kind), pictures.Title(kind) + ", " + nameOf(a.history.Pack)
		}
	}
	return nil, ""
}

// reportFile is a report to save.
func (v *visit) reportFile() (reply, error) {
	l, err := v.load(allPacks)
	if err != nil {
		return nil, err
	}
	known, _, err := v.knownOf(l, v.URL.Query()["pack"])
	if err != nil {
		return nil, err
	}
	if len(known) == 0 || len(known) > mostReported {
		return nil, wrong("Want one to six packs.")
	}
	markdown := v.FormValue("as") == "markdown"
	var b bytes.Buffer
	if err := v.s.Desk.Report(&b, known, v.who.System, v.now.Location(), markdown); err != nil {
		return nil, err
	}
	if markdown {
		return file{kind: "text/markdown; charset=utf-8", body: b.Bytes(), name: "packwane-report.md"}, nil
	}
	return file{kind: "text/html; charset=utf-8", body: b.Bytes(), name: "packwane-report.html"}, nil
}
