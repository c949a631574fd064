package web

import (
	"strings"

	"packwane/health/prose"
	"packwane/health/report"
)

var _ = addPage(page{pattern: "GET /audit", title: "Audit", menu: menuLog, about: "records that do not fit the rest, and the likely slip", serve: (*visit).audit})

// auditView is what does not fit, pack by pack.
type auditView struct {
	Packs []auditPart
	Total int
}

type auditPart struct {
	Name, Path string
	Findings   []findingLine
}

type findingLine struct {
	report.Finding
	Path, Word, Advice string
	Amend, Of          string // a link to amend a record, and what it is called
}

func (v *visit) audit() (reply, error) {
	_, all, err := v.everyPack(func(a *answers) []func() { return []func(){asked(a.audit)} })
	if err != nil {
		return nil, err
	}
	var each [][]report.Finding
	for _, a := range all {
		each = append(each, a.audit())
	}
	found := report.JoinFindings(each)
	codes, data := report.AuditCodes(), auditView{Total: len(found)}
	for _, a := range all {
		part := auditPart{Name: nameOf(a.history.Pack), Path: address("/pack", "id", a.history.Pack.ID)}
		for _, f := range found {
			if f.Pack == a.history.Pack.ID {
				part.Findings = append(part.Findings, v.findingLine(f, codes))
			}
		}
		data.Packs = append(data.Packs, part)
	}
	return view{title: "Audit", tab: "/more", layout: "audit", data: data}, nil
}

// findingLine shows a finding. What is said by a command is done by a link.
func (v *visit) findingLine(f report.Finding, codes map[string]string) findingLine {
	word := codes[f.Code]
	if word == "" {
		word = prose.Spaced(f.Code)
	}
	f.Text = f.TextIn(v.who.System)
	line := findingLine{Finding: f, Path: address("/record", "id", f.Record), Word: prose.Sentence(word)}
	advice, call := f.AdviceIn(v.who.System)
	if advice = strings.TrimRight(advice, ":;,"); advice != "if so" {
		line.Advice = prose.Sentence(advice)
	}
	if words := strings.Fields(call); len(words) > 1 && words[0] == "amend" {
		line.Amend, line.Of = address("/amend", "id", words[1]), "it"
		if words[1] != f.Record {
			line.Of = words[1]
		}
	}
	return line
}
