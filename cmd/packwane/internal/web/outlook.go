package web

import (
	"slices"
	"strings"
)

var _ = addPage(page{pattern: "GET /outlook", title: "Outlook", menu: menuAnswers, about: "range and health month by month, if it is used as lately", ofPack: true, serve: (*visit).outlook})

func (v *visit) outlook() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	together(asked(a.outlook), asked(a.due))
	d := v.documentAbout(l, a, "Outlook")
	d.Lead += " If it is used as lately: at reference conditions, and in the usual weather of the month."
	d.Cautions = []string{v.limitCaution(a)}
	table := outlookTable(a.outlook(), v.who.System)
	table.Note = v.seasonWords(a)
	f := v.figures(a.outlook().Warnings)
	if len(table.Rows) == 0 {
		d.Blocks = []block{words{Text: []string{"Unknown: the log does not tell yet."}}, f.rest()}
		return documentOf("/more", d), nil
	}
	d.Blocks = []block{table, f.rest()}
	return documentOf("/more", d), nil
}

// answersFor loads the pack of that id, or the one that is meant where it is
// "", with what answers about it; all nil where there is no pack.
func (v *visit) answersFor(id string) (*loaded, *answers, error) {
	l, p, err := v.meant(id)
	if p == nil || err != nil {
		return l, nil, err
	}
	a, err := v.answers(l, p.ID)
	return l, a, err
}

func (v *visit) noPack() reply { return view{title: "No pack yet", tab: "/more", layout: "nopack"} }

// documentAbout begins a document about one pack, with what speaks against
// riding it.
func (v *visit) documentAbout(l *loaded, a *answers, title string) document {
	p := a.history.Pack
	d := document{Packs: packChoices(l, p.ID, v.URL.Path), Title: titled(title, nameOf(p)), Lead: "As of " + v.when(a.history.AsOf) + ".", Up: link{address("/pack", "id", p.ID), nameOf(p)}}
	d.Grave = v.grave(a)
	return d
}

// titled joins a title and a name.
func titled(title, name string) string {
	if strings.HasSuffix(title, "?") {
		return title + " " + name
	}
	return title + ": " + name
}

// grave are the reminders that no page about riding may leave out.
func (v *visit) grave(a *answers) []dueLine {
	return slices.DeleteFunc(v.dueLines(a), func(d dueLine) bool { return !d.Grave })
}
