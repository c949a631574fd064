package web

import (
	"encoding/json"
	"io"
	"maps"
	"net/http"
	"slices"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
)

const (
	waitPath = "/wait"
	awayPath = "/away"
)

var _ = addPage(page{pattern: "POST " + waitPath, serve: (*visit).wait})
var _ = addPage(page{pattern: "GET " + awayPath, serve: (*visit).away})

// waiting is a record that waited in a browser: what was typed into which
// form, and when. All that its meaning depends on goes with it, so that sending
// it twice makes one record, under one id.
type waiting struct {
	Kind    string            `json:"kind"`
	Typed   string            `json:"typed"` // RFC 3339, in the zone of the browser
	Against bool              `json:"against"`
	Fields  map[string]string `json:"fields"` // as the form sends them, pack and units too
}

// waited is what became of it.
type waited struct {
	// State is kept; there, where the log had it already, also amended or
	// removed since; odd, where it looks wrong and needs a second look; or
	// refused, where it cannot be understood.
	State string `json:"state"`
	Text  string `json:"text"`
	Path  string `json:"path,omitempty"` // of the record
}

func (v *visit) wait() (reply, error) {
	if kind := v.Header.Get("Content-Type"); kind != "application/json" {
		return nil, wrong("Want application/json.")
	}
	body, err := io.ReadAll(v.Body)
	if err != nil {
		return nil, err
	}
	var w waiting
	dec := json.NewDecoder(strings.NewReader(string(body)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&w); err != nil {
		return nil, wrong("Want one record that waited, as JSON.")
	}
	k, ok := logbook.KindOf(w.Kind)
	if !ok || !slices.Contains(logKinds, k) {
		return nil, wrong("Want a kind of record that is logged.")
	}
	if err := v.read(nil); err != nil {
		return nil, err
	}
	v.who.Now = v.typedAt(w.Typed)
	v.takeUnits(w.Fields["units"])
	return v.take(k, w)
}

// take keeps a record that waited, unless it is there already or looks wrong.
func (v *visit) take(k logbook.Kind, w waiting) (reply, error) {
	e := entry{kind: k, pack: w.Fields["pack"], values: map[string]string{}}
	for _, f := range settable(k, true) {
		if name := nameFor(k, f, true); strings.TrimSpace(w.Fields[name]) != "" {
			e.values[name] = strings.TrimSpace(w.Fields[name])
		}
	}
	d, fault, err := v.draft(e)
	if err != nil {
		return nil, err
	}
	if fault != nil {
		return asJSON(http.StatusOK, waited{State: "refused", Text: fault.text()}), nil
	}
	out := waited{State: "there", Path: recordPath(d.Record), Text: titleOf(d.Record) + ", " + typed.Summary(d.Record, v.who)}
	switch {
	case d.There || d.Held != "":
		return asJSON(http.StatusOK, out), nil
	case len(d.Slips) > 0 && !w.Against:
		out.State, out.Path = "odd", ""
		out.Text += ": " + slipText(d.Slips)
		return asJSON(http.StatusOK, out), nil
	}
	if _, err := d.Keep(true); err != nil {
		return nil, err
	}
	v.s.wake()
	out.State = "kept"
	return asJSON(http.StatusOK, out), nil
}

// text says a fault in one line.
func (f *formFault) text() string {
	parts := []string{}
	if f.other != "" {
		parts = append(parts, f.other)
	}
	for _, name := range slices.Sorted(maps.Keys(f.fields)) {
		parts = append(parts, prose.Spaced(name)+": "+f.fields[name])
	}
	return strings.Join(parts, " ")
}

func slipText(list []Slip) string {
	parts := make([]string, len(list))
	for i, s := range list {
		parts[i] = s.Words
	}
	return strings.Join(parts, "; ")
}

// awayView is the page that a browser keeps for when it cannot reach this one:
// a form for each kind, for every pack.
type awayView struct {
	Forms []form
	Made  string // when it was fetched
}

func (v *visit) away() (reply, error) {
	l, err := v.load(allPacks)
	if err != nil {
		return nil, err
	}
	data := awayView{Made: v.when(v.now)}
	for _, k := range logKinds[:4] {
		f := form{Kind: k.String(), Title: prose.Capital(k.String()), Action: "/log/" + k.String(), Button: "Log it", Packs: packChoices(l, l.last, ""), Cautions: formCautions[k]}
		f.Hidden = []pair{{"units", v.who.System.String()}}
		with := filling{values: map[string]string{}, offers: v.offeredByAny(l, k)}
		if p := lastOf(l); p != nil && k == logbook.KindRide {
			if h, err := logbook.NewHistory(p.ID, l.records[p.ID], logbook.FarAhead); err == nil {
				with.values["board"] = h.LastBoard(h.AsOf)
			}
		}
		f.Sight, f.Behind = v.inputs(k, true, l, with)
		if most := len(f.Sight) - 1; most == 5 { // the pack is a field here
			f.Behind = append([]inputGroup{{Title: prose.Capital(f.Sight[most].Label), Inputs: f.Sight[most:]}}, f.Behind...)
			f.Sight = f.Sight[:most]
		}
		for _, list := range append([][]*input{f.Sight}, inputsOf(f.Behind)...) {
			for _, in := range list {
				in.ID = k.String() + "-" + in.ID
			}
		}
		data.Forms = append(data.Forms, f)
	}
	return view{title: "Log offline", tab: "/log", layout: "away", data: data}, nil
}

func inputsOf(groups []inputGroup) [][]*input {
	var out [][]*input
	for _, g := range groups {
		out = append(out, g.Inputs)
	}
	return out
}

// lastOf is the pack that is meant where none is named, nil where that is not
// known.
func lastOf(l *loaded) *logbook.Pack {
	for _, p := range l.packs {
		if p.ID == l.last || l.last == "" {
			return p
		}
	}
	return nil
}

// offeredByAny are the last values of each field with the pack that is meant.
func (v *visit) offeredByAny(l *loaded, k logbook.Kind) map[string][]string {
	p := lastOf(l)
	if p == nil {
		return nil
	}
	h, err := logbook.NewHistory(p.ID, l.records[p.ID], logbook.FarAhead)
	if err != nil {
		return nil
	}
	return v.offered(h, k)
}
