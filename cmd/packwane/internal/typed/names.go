// Package typed turns what a person types into the fields of a record, and a
// record back into lines that a person reads. The command line and the forms
// of the web page share it, so that both understand the same words.
//
// A field may be called by its full name with the unit in it (distance_km,
// where a bare number is in that unit) or without the unit (distance, where a
// bare number is in the rider's own units). Hyphens may stand for underscores.
package typed

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// suffixes are the endings by which field names say their unit.
var suffixes = map[units.Unit]string{
	units.Km: "_km", units.Kmh: "_kmh", units.Kg: "_kg", units.Kpa: "_kpa",
	units.Celsius: "_c", units.Min: "_min", units.Ah: "_ah", units.Wh: "_wh",
	units.Volt: "_v", units.Ampere: "_a", units.Mohm: "_mohm",
	units.Millivolt: "_mv", units.Pct: "_pct", units.Metre: "_m",
	units.Second: "_s", units.Days: "_days", units.Degree: "_deg",
}

// shorter are further names, for what riders call some fields. They hold for
// every kind that has the field.
var shorter = map[string]string{
	"temp":             "ambient_c",
	"temperature":      "ambient_c",
	"pack_temp":        "pack_c",
	"pack_temperature": "pack_c",
	"rider_mass":       "rider_kg",
	"pressure":         "tyre_kpa",
	"spread":           "cell_spread_mv",
	"speed":            "moving_speed_kmh",
}

// Base returns the name of f without its unit.
func Base(f logbook.Field) string {
	return strings.TrimSuffix(f.Name, suffixes[f.Unit])
}

// labels are for fields whose name says too little without its unit.
var labels = map[string]string{
	"min_v":     "lowest volts",
	"pack_c":    "pack temperature",
	"rider_kg":  "rider mass",
	"error_pct": "meter error",
}

// Label returns what f is called in a sentence or a form: "start rest".
func Label(f logbook.Field) string {
	if label, ok := labels[f.Name]; ok {
		return label
	}
	return prose.Spaced(Base(f))
}

// Name is one name that a kind's fields can be called by.
type Name struct {
	Text   string          // with underscores
	Fields []logbook.Field // one, or several that differ in their unit (charged: Ah and Wh)
	Full   bool            // the field's own name
	// beside are quantities that a person may mean by the name of a text: the mass
	// of a rider, the pressure of a tyre.
	beside []logbook.Field
}

// Names lists every name of the fields of kind k that a person may set, full
// names first, each once. The slice is shared: do not change it.
func Names(k logbook.Kind) []Name { return named[k]() }

func makeNames(k logbook.Kind) []Name {
	var full, loose []Name
	for _, f := range Settable(k) {
		full = append(full, Name{f.Name, []logbook.Field{f}, true, beside(k, f)})
	}
	join := func(text string, f logbook.Field) {
		if slices.ContainsFunc(full, func(n Name) bool { return n.Text == text }) {
			return // a field's own name goes first: rider is who, not how heavy
		}
		for i := range loose {
			if loose[i].Text == text {
				loose[i].Fields = append(loose[i].Fields, f)
				return
			}
		}
		loose = append(loose, Name{Text: text, Fields: []logbook.Field{f}})
	}
	for _, f := range Settable(k) {
		join(Base(f), f)
	}
	for _, word := range slices.Sorted(mapKeys(shorter)) {
		if f, ok := logbook.FieldNamed(k, shorter[word]); ok {
			join(word, f)
		}
	}
	return append(full, loose...)
}

func beside(k logbook.Kind, text logbook.Field) []logbook.Field {
	var out []logbook.Field
	if text.Type != logbook.TypeText || text.Name == "pack" || text.Name == "board" {
		return nil
	}
	for _, f := range Settable(k) {
		if base := Base(f); f.Type == logbook.TypeNumber && (base == text.Name || base == "ref_"+text.Name) {
			out = append(out, f)
		}
	}
	return out
}

func mapKeys(m map[string]string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// Settable lists the fields of kind k that a person gives: all but id, rev and
// removed. The slice is shared: do not change it.
func Settable(k logbook.Kind) []logbook.Field { return settable[k]() }

// These lists are made once a kind, when they are first asked for: most calls of
// the program ask for none.
var settable, named, briefOf = perKind(makeSettable), perKind(makeNames), perKind(makeBrief)

func perKind[T any](make func(logbook.Kind) T) (lists [len(logbook.Kinds) + 1]func() T) {
	for _, k := range logbook.Kinds {
		lists[k] = sync.OnceValue(func() T { return make(k) })
	}
	return lists
}

func makeSettable(k logbook.Kind) []logbook.Field {
	var out []logbook.Field
	for _, f := range logbook.Fields(k) {
		if f.Name != "id" && f.Name != "rev" && f.Name != "removed" {
			out = append(out, f)
		}
	}
	return out
}

// Find returns the name that text stands for among those of kind k.
func Find(k logbook.Kind, text string) (Name, error) {
	wanted := strings.ToLower(strings.ReplaceAll(text, "-", "_"))
	names := Names(k)
	all := make([]string, len(names))
	for i, n := range names {
		if n.Text == wanted {
			return n, nil
		}
		all[i] = n.Text
	}
	hint := ""
	if near, ok := Nearest(wanted, all); ok {
		hint = fmt.Sprintf(": did you mean %q?", near)
	}
	return Name{}, fmt.Errorf("a %s has no field %q%s", k, text, hint)
}

// Nearest returns the candidate that word most likely meant, if one is near:
// at most a third of its letters wrong, or begun alike.
func Nearest(word string, candidates []string) (string, bool) {
	best, least := "", len(word)/3+1
	for _, c := range candidates {
		d := logbook.EditDistance(strings.ToLower(word), strings.ToLower(c))
		if len(word) >= 3 && strings.HasPrefix(strings.ToLower(c), strings.ToLower(word)) {
			d = min(d, 1)
		}
		if d <= least && (best == "" || d < least) {
			best, least = c, d
		}
	}
	return best, best != ""
}
