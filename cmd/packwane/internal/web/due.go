package web

import (
	"time"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /due", title: "Due", serve: (*visit).due})

// dueLine is one reminder as a page shows it. Its word and its sign say what it
// asks for; the colour only repeats them.
type dueLine struct {
	Word, Sign string
	Grave      bool // it speaks against riding on
	Overdue    bool
	When       string
	Subject    string
	Path       string // of the pack
	Because    string
	Do, Ends   string
	Source     string
	Records    []link
	Rule       string
	Pack       string
	Board      string
	action     report.Action
}

var actionSigns = map[report.Action]string{
	report.StopRiding: "stop", report.Retire: "retire", report.Inspect: "look", report.Service: "tool", report.Retest: "road",
}

// dueLines are the reminders of one pack, the weightiest first.
func (v *visit) dueLines(a *answers) []dueLine {
	var out []dueLine
	if by := a.history.Retired(); by != nil {
		out = append(out, dueLine{
			Word: "Retired", Sign: actionSigns[report.Retire], Grave: true, Subject: nameOf(a.history.Pack), Path: address("/pack", "id", a.history.Pack.ID), Pack: a.history.Pack.ID,
			Because: prose.Sentence(report.RetiredWords(a.history, by.At)), Records: []link{{recordPath(by), by.ID}},
		})
	}
	for _, r := range a.due() {
		out = append(out, v.dueLine(a.history, r))
	}
	return out
}

// dueLine shows a reminder of the pack of a history.
func (v *visit) dueLine(h *logbook.History, r report.Reminder) dueLine {
	d := dueLine{
		Word: r.Action.Title(), Sign: actionSigns[r.Action], action: r.Action, Overdue: r.Overdue(), Grave: r.Grave(h.AsOf),
		Subject: nameOf(h.Pack), Path: address("/pack", "id", r.Pack), Pack: r.Pack, Board: r.Board,
		When: "due " + units.FormatDate(r.Due.Time), Because: prose.Sentence(r.BecauseIn(v.who.System)), Do: r.Do, Ends: prose.Sentence("Goes away with " + r.Ends), Source: r.Source, Rule: r.Rule,
	}
	if r.Action == report.StopRiding {
		d.When = "now"
	} else if r.OverdueDays > 0 {
		d.When += ", " + prose.Plural(r.OverdueDays, "day") + " overdue"
	}
	if r.Board != "" {
		d.Subject = r.Board
		if b := h.Boards[r.Board]; b != nil {
			d.Subject = nameOf(b)
		}
	}
	for _, id := range r.Evidence.Records {
		d.Records = append(d.Records, link{address("/record", "id", id), id})
	}
	return d
}

// dueView is what is due of all packs.
type dueView struct {
	Grave, Now, Later []dueLine
	Packs             int
	Feed              string
}

func (v *visit) due() (reply, error) {
	l, all, err := v.everyPack(func(a *answers) []func() { return []func(){asked(a.due)} })
	if err != nil {
		return nil, err
	}
	data := dueView{Packs: len(l.packs)}
	if data.Feed, err = v.feedAddress(); err != nil {
		return nil, err
	}
	var each [][]report.Reminder
	histories := map[string]*logbook.History{}
	for _, a := range all {
		each = append(each, a.due())
		histories[a.history.Pack.ID] = a.history
	}
	for _, r := range report.JoinReminders(each) {
		d := v.dueLine(histories[r.Pack], r)
		switch {
		case d.Grave:
			data.Grave = append(data.Grave, d)
		case r.Due.String() <= v.now.Format(time.DateOnly):
			data.Now = append(data.Now, d)
		default:
			data.Later = append(data.Later, d)
		}
	}
	return view{title: "Due", tab: "/due", layout: "due", data: data}, nil
}
