package web

import (
	"net/http"
	"slices"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
)

var _ = addPage(page{pattern: "GET /log", title: "Log", serve: (*visit).logMenu})
var _ = addPage(page{pattern: "GET /log/{kind}", serve: (*visit).logForm})
var _ = addPage(page{pattern: "POST /log/{kind}", serve: (*visit).logStep})

// logKindWords say what each kind of record is for.
var logKindWords = map[logbook.Kind]string{
	logbook.KindRide:    "a ride, or a discharge on the bench",
	logbook.KindCharge:  "what went into a pack",
	logbook.KindCheck:   "resistance, rest volts or cell spread",
	logbook.KindService: "what was done to a pack or board, or happened to it",
	logbook.KindSetup:   "a limit, mass or tyre that holds from now on",
	logbook.KindPack:    "a pack that is not in the log yet",
	logbook.KindBoard:   "a board that is not in the log yet",
}

type menuPart struct {
	Title string
	Items []menuItem
}

type menuItem struct{ Path, Name, About string }

func (v *visit) logMenu() (reply, error) {
	if err := v.read(nil); err != nil {
		return nil, err
	}
	pack := v.FormValue("pack")
	item := func(k logbook.Kind, verb string) menuItem {
		return menuItem{address("/log/"+k.String(), "pack", pack), verb + " a " + k.String(), logKindWords[k]}
	}
	data := []menuPart{{Title: "What happened"}, {Title: "What it happened to"}, {Title: "Without a connection", Items: []menuItem{{awayPath, "Log offline", "a form that waits in this browser until packwane is reached"}}}}
	for _, k := range logKinds {
		data[0].Items = append(data[0].Items, item(k, "Log"))
	}
	for _, k := range madeKinds {
		data[1].Items = append(data[1].Items, item(k, "Add"))
	}
	return view{title: "Log", tab: "/log", layout: "menu", data: data}, nil
}

// kind is the kind of record that the address names.
func (v *visit) kind() (logbook.Kind, error) {
	k, ok := logbook.KindOf(v.PathValue("kind"))
	if !ok {
		return 0, problemNowhere
	}
	return k, nil
}

func made(k logbook.Kind) bool { return slices.Contains(madeKinds, k) }

func (v *visit) logForm() (reply, error) {
	k, err := v.kind()
	if err != nil {
		return nil, err
	}
	with := filling{values: map[string]string{}}
	asked := v.URL.Query()
	for _, f := range settable(k, true) {
		if name := nameFor(k, f, true); asked.Get(name) != "" {
			with.values[name] = asked.Get(name)
		}
	}
	return v.showForm(k, asked.Get("pack"), with, "")
}

// showForm shows the form of a new record, filled in; other is an error that
// belongs to no field.
func (v *visit) showForm(k logbook.Kind, packID string, with filling, other string) (reply, error) {
	l, p, err := v.meant(packID)
	if err != nil {
		return nil, err
	}
	if p == nil && !made(k) {
		return view{title: "Log", tab: "/log", layout: "nopack"}, nil
	}
	f := form{Kind: k.String(), Title: "Log a " + k.String(), Action: "/log/" + k.String(), Button: "Look at it", Up: link{"/log", "Log"}}
	if made(k) {
		f.Title = "Add a " + k.String()
	} else if err := v.fillFor(&f, k, l, p, &with); err != nil {
		return nil, err
	}
	f.Sight, f.Behind = v.inputs(k, true, l, with)
	f.Errors = errorsOf(f.Sight, f.Behind, other)
	f.Hidden = append(f.Hidden, pair{"units", v.who.System.String()})
	if typed := v.PostFormValue("typed"); typed != "" { // what was typed refers to that moment
		f.Hidden = append(f.Hidden, pair{"typed", typed})
	}
	f.Cautions = formCautions[k]
	out := view{title: f.Title, tab: "/log", layout: "form", data: f}
	if len(f.Errors) > 0 {
		out.status = badForm
	}
	return out, nil
}

// fillFor fills in what follows from the pack: its last values, its last board.
func (v *visit) fillFor(f *form, k logbook.Kind, l *loaded, p *logbook.Pack, with *filling) error {
	h, err := logbook.NewHistory(p.ID, l.records[p.ID], logbook.FarAhead)
	if err != nil {
		return err
	}
	f.Pack = choice{Value: p.ID, Text: nameOf(p)}
	f.Packs = packChoices(l, p.ID, f.Action)
	f.Hidden = append(f.Hidden, pair{"pack", p.ID})
	with.offers = v.offered(h, k)
	if f.Grave, err = v.graveFor(k, p.ID); err != nil {
		return err
	}
	if _, given := with.values["board"]; k == logbook.KindRide && !given && v.Method == http.MethodGet {
		with.values["board"] = h.LastBoard(h.AsOf)
	}
	return nil
}

// graveFor is why a pack must not be ridden or charged, where a ride or a charge of it
// is about to be logged. Logging does not hang on it.
func (v *visit) graveFor(k logbook.Kind, packID string) (out []dueLine, err error) {
	if k != logbook.KindRide && k != logbook.KindCharge || packID == "" {
		return nil, nil
	}
	defer v.spared("what is due before a record", func() { out, err = nil, nil })
	_, a, err := v.answersFor(packID)
	if err != nil {
		v.s.Fault(err)
	}
	if a == nil || err != nil {
		return nil, nil
	}
	return v.grave(a), nil
}

// formCautions stand above the form of what can hurt somebody. Common practice,
// no source.
var formCautions = map[logbook.Kind][]string{
	logbook.KindCharge:  {"Stay near a pack that charges, away from what burns and from ways out. Do not charge one that is damaged, wet, swollen or hot, or below 0 °C (32 °F)."},
	logbook.KindCheck:   {"Measure at the plugs. Opening a pack is for trained people under your local codes."},
	logbook.KindService: {"Opening a pack is for trained people under your local codes. After a knock, water or a warning sign do not ride, charge or open it."},
}

// lookView shows what was understood before it is kept.
type lookView struct {
	Title, Kind, Action string
	Grave               []dueLine // why the pack must not be ridden or charged
	Lines               []typed.Line
	Shows               []shownLine // what the record would tell
	Slips               []Slip
	Caution             string
	There               bool
	Hidden              []pair
	Up                  link
	Amends              bool
	Differences         string
	Stays               []string // what a track says otherwise
}

// logStep is each step of logging: to look at it, to change it, to keep it.
func (v *visit) logStep() (reply, error) {
	k, err := v.kind()
	if err != nil {
		return nil, err
	}
	if err := v.form(); err != nil {
		return nil, err
	}
	if err := v.read(nil); err != nil {
		return nil, err
	}
	v.who.Now = v.typedAt(v.PostFormValue("typed"))
	v.takeUnits(v.PostFormValue("units"))
	e := entry{kind: k, pack: v.PostFormValue("pack"), values: v.sent(k, true)}
	if v.PostFormValue("step") == "change" {
		return v.showForm(k, e.pack, filling{values: e.values}, "")
	}
	d, fault, err := v.draft(e)
	if err != nil {
		return nil, err
	}
	if fault != nil {
		return v.showForm(k, e.pack, filling{values: e.values, errors: fault.fields}, fault.other)
	}
	if v.PostFormValue("step") != "keep" || len(d.Slips) > 0 && v.PostFormValue("against") != "yes" {
		return v.look(e, d)
	}
	return v.keep(d, "logged")
}

// look shows a draft. Everything that was typed goes along, with the moment at
// which it was typed, so that the next step understands the same.
func (v *visit) look(e entry, d *Draft) (reply, error) {
	shows, err := v.shows(d.Record)
	if err != nil {
		return nil, err
	}
	grave, err := v.graveFor(e.kind, logbook.PackOf(d.Record))
	if err != nil {
		return nil, err
	}
	data := lookView{
		Title: "Is this right?", Grave: grave, Kind: e.kind.String(), Action: "/log/" + e.kind.String(), Lines: typed.Lines(d.Record, v.who, d.As), Shows: shows, Slips: d.Slips, Caution: d.Caution, There: d.There,
		Up: link{"/log", "Log"},
	}
	data.Hidden = append([]pair{{"pack", e.pack}, {"units", v.who.System.String()}, {"typed", logbook.FormatTime(v.who.Now)}}, hiddenValues(e.kind, true, e.values)...)
	return view{title: data.Title, tab: "/log", layout: "look", data: data}, nil
}

// keep stores a draft and shows it.
func (v *visit) keep(d *Draft, done string) (reply, error) {
	r := d.Record
	switch {
	case d.There:
		done = "there"
	case d.Nothing:
		done = "same"
	default:
		var err error
		if r, err = d.Keep(true); err != nil {
			return nil, err
		}
		v.s.wake()
	}
	return redirect(address("/record", "record", r.Kind().String(), "id", logbook.HeadOf(r).ID, "done", done)), nil
}
