package web

import (
	"slices"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// logKinds are the kinds that are logged, in the order in which they are
// offered; madeKinds are what they are logged for.
var (
	logKinds  = []logbook.Kind{logbook.KindRide, logbook.KindCharge, logbook.KindCheck, logbook.KindService, logbook.KindSetup}
	madeKinds = []logbook.Kind{logbook.KindPack, logbook.KindBoard}
)

// inSight are the fields that a form shows at once, six at most: what tells
// most, in the order in which a rider comes across it. The rest stands behind a
// heading that opens.
var inSight = map[logbook.Kind][]string{
	logbook.KindRide:    {"distance_km", "discharged_ah", "end", "ambient_c", "tyre_kpa", "stop"},
	logbook.KindCharge:  {"charged_ah", "full", "hold_min", "at", "end_rest_v", "ambient_c"},
	logbook.KindCheck:   {"resistance_mohm", "soc_pct", "pack_c", "cell_spread_mv", "at", "note"},
	logbook.KindService: {"kind", "at", "passed", "until", "board", "note"},
	logbook.KindSetup:   {"at", "limit_v", "ref_tyre_kpa", "mass_kg", "board", "note"},
	logbook.KindPack:    {"id", "board", "chemistry", "series", "parallel", "cell_capacity_ah"},
	logbook.KindBoard:   {"id", "name", "mass_kg", "ref_tyre_kpa", "service_every_km", "service_every_days"},
}

// behind parts the rest of a kind's fields under headings. What the field table
// has and stands nowhere here comes last, under restTitle.
var behind = map[logbook.Kind][]struct {
	title  string
	fields []string
}{
	logbook.KindRide: {
		{"Time, speed and board", []string{"at", "moving_min", "moving_speed_kmh", "speed_sd_kmh", "board", "odometer_km"}},
		{"Volts, current and meter", []string{"start_rest_v", "end_rest_v", "end_rest_min", "min_v", "peak_a", "regen_ah", "discharged_wh", "regen_wh", "meter", "error_pct", "pack_c"}},
		{"Rider, wind and way", []string{"rider", "rider_kg", "headwind_kmh", "wind_kmh", "wind_from_deg", "shape", "climb_m", "descent_m", "route", "session"}},
	},
	logbook.KindCharge: {{"Volts, meter and temperature", []string{"charged_wh", "start", "start_rest_v", "end_rest_min", "meter", "meter_side", "error_pct", "pack_c", "cell_spread_mv"}}},
	logbook.KindCheck:  {{"One pulse, or the groups", []string{"method", "rest_v", "load_v", "load_a", "base_a", "pulse_s", "group_v"}}},
	logbook.KindSetup:  {{"Volts and tyre", []string{"cutoff_v", "cell_full_v", "tyre"}}},
	logbook.KindPack: {
		{"Volts and limits", []string{"limit_v", "cutoff_v", "cell_full_v", "cell_nominal_v", "cell_model"}},
		{"Life and need", []string{"name", "in_service", "cycles_before", "asnew_ah", "retire_soh_pct", "need_range_km"}},
		{"Reference conditions", []string{"ref_temp_c", "ref_speed_kmh", "ref_rider_kg", "ref_route"}},
	},
}

const restTitle = "Everything else"

// twins are fields whose input on a new form takes another field as well, by
// the unit that is typed. Where both were metered, the other has an input of
// its own behind.
var twins = map[string]struct{ with, label, example string }{
	"discharged_ah": {"discharged_wh", "taken out", "165 Wh or 4.6 Ah"},
	"charged_ah":    {"charged_wh", "charged", "430 Wh or 11.8 Ah"},
	"regen_ah":      {"regen_wh", "regenerated", "12 Wh or 0.3 Ah"},
}

// input is one field of a form.
type input struct {
	ID, Name, Label string
	Hint            string
	Value           string
	Error           string
	Required        bool
	Long            bool     // several lines
	Choices         []choice // a list to choose from; nil where any text will do
	Offers          []string // last values
	Last            string
}

// Described lists the ids of what describes the input.
func (i input) Described() string {
	var ids []string
	if i.Error != "" {
		ids = append(ids, i.ID+"-error")
	}
	if i.Hint != "" || i.Last != "" {
		ids = append(ids, i.ID+"-hint")
	}
	return strings.Join(ids, " ")
}

// inputGroup are inputs behind a heading that opens.
type inputGroup struct {
	Title  string
	Open   bool // one of them holds something
	Inputs []*input
}

// nameFor is the name by which a form sends a field: without its unit, so that
// a bare number is in the rider's own units, where that means this field alone.
func nameFor(k logbook.Kind, f logbook.Field, fresh bool) string {
	if _, ok := twins[f.Name]; ok && fresh {
		return typed.Base(f)
	}
	for _, n := range typed.Names(k) {
		if !n.Full && len(n.Fields) == 1 && n.Fields[0].Name == f.Name {
			return n.Text
		}
	}
	return f.Name
}

// hintFor says what a field takes.
func (v *visit) hintFor(name string, f logbook.Field) string {
	if t, ok := twins[f.Name]; ok && name != f.Name {
		return "with its unit: " + t.example
	}
	doc, ok := hintWords[f.Name]
	if !ok && !strings.EqualFold(f.Doc, typed.Label(f)) {
		doc = f.Doc
	}
	switch f.Type {
	case logbook.TypeTime:
		return `such as "18:30", "yesterday 18:30"` + durationHint[f.Name]
	case logbook.TypeDate:
		return `such as "3 May 2026"`
	case logbook.TypeNumbers:
		return f.Doc + ", parted by blanks"
	case logbook.TypeNumber:
		symbol := f.Unit.String()
		if name != f.Name {
			symbol = units.Symbol(f.Unit, v.who.System)
		}
		if symbol == "" {
			return doc
		}
		return joinedBy("; ", doc, "in "+symbol+", or type the unit")
	}
	if f.Enum != nil || f.Type == logbook.TypeFlag || f.Name == "board" || f.Name == "pack" {
		return ""
	}
	return doc
}

// hintWords are hints where the field table speaks of files.
var hintWords = map[string]string{"id": "a short name of your own, such as kite-a", "end_rest_v": "", "start_rest_v": "", "end_rest_min": "", "ambient_c": "", "tyre_kpa": "gauge, cold"}

// joinedBy joins the texts that are not empty.
func joinedBy(between string, texts ...string) string {
	out := ""
	for _, text := range texts {
		if text != "" && out != "" {
			out += between
		}
		out += text
	}
	return out
}

var durationHint = map[string]string{"end": `, "+1h10m"`, "at": `, "2 h ago"`}

// choicesFor lists what a field can be chosen from; nil where it is typed.
func choicesFor(f logbook.Field, l *loaded) []choice {
	out := []choice{{Value: "", Text: "not said"}}
	switch {
	case f.Name == "pack":
		out[0].Text = "none"
		for _, p := range l.packs {
			out = append(out, choice{Value: p.ID, Text: nameOf(p)})
		}
	case f.Name == "board":
		out[0].Text = "none"
		for _, b := range l.boards {
			out = append(out, choice{Value: b.ID, Text: nameOf(b)})
		}
	case f.Type == logbook.TypeFlag:
		out = append(out, choice{Value: "yes", Text: "yes"}, choice{Value: "no", Text: "no"})
	case f.Enum != nil:
		for _, e := range f.Enum {
			out = append(out, choice{Value: e, Text: choiceText(f.Name, e)})
		}
	default:
		return nil
	}
	return out
}

// choiceWords say what an accepted text means where it says too little.
var choiceWords = map[string]string{
	"stop limit": "at the low-voltage limit", "stop cutoff": "protection opened", "stop fault": "something broke", "stop chosen": "I stopped",
	"shape loop": "a loop", "shape out_back": "out and back", "shape one_way": "one way",
	"method dc": "DC, one pulse", "method ac": "AC meter", "meter_side dc": "at the pack (DC)", "meter_side ac": "at the wall (AC)",
}

func choiceText(field, value string) string {
	if text, ok := choiceWords[field+" "+value]; ok {
		return text
	}
	return prose.Spaced(value)
}

// settable are the fields of a kind that its form asks for. A new record's pack
// is chosen above the form; a new pack or board gets an id of its rider's own.
func settable(k logbook.Kind, fresh bool) []logbook.Field {
	out := slices.Clone(typed.Settable(k))
	if !fresh {
		return out
	}
	if id, ok := logbook.FieldNamed(k, "id"); ok && made(k) {
		out = append([]logbook.Field{id}, out...)
	}
	return slices.DeleteFunc(out, func(f logbook.Field) bool { return f.Name == "pack" })
}
