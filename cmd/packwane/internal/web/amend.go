package web

import (
	"strconv"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
)

var _ = addPage(page{pattern: "GET /amend", serve: (*visit).amendForm})
var _ = addPage(page{pattern: "POST /amend", serve: (*visit).amendStep})

// amendment is a record on its way to a new revision: as it was seen, and what
// a form says now.
type amendment struct {
	record logbook.Record // the revision that was seen
	values map[string]string
}

// shown is what a form shows of a record: its fields in the rider's units.
func (v *visit) shown(r logbook.Record) map[string]string { return v.shownAs(r, false) }

// shownAs is what the form of a new record, or of one that is there, shows.
func (v *visit) shownAs(r logbook.Record, fresh bool) map[string]string {
	out := map[string]string{}
	for _, f := range settable(r.Kind(), fresh) {
		text := typed.Show(f, r, v.who)
		if f.Enum != nil || f.Name == "pack" || f.Name == "board" {
			text = f.Text(r)
		}
		if text != "" {
			out[nameFor(r.Kind(), f, fresh)] = text
		}
	}
	return out
}

// amendWords are the fields that differ from what the form was filled with; so the
// rounding of what is shown never reaches the log.
func (v *visit) amendWords(a amendment) []typed.Word {
	was := v.shown(a.record)
	var out []typed.Word
	for _, f := range settable(a.record.Kind(), false) {
		name := nameFor(a.record.Kind(), f, false)
		if a.values[name] != was[name] {
			out = append(out, typed.Word{Name: name, Text: a.values[name]})
		}
	}
	return out
}

func (v *visit) amendForm() (reply, error) {
	r, _, _, err := v.find(v.FormValue("record"), v.FormValue("id"))
	if err != nil {
		return nil, err
	}
	if logbook.HeadOf(r).Removed {
		return redirect(recordPath(r)), nil
	}
	return v.showAmendment(amendment{r, v.shown(r)}, formFault{})
}

func (v *visit) showAmendment(a amendment, fault formFault) (reply, error) {
	l, err := v.load(noPacks)
	if err != nil {
		return nil, err
	}
	k := a.record.Kind()
	f := form{Kind: k.String(), Title: "Amend: " + titleOf(a.record), Action: "/amend", Button: "Look at it", Up: link{recordPath(a.record), "The record"}}
	f.Sight, f.Behind = v.inputs(k, false, l, filling{values: a.values, errors: fault.fields})
	f.Errors = errorsOf(f.Sight, f.Behind, fault.other)
	f.Hidden = v.amendHidden(a)
	f.Cautions = formCautions[k]
	out := view{title: f.Title, tab: "/log", layout: "form", data: f}
	if len(f.Errors) > 0 {
		out.status = badForm
	}
	return out, nil
}

// amendHidden says which revision was seen, when and in which units.
func (v *visit) amendHidden(a amendment) []pair {
	h := logbook.HeadOf(a.record)
	return []pair{
		{"record", a.record.Kind().String()}, {"id", h.ID}, {"rev", strconv.Itoa(h.Rev)},
		{"units", v.who.System.String()}, {"typed", logbook.FormatTime(v.who.Now)},
	}
}

// sentAmendment reads what a form sent, with the revision that it was made
// from.
func (v *visit) sentAmendment() (amendment, error) {
	rev, err := v.seen()
	if err != nil {
		return amendment{}, err
	}
	_, _, all, err := v.find(v.PostFormValue("record"), v.PostFormValue("id"))
	if err != nil {
		return amendment{}, err
	}
	v.who.Now = v.typedAt(v.PostFormValue("typed"))
	v.takeUnits(v.PostFormValue("units"))
	for _, r := range all {
		if logbook.HeadOf(r).Rev == rev {
			return amendment{r, v.sent(r.Kind(), false)}, nil
		}
	}
	return amendment{}, &problem{404, "No such revision", "The log holds no such revision of the record. Open the record anew."}
}

// amendStep is each step of amending: to look at it, to change it, to keep it.
func (v *visit) amendStep() (reply, error) {
	if err := v.form(); err != nil {
		return nil, err
	}
	a, err := v.sentAmendment()
	if err != nil {
		return nil, err
	}
	if v.PostFormValue("step") == "change" {
		return v.showAmendment(a, formFault{})
	}
	k, h := a.record.Kind(), logbook.HeadOf(a.record)
	words := v.amendWords(a)
	if bad := faults(k, words, v.who); len(bad) > 0 {
		return v.showAmendment(a, formFault{fields: bad})
	}
	d, err := v.s.Desk.Amend(k, h.ID, h.Rev, words, v.who)
	if err != nil && !isConflict(err) {
		var fault *formFault
		if d, fault, err = v.orFault(k, false, d, err); fault != nil {
			return v.showAmendment(a, *fault)
		}
	}
	if err != nil {
		return nil, err
	}
	if v.PostFormValue("step") != "keep" || len(d.Slips) > 0 && v.PostFormValue("against") != "yes" {
		return v.lookAtAmendment(a, d)
	}
	return v.keep(d, "amended")
}

func (v *visit) lookAtAmendment(a amendment, d *Draft) (reply, error) {
	shows, err := v.shows(d.Record)
	if err != nil {
		return nil, err
	}
	data := lookView{
		Title: "Is this right?", Kind: a.record.Kind().String(), Action: "/amend", Lines: typed.Lines(d.Record, v.who, d.As), Shows: shows, Slips: d.Slips, Caution: d.Caution, There: d.Nothing,
		Up: link{recordPath(a.record), "The record"}, Amends: true, Differences: v.difference(a.record, d.Record), Hidden: append(v.amendHidden(a), hiddenValues(a.record.Kind(), false, a.values)...),
	}
	return view{title: data.Title, tab: "/log", layout: "look", data: data}, nil
}
