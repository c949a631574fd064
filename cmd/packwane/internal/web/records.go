package web

import (
	"slices"
	"strconv"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
)

var _ = addPage(page{pattern: "GET /records", title: "All records", menu: menuLog, about: "everything that was logged, of one pack", ofPack: true, serve: (*visit).records})

// recordLine is one record in a list.
type recordLine struct {
	Path, When, Kind, What string
}

func (v *visit) recordLines(rs []logbook.Record) []recordLine {
	out := make([]recordLine, len(rs))
	for i, r := range rs {
		out[i] = recordLine{Path: recordPath(r), When: v.when(logbook.AtOf(r)), Kind: r.Kind().String(), What: typed.Summary(r, v.who)}
	}
	return out
}

func recordPath(r logbook.Record) string {
	return address("/record", "record", r.Kind().String(), "id", logbook.HeadOf(r).ID)
}

// latest returns the last n records of a pack, the last first.
func latest(h *logbook.History, n int) []logbook.Record {
	all := ownRecords(h, 0)
	return all[:min(n, len(all))]
}

// ownRecords lists what was logged of a pack and its boards, of one kind or of
// all (0), the last first.
func ownRecords(h *logbook.History, kind logbook.Kind) []logbook.Record {
	var out []logbook.Record
	for _, r := range slices.Backward(h.Records()) {
		if k := r.Kind(); k != logbook.KindPack && k != logbook.KindBoard && (kind == 0 || k == kind) {
			out = append(out, r)
		}
	}
	return out
}

// recordsView lists the records of one pack.
type recordsView struct {
	ID, Name string
	Packs    []choice
	Kinds    []choice
	Lines    []recordLine
	From, To int
	Total    int
	Newer    string
	Older    string
	Note     string
}

// choice is one of several, as an option or a link.
type choice struct {
	Value, Text, Path string
	Here              bool
}

const recordsAPage = 50

func (v *visit) records() (reply, error) {
	l, p, err := v.meant(v.FormValue("pack"))
	if err != nil {
		return nil, err
	}
	if p == nil {
		return redirect("/"), nil
	}
	h, err := logbook.NewHistory(p.ID, l.records[p.ID], logbook.FarAhead)
	if err != nil {
		return nil, err
	}
	kind, _ := logbook.KindOf(v.FormValue("kind"))
	data := recordsView{ID: p.ID, Name: nameOf(p), Packs: packChoices(l, p.ID, "/records")}
	data.Kinds = []choice{{Text: "all", Path: address("/records", "pack", p.ID), Here: kind == 0}}
	for _, k := range logKinds {
		data.Kinds = append(data.Kinds, choice{Text: k.String() + "s", Path: address("/records", "pack", p.ID, "kind", k.String()), Here: k == kind})
	}
	all := ownRecords(h, kind)
	data.Total = len(all)
	from, _ := strconv.Atoi(v.FormValue("from"))
	from = min(max(from, 0), max(len(all)-1, 0))
	to := min(from+recordsAPage, len(all))
	data.From, data.To = from+1, to
	at := func(n int) string {
		return address("/records", "pack", p.ID, "kind", v.FormValue("kind"), "from", strconv.Itoa(n))
	}
	if from > 0 {
		data.Newer = at(max(from-recordsAPage, 0))
	}
	if to < len(all) {
		data.Older = at(to)
	}
	data.Lines = v.recordLines(all[from:to])
	return view{title: "Records of " + data.Name, tab: "/more", layout: "records", data: data}, nil
}

// meant loads the pack of that id, or the one that is meant where it is "";
// nil where there is none.
func (v *visit) meant(id string) (*loaded, *logbook.Pack, error) {
	var chosen *logbook.Pack
	l, err := v.load(func(l *loaded) (_ []*logbook.Pack, err error) {
		if id == "" {
			id = l.last
		}
		if id == "" && len(l.packs) > 0 {
			id = l.packs[0].ID
		}
		if id == "" {
			return nil, nil
		}
		chosen, err = l.pack(id)
		return []*logbook.Pack{chosen}, err
	})
	return l, chosen, err
}

// packChoices lists the packs, to go from one to the other.
func packChoices(l *loaded, here, path string) []choice {
	var out []choice
	for _, p := range l.packs {
		out = append(out, choice{Value: p.ID, Text: nameOf(p), Path: address(path, "pack", p.ID), Here: p.ID == here})
	}
	return out
}
