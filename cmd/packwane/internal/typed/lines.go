package typed

import (
	"strings"
	"time"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// Line is one field of a record as a person reads it.
type Line struct {
	Field logbook.Field
	Label string // "start rest"
	Text  string // "41.8 V"
	As    string // as it was typed, where that was in another unit
}

// Lines lists the fields that r has, in the order of the field table, in the
// rider's units. as holds quantities as they were typed, by field name (see
// Apply); it may be nil.
func Lines(r logbook.Record, who Rider, as map[string]string) []Line {
	var out []Line
	for _, f := range Settable(r.Kind()) {
		if !f.Present(r) {
			continue
		}
		l := Line{Field: f, Label: Label(f), Text: Show(f, r, who)}
		if t := as[f.Name]; t != "" && unitOf(t) != unitOf(l.Text) {
			l.As = t
		}
		out = append(out, l)
	}
	return out
}

// unitOf is what follows the last digit.
func unitOf(text string) string {
	return text[strings.LastIndexAny(text, "0123456789")+1:]
}

// Show writes the field of r for people; "" where it is absent.
func Show(f logbook.Field, r logbook.Record, who Rider) string {
	if f.Type == logbook.TypeNumber {
		if v := f.Number(r); v.OK {
			return units.Format(v.V, f.Unit, who.System)
		}
		return ""
	}
	text := f.Text(r)
	if text == "" {
		return ""
	}
	switch f.Type {
	case logbook.TypeNumbers:
		return strings.Join(strings.Fields(text), ", ") + " " + f.Unit.String()
	case logbook.TypeTime:
		if t, err := time.Parse(time.RFC3339Nano, text); err == nil {
			return units.FormatTime(t, who.Now)
		}
	case logbook.TypeDate:
		if t, err := time.Parse(logbook.DateLayout, text); err == nil {
			return units.FormatDate(t)
		}
	case logbook.TypeFlag:
		if text == "true" {
			return "yes"
		}
		return "no"
	}
	return text
}

// brief names, for each kind, the fields by which a record is recognised in a
// list, the telling ones first.
var brief = map[logbook.Kind][]string{
	logbook.KindBoard:   {"name", "mass_kg", "tyre", "ref_tyre_kpa"},
	logbook.KindPack:    {"name", "chemistry", "limit_v", "cell_model"},
	logbook.KindSetup:   {"limit_v", "cutoff_v", "cell_full_v", "mass_kg", "tyre", "ref_tyre_kpa"},
	logbook.KindCharge:  {"charged_ah", "charged_wh", "full", "hold_min", "end_rest_v", "meter_side"},
	logbook.KindRide:    {"distance_km", "moving_speed_kmh", "discharged_ah", "discharged_wh", "ambient_c", "stop"},
	logbook.KindCheck:   {"resistance_mohm", "rest_v", "load_v", "load_a", "soc_pct", "cell_spread_mv"},
	logbook.KindService: {"kind", "passed", "until"},
}

// Summary says in one line what r is about. What is a plain quantity stands
// without its name.
func Summary(r logbook.Record, who Rider) string { return string(AppendSummary(nil, r, who)) }

// AppendSummary appends to dst what Summary returns.
func AppendSummary(dst []byte, r logbook.Record, who Rider) []byte {
	start := len(dst)
	next := func() {
		if len(dst) > start {
			dst = append(dst, ", "...)
		}
	}
	if p, ok := r.(*logbook.Pack); ok {
		dst = append(dst, layout(p)...)
	}
	briefs := briefOf[r.Kind()]()
	for i := range briefs {
		if b := &briefs[i]; b.Present(r) {
			next()
			dst = b.append(dst, r, who)
		}
	}
	if note := logbook.HeadOf(r).Note; note != "" {
		next()
		dst = append(dst, spaced(note)...)
	}
	return dst
}

// briefField is a field of a summary, and the name that stands before it; ""
// before what needs none.
type briefField struct {
	logbook.Field
	name string
}

func makeBrief(k logbook.Kind) []briefField {
	var out []briefField
	for _, name := range brief[k] {
		f, _ := logbook.FieldNamed(k, name)
		b := briefField{Field: f}
		if !selfEvident[name] {
			b.name = Label(f)
		}
		out = append(out, b)
	}
	return out
}

func (b *briefField) append(dst []byte, r logbook.Record, who Rider) []byte {
	switch {
	case b.Type == logbook.TypeFlag && b.name != "":
		if b.Text(r) != "true" {
			dst = append(dst, "not "...)
		}
		return append(dst, b.name...)
	case b.name == "" && b.Type != logbook.TypeNumber:
		return append(dst, prose.Spaced(Show(b.Field, r, who))...)
	case b.name != "":
		dst = append(append(dst, b.name...), ' ')
	}
	if b.Type == logbook.TypeNumber {
		return units.AppendFormat(dst, b.Number(r).V, b.Unit, who.System)
	}
	return append(dst, Show(b.Field, r, who)...)
}

// spaced turns each run of white space into one space, and none at the ends.
func spaced(text string) string {
	for i := range len(text) {
		c := text[i]
		if c < ' ' || c > '~' || c == ' ' && (i == 0 || i == len(text)-1 || text[i-1] == ' ') {
			return strings.Join(strings.Fields(text), " ")
		}
	}
	return text
}

// layout says how a pack is built: "10s4p of 3 Ah".
func layout(p *logbook.Pack) string {
	text := groups(p)
	if c := p.CellCapacityAh; c.OK {
		text = strings.TrimSpace(text + " of " + units.Format(c.V, units.Ah, units.Metric))
	}
	return text
}

// groups says how the cells of a pack are joined: "10s4p".
func groups(p *logbook.Pack) string {
	text := ""
	if p.Series.OK {
		text += logbook.FormatNumber(p.Series.V) + "s"
	}
	if p.Parallel.OK {
		text += logbook.FormatNumber(p.Parallel.V) + "p"
	}
	return text
}

// selfEvident are quantities that need no name beside their unit.
var selfEvident = map[string]bool{
	"distance_km": true, "moving_speed_kmh": true, "discharged_ah": true, "discharged_wh": true,
	"charged_ah": true, "charged_wh": true, "ambient_c": true, "resistance_mohm": true,
	"name": true, "kind": true, "chemistry": true, "tyre": true, "mass_kg": true,
}
