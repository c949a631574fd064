package web

import (
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /sheet", title: "Today's test sheet", menu: menuAnswers, about: "what to set and write down for a range test", ofPack: true, serve: (*visit).sheet})

// sheet is what a range test needs today, to print.
func (v *visit) sheet() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	s := report.TestSheetOf(a.history, a.fit())
	d := v.documentAbout(l, a, "Today's test sheet")
	d.Cautions = s.Cautions
	f := v.figures(report.WithoutBars(s.Warnings)) // said above all else
	if s.ExpectedKm != nil {
		rows := []*figure{f.of("to expect, at "+report.Degrees(s.AirC, v.who.System)+" without wind", s.ExpectedKm, units.Km)}
		if s.TurnBackKm != nil {
			rows = append(rows, f.given(report.Given{Label: "out and back from full, turn after", Value: report.KeptKm(*s.TurnBackKm, v.who.System), Unit: units.Km}))
		}
		if s.TurnBackV != nil {
			rows = append(rows, f.given(report.Given{Label: "or at rest volts of, whichever comes first", Value: report.KeptV(*s.TurnBackV), Unit: units.Volt}))
		}
		d.Blocks = append(d.Blocks, bigs{rows})
	}
	if len(s.Set) > 0 { // a pack that must not be ridden has no test
		d.Blocks = append(d.Blocks, list{Title: "Set", Lines: v.sheetLines(s.Set)}, list{Title: "Write down", Lines: toWrite(s.Record), Blank: true})
	}
	if len(s.Weak) > 0 {
		d.Blocks = append(d.Blocks, list{Title: "What this log lacks most", Lines: v.sheetLines(s.Weak)})
	}
	d.Blocks = append(d.Blocks, f.rest())
	return documentOf("/more", d), nil
}

// toWrite names what is to be written down in words, and behind them the fields
// that it goes into.
func toWrite(in []report.SheetLine) []typed.Line {
	var out []typed.Line
	for _, l := range in {
		out = append(out, typed.Line{Label: prose.Capital(l.Text), Text: l.What})
	}
	return out
}

func (v *visit) sheetLines(in []report.SheetLine) []typed.Line {
	var out []typed.Line
	for _, l := range in {
		out = append(out, typed.Line{Label: prose.Capital(l.What), Text: l.Words(v.who.System)})
	}
	return out
}
