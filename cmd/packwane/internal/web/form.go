package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// form is a form for the fields of one kind of record.
type form struct {
	Kind     string
	Title    string
	Action   string
	Pack     choice // that it is for; empty for a pack or board itself
	Packs    []choice
	Sight    []*input
	Behind   []inputGroup
	Errors   []fieldError
	Hidden   []pair
	Button   string
	Grave    []dueLine // why the pack must not be ridden or charged
	Cautions []string
	Up       link
}

type fieldError struct{ ID, Text string }

// filling is what a form is filled with.
type filling struct {
	values map[string]string // by the name that the form sends
	errors map[string]string
	offers map[string][]string // by field name, the last first
}

// inputs lays the fields of a kind out: at most six in sight, the rest behind.
func (v *visit) inputs(k logbook.Kind, fresh bool, l *loaded, with filling) (sight []*input, rest []inputGroup) {
	left := map[string]*input{}
	var order []string
	for _, f := range settable(k, fresh) {
		left[f.Name] = v.input(k, f, fresh, l, with)
		order = append(order, f.Name)
	}
	take := func(names []string) (out []*input) {
		for _, n := range names {
			if in := left[n]; in != nil {
				out = append(out, in)
				delete(left, n)
			}
		}
		return out
	}
	sight = take(inSight[k])
	for _, g := range behind[k] {
		if in := take(g.fields); len(in) > 0 {
			rest = append(rest, inputGroup{Title: g.title, Inputs: in})
		}
	}
	if in := take(order); len(in) > 0 {
		title := restTitle
		if len(in) == 1 {
			title = prose.Capital(in[0].Label)
		}
		rest = append(rest, inputGroup{Title: title, Inputs: in})
	}
	for i, g := range rest {
		rest[i].Open = slices.ContainsFunc(g.Inputs, func(in *input) bool { return in.Error != "" || in.Value != "" && in.Name != "board" })
	}
	return sight, rest
}

func (v *visit) input(k logbook.Kind, f logbook.Field, fresh bool, l *loaded, with filling) *input {
	name := nameFor(k, f, fresh)
	in := &input{
		ID: "f-" + name, Name: name, Label: typed.Label(f), Hint: v.hintFor(name, f), Value: with.values[name], Error: with.errors[name],
		Required: f.Required && f.Name != "at", Long: f.Long, Choices: choicesFor(f, l), Offers: with.offers[f.Name],
	}
	if t, ok := twins[f.Name]; ok && name != f.Name {
		in.Label = t.label
		in.Offers = append(slices.Clone(in.Offers), with.offers[t.with]...)
	}
	if f.Unit == units.Ah || f.Unit == units.Wh {
		if name == f.Name {
			in.Label += ", " + f.Unit.String() // told from its twin
		}
	}
	if label, ok := labelWords[k.String()+" "+f.Name]; ok {
		in.Label = label
	}
	for i, c := range in.Choices {
		in.Choices[i].Here = c.Value == in.Value
	}
	if len(in.Offers) > 0 {
		in.Last = in.Offers[0]
	}
	return in
}

// labelWords are labels where a form needs other words than a list.
var labelWords = map[string]string{
	"ride end": "ended", "ride at": "began", "ride ambient_c": "air temperature", "charge ambient_c": "air temperature", "ride tyre_kpa": "tyre pressure", "ride stop": "why it ended",
	"charge at": "ended", "charge full": "until the charger finished", "charge hold_min": "left on after that", "charge end_rest_v": "rest volts after",
	"ride start_rest_v": "rest volts before", "ride end_rest_v": "rest volts after", "charge start_rest_v": "rest volts before", "ride end_rest_min": "rested before they were read",
	"charge end_rest_min": "rested before they were read", "ride speed_sd_kmh": "scatter of the speed", "check rest_v": "rest volts", "check load_v": "volts under load", "check load_a": "current",
	"check base_a": "current before the pulse", "check pulse_s": "length of the pulse", "check group_v": "rest volts of each group",
	"check at": "when", "service at": "when", "setup at": "from", "check soc_pct": "charge level", "service kind": "what", "board ref_tyre_kpa": "usual tyre pressure",
	"service board": "board, where it is not the pack", "setup board": "board, where it is not the pack", "setup ref_tyre_kpa": "usual tyre pressure",
}

// offered are the last values of each field in the records of one kind, each
// once, the last first.
func (v *visit) offered(h *logbook.History, k logbook.Kind) map[string][]string {
	const most, lookAt = 4, 40
	out := map[string][]string{}
	if h == nil {
		return out
	}
	n := 0
	for _, r := range slices.Backward(h.Records()) {
		if r.Kind() != k || logbook.PackOf(r) != h.Pack.ID {
			continue
		}
		if n++; n > lookAt {
			break
		}
		for _, f := range typed.Settable(k) {
			if f.Type != logbook.TypeNumber && f.Type != logbook.TypeText || f.Enum != nil || f.Long || !f.Present(r) {
				continue
			}
			text := typed.Show(f, r, v.who)
			if list := out[f.Name]; len(list) < most && !slices.Contains(list, text) {
				out[f.Name] = append(list, text)
			}
		}
	}
	return out
}

// form reads the fields that a form sent.
func (v *visit) form() error {
	var large *http.MaxBytesError
	switch err := v.ParseForm(); {
	case errors.As(err, &large):
		return problemLarge
	case err != nil:
		return wrong("The form could not be read. Open the page anew and try again.")
	}
	return nil
}

// sent returns what a form sent for the fields of a kind, by their names there.
func (v *visit) sent(k logbook.Kind, fresh bool) map[string]string {
	out := map[string]string{}
	for _, f := range settable(k, fresh) {
		name := nameFor(k, f, fresh)
		if text := strings.TrimSpace(v.PostFormValue(name)); text != "" {
			out[name] = strings.ReplaceAll(text, "\r\n", "\n")
		}
	}
	return out
}

// hiddenValues hands on what a form sent, in the order of the field table.
func hiddenValues(k logbook.Kind, fresh bool, values map[string]string) []pair {
	var out []pair
	for _, f := range settable(k, fresh) {
		if name := nameFor(k, f, fresh); values[name] != "" {
			out = append(out, pair{name, values[name]})
		}
	}
	return out
}

// wordsOf makes words of what was sent, in the order of the field table.
func wordsOf(k logbook.Kind, fresh bool, values map[string]string) []typed.Word {
	var out []typed.Word
	for _, f := range settable(k, fresh) {
		name := nameFor(k, f, fresh)
		if text, ok := values[name]; ok && f.Name != "id" {
			out = append(out, typed.Word{Name: name, Text: text})
		}
	}
	return out
}

// faults finds what cannot be understood, field by field.
func faults(k logbook.Kind, words []typed.Word, who typed.Rider) map[string]string {
	out := map[string]string{}
	var at []typed.Word
	for _, w := range words {
		if w.Name == "at" {
			at = []typed.Word{w}
		}
	}
	for _, w := range words {
		try := []typed.Word{w}
		if w.Name != "at" {
			try = append(slices.Clone(at), w)
		}
		if _, err := typed.Apply(logbook.New(k), try, who); err != nil {
			if w.Name != "at" && len(at) > 0 && out["at"] != "" {
				continue
			}
			out[w.Name] = prose.Sentence(withoutField(k, err.Error()))
		}
	}
	return out
}

// withoutField takes the name of the field off the front of an error that
// stands beside the field.
func withoutField(k logbook.Kind, text string) string {
	first, rest, ok := strings.Cut(text, " ")
	if _, err := typed.Find(k, strings.TrimSuffix(first, ":")); ok && err == nil {
		return rest
	}
	return text
}

// typedAt is the moment at which a form was filled in, which what was typed
// refers to: as the form says, within reason, else now.
func (v *visit) typedAt(text string) time.Time {
	const reach = 120 * 24 * time.Hour
	t, err := time.Parse(time.RFC3339, text)
	if err != nil || t.After(v.now.Add(5*time.Minute)) || t.Before(v.now.Add(-reach)) {
		return v.now
	}
	if sameOffset(v.now, t) {
		return t.In(v.now.Location())
	}
	return t
}

// sameOffset reports whether the clocks of the server's place showed t so.
func sameOffset(now, t time.Time) bool {
	_, a := t.Zone()
	_, b := t.In(now.Location()).Zone()
	return a == b
}

// errorsOf lists what is wrong, in the order of the form.
func errorsOf(sight []*input, rest []inputGroup, other string) []fieldError {
	var out []fieldError
	if other != "" {
		out = append(out, fieldError{Text: other})
	}
	see := func(list []*input) {
		for _, in := range list {
			if in.Error != "" {
				out = append(out, fieldError{in.ID, prose.Capital(in.Label) + ": " + in.Error})
			}
		}
	}
	see(sight)
	for _, g := range rest {
		see(g.Inputs)
	}
	return out
}

// badForm is the status of a form that comes back with errors.
const badForm = http.StatusUnprocessableEntity
