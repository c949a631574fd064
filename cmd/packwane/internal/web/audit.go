package web

import (
	"strings"

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
	Path, Word, Advice, Amend string
}

func (v *visit) audit() (reply, error) {
	_, all, err := v.everyPack(func(a *answers) []func() { return []func(){asked(a.audit)} })
	if err != nil {
		return nil, err
	}
	var data auditView
	codes := report.AuditCodes()
	told := map[[3]string]bool{} // of a board that packs share, once
	for _, a := range all {
		part := auditPart{Name: nameOf(a.history.Pack), Path: address("/pack", "id", a.history.Pack.ID)}
		for _, f := range a.audit() {
			if key := [3]string{f.Record, f.Field, f.Code}; !told[key] {
				told[key] = true
				word := codes[f.Code]
				if word == "" {
					word = spaced(f.Code)
				}
				f.Text = f.TextIn(v.who.System)
				line := findingLine{Finding: f, Path: address("/record", "id", f.Record), Word: sentence(word)}
				// what is said by a command is done by a link
				advice, call, _ := strings.Cut(f.SuggestionIn(v.who.System), "packwane ")
				if advice = strings.TrimRight(strings.TrimSpace(advice), ":;,"); advice != "if so" {
					line.Advice = sentence(advice)
				}
				if strings.HasPrefix(call, "amend ") {
					line.Amend = address("/amend", "id", f.Record)
				}
				part.Findings = append(part.Findings, line)
			}
		}
		data.Total += len(part.Findings)
		data.Packs = append(data.Packs, part)
	}
	return view{title: "Audit", tab: "/more", layout: "audit", data: data}, nil
}
