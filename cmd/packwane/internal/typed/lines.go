package typed

import (
	"strings"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// Line is one field of a record as a person reads it.
type Line struct {
	Field logbook.Field
	Label string // "start rest"
	Text  string // "41.8 V"
}

// Lines lists the fields that r has, in the order of the field table, in the
// rider's units.
func Lines(r logbook.Record, who Rider) []Line {
	var out []Line
	for _, f := range Settable(r.Kind()) {
		if f.Present(r) {
			out = append(out, Line{f, Label(f), Show(f, r, who)})
		}
	}
	return out
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
func Summary(r logbook.Record, who Rider) string {
	parts := make([]string, 0, 8)
	if p, ok := r.(*logbook.Pack); ok {
		parts = append(parts, layout(p)...)
	}
	for _, name := range brief[r.Kind()] {
		f, ok := logbook.FieldNamed(r.Kind(), name)
		if !ok || !f.Present(r) {
			continue
		}
		parts = append(parts, said(f, Show(f, r, who)))
	}
	if note := logbook.HeadOf(r).Note; note != "" {
		parts = append(parts, spaced(note))
	}
	return strings.Join(parts, ", ")
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
func layout(p *logbook.Pack) []string {
	text := ""
	if p.Series.OK {
		text += logbook.FormatNumber(p.Series.V) + "s"
	}
	if p.Parallel.OK {
		text += logbook.FormatNumber(p.Parallel.V) + "p"
	}
	if c := p.CellCapacityAh; c.OK {
		text = strings.TrimSpace(text + " of " + units.Format(c.V, units.Ah, units.Metric))
	}
	if text == "" {
		return nil
	}
	return []string{text}
}

// selfEvident are quantities that need no name beside their unit.
var selfEvident = map[string]bool{
	"distance_km": true, "moving_speed_kmh": true, "discharged_ah": true, "discharged_wh": true,
	"charged_ah": true, "charged_wh": true, "ambient_c": true, "resistance_mohm": true,
	"name": true, "kind": true, "chemistry": true, "tyre": true, "mass_kg": true,
}

func said(f logbook.Field, text string) string {
	switch {
	case selfEvident[f.Name]:
		return strings.ReplaceAll(text, "_", " ")
	case f.Type == logbook.TypeFlag && text == "yes":
		return Label(f)
	case f.Type == logbook.TypeFlag:
		return "not " + Label(f)
	}
	return Label(f) + " " + text
}
