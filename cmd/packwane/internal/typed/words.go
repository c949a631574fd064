package typed

import (
	"strings"

	"packwane/health/logbook"
	"packwane/health/prose"
)

// NameOf says which record one of kind k and that id is: "ride-k3f9x2m7qa5c",
// whose id says its kind, "pack kite-a".
func NameOf(k logbook.Kind, id string) string {
	if strings.HasPrefix(id, k.String()+"-") {
		return id
	}
	return k.String() + " " + id
}

// Counts says "1 board, 2 packs, 40 rides"; "" where all are 0.
func Counts(counts map[logbook.Kind]int) string {
	var parts []string
	for _, k := range logbook.Kinds {
		if n := counts[k]; n > 0 {
			parts = append(parts, prose.Plural(n, k.String()))
		}
	}
	return strings.Join(parts, ", ")
}

// PackParts says in a few words each what a pack is and what the log holds of it.
func PackParts(h *logbook.History) []string {
	p := h.Pack
	var parts []string
	if p.Chemistry != "" {
		parts = append(parts, p.Chemistry)
	}
	if p.Series.OK && p.Parallel.OK {
		parts = append(parts, groups(p))
	}
	if p.Board != "" {
		parts = append(parts, "on "+p.Board)
	}
	kept := Counts(map[logbook.Kind]int{logbook.KindRide: len(h.Rides), logbook.KindCharge: len(h.Charges), logbook.KindCheck: len(h.Checks)})
	if at := h.RetiredAt(); !at.IsZero() {
		parts = append(parts, "retired "+h.Day(at))
	}
	if kept == "" {
		return append(parts, "nothing logged yet")
	}
	return append(parts, strings.Split(kept, ", ")...)
}

// Change is a field that differs between two revisions; Was or Is is "" where
// the field was or is absent.
type Change struct{ Label, Was, Is string }

// Changes lists what differs from one revision of a record to the next, in the
// rider's units.
func Changes(from, to logbook.Record, who Rider) []Change {
	var out []Change
	for _, f := range Settable(to.Kind()) {
		if f.Text(from) != f.Text(to) {
			out = append(out, Change{Label(f), Show(f, from, who), Show(f, to, who)})
		}
	}
	return out
}

// ShowText writes the text of a field, as in a CSV cell, for people; a text that
// the field does not take stays as it is.
func ShowText(k logbook.Kind, f logbook.Field, text string, who Rider) string {
	r := logbook.New(k)
	if err := f.SetText(r, text); err != nil {
		return text
	}
	return Show(f, r, who)
}
