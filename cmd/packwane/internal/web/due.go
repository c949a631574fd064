package web

import (
	"cmp"
	"slices"
	"strings"

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
	day        string
}

var actionWords = map[report.Action]string{
	report.StopRiding: "Stop riding", report.Retire: "Retire", report.Inspect: "Inspect", report.Service: "Service", report.Retest: "Retest",
}

var actionSigns = map[report.Action]string{
	report.StopRiding: "stop", report.Retire: "retire", report.Inspect: "look", report.Service: "tool", report.Retest: "road",
}

// dueLines are the reminders of one pack, the weightiest first.
func (v *visit) dueLines(a *answers) []dueLine {
	var out []dueLine
	for _, r := range a.due() {
		past := !r.Due.After(a.history.AsOf)
		d := dueLine{
			Word: actionWords[r.Action], Sign: actionSigns[r.Action], action: r.Action, Overdue: r.Overdue(),
			Grave:   r.Action == report.StopRiding || past && (r.Action == report.Retire || r.Action == report.Inspect),
			Subject: nameOf(a.history.Pack), Path: address("/pack", "id", r.Pack), Pack: r.Pack, Board: r.Board,
			When: "due " + units.FormatDate(r.Due.Time), Because: sentence(r.BecauseIn(v.who.System)), Do: r.Do, Ends: sentence("Goes away with " + r.Ends), Source: r.Source, Rule: r.Rule,
			day: r.Due.String(),
		}
		if r.Action == report.StopRiding {
			d.When = "now"
		} else if r.OverdueDays > 0 {
			d.When += ", " + plural(r.OverdueDays, "day") + " overdue"
		}
		if r.Board != "" {
			d.Subject = r.Board
			if b := a.history.Boards[r.Board]; b != nil {
				d.Subject = nameOf(b)
			}
		}
		for _, id := range r.Evidence.Records {
			d.Records = append(d.Records, link{address("/record", "id", id), id})
		}
		out = append(out, d)
	}
	return out
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
	told := map[string]bool{}
	for _, a := range all {
		for i, d := range v.dueLines(a) {
			if uid := a.due()[i].UID; told[uid] { // of a board that two packs are ridden on
				continue
			} else {
				told[uid] = true
			}
			switch {
			case d.Grave:
				data.Grave = append(data.Grave, d)
			case d.day <= v.now.Format("2006-01-02"):
				data.Now = append(data.Now, d)
			default:
				data.Later = append(data.Later, d)
			}
		}
	}
	for _, list := range [][]dueLine{data.Grave, data.Now, data.Later} {
		slices.SortStableFunc(list, func(a, b dueLine) int {
			return cmp.Or(cmp.Compare(weight[a.action], weight[b.action]), strings.Compare(a.day, b.day))
		})
	}
	return view{title: "Due", tab: "/due", layout: "due", data: data}, nil
}

var weight = map[report.Action]int{report.StopRiding: 0, report.Retire: 1, report.Inspect: 2, report.Service: 3, report.Retest: 4}
