package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/prose"
	"packwane/health/trace"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "POST " + importPath + "/trace", serve: (*visit).keepTrace})

// traceTime is how long a time series may take: a small packed file can hold
// very many rows.
const traceTime = 2 * time.Minute

// importTrace reads a time series and shows it; nothing is kept yet.
func (v *visit) importTrace(in io.Reader, name string, from importAsk) (reply, error) {
	from, err := v.ofPack(from)
	if err != nil {
		return nil, err
	}
	if from.pack == "" {
		return v.importFault("This is a time series, and the log holds no pack that it could be of: add the pack first.", name, from)
	}
	ask, err := v.traceAsk(name, from)
	var p *problem
	if errors.As(err, &p) {
		return v.importFault(p.text, name, from)
	}
	ctx, stop := context.WithTimeout(v.Context(), traceTime)
	defer stop()
	select {
	case v.s.reading <- struct{}{}:
		defer func() { <-v.s.reading }()
	case <-ctx.Done():
		return nil, problemRate
	}
	d, err := v.s.Desk.Trace(ctx, in, ask, v.who)
	if errors.Is(ctx.Err(), context.DeadlineExceeded) {
		return v.importFault("It takes too long to read here. Read it with `packwane trace`.", name, from)
	}
	if err != nil {
		return nil, err
	}
	return v.showTrace(d, name, from)
}

// ofPack fills in the pack that is meant where none is named.
func (v *visit) ofPack(ask importAsk) (importAsk, error) {
	_, p, err := v.meant(ask.pack)
	if p != nil {
		ask.pack = p.ID
	}
	return ask, err
}

// showTrace shows how a time series was read and what it would add.
func (v *visit) showTrace(d *TraceDraft, name string, ask importAsk) (reply, error) {
	picture, err := pictures.Trace(d.Read, v.now.Location())
	if err != nil {
		return nil, err
	}
	drawn, err := draw("Volts and amperes", picture)
	if err != nil {
		return nil, err
	}
	segments, err := v.segmentsRead(d.Read)
	if err != nil {
		return nil, err
	}
	key := v.s.held.put(&heldFile{name: name, pack: d.Pack.ID, trace: d})
	doc := document{Title: "Is this right?", Up: link{importPath, "Import"}}
	doc.Lead = fmt.Sprintf("This is how %s was read, a log of volts and amperes for %s. Nothing is kept yet.", name, nameOf(d.Pack))
	doc.Blocks = []block{v.columnsRead(d.Read.Proposal), firstRows(d.Read.Proposal), drawn, segments}
	var remarks notes
	for _, w := range d.Read.Warnings {
		remarks.Text = append(remarks.Text, prose.Sentence(w.Text))
	}
	again := link{address(importPath, "pack", d.Pack.ID, "map", d.Read.Mapping.String(), "start", ask.start), "Read the file another way"}
	form := sending{Path: importPath + "/trace", Hidden: []pair{{"file", key}}}
	save := tick{Name: "map", Text: "Read the next files of the pack in this way"}
	switch what := typed.Counts(d.Count); {
	case what != "":
		form.Tick, form.Buttons = save, []pressing{{Text: "Add " + what}}
	case len(d.Read.Counts) > 0:
		doc.Blocks = append(doc.Blocks, words{Text: []string{"The log holds all of this already."}})
	default:
		doc.Blocks = append(doc.Blocks, words{Text: []string{"There is nothing in it to add."}})
	}
	if len(form.Buttons) == 0 {
		form.Buttons = []pressing{{"map", "yes", "Read the next files of the pack in this way"}}
	}
	doc.Blocks = append(doc.Blocks, remarks, form, words{Links: []link{again}})
	return documentOf("/more", doc), nil
}

// columnsRead says which column is what.
func (v *visit) columnsRead(p *trace.Proposal) block {
	t := tableBlock{Caption: "Which column is what", Heads: []string{"read as", "column", "unit"}}
	for _, c := range p.Columns {
		t.Rows = append(t.Rows, row{Cells: []string{prose.Spaced(c.Role), c.Column, c.Unit}})
	}
	if len(p.Unused) > 0 {
		t.Note = "Not used: " + strings.Join(p.Unused, ", ") + "."
	}
	return t
}

// firstRows are the first rows, as they are read.
func firstRows(p *trace.Proposal) block {
	t := tableBlock{Caption: "The first rows, as they are read", Wide: true}
	for _, c := range p.Columns {
		t.Heads = append(t.Heads, strings.TrimSpace(prose.Spaced(c.Role)+" "+c.Shown))
	}
	for _, cells := range p.Rows {
		t.Rows = append(t.Rows, row{Cells: cells})
	}
	return t
}

// mostSegments is how many segments the page lists: the latest.
const mostSegments = 400

// segmentsRead lists what went on, and the sums.
func (v *visit) segmentsRead(r *trace.Result) (block, error) {
	of := func(x float64, u units.Unit) string {
		const noise = 5e-4
		if x < noise {
			x = 0
		}
		return units.Format(x, u, v.who.System)
	}
	t := tableBlock{Caption: "What was found", Wide: true, Heads: []string{"what", "from", "for", "in", "out", "told by"}}
	n := 0
	for s, err := range r.Segments() {
		if err != nil {
			return nil, err
		}
		if s.Brief() {
			continue
		}
		n++
		from := of(s.Seconds[0]/60, units.Min)
		if r.Dated {
			from = v.when(s.Start)
		}
		t.Rows = append(t.Rows, row{Cells: []string{s.Kind.String(), from, of((s.Seconds[1]-s.Seconds[0])/60, units.Min),
			of(s.ChargedAh, units.Ah), of(s.DischargedAh, units.Ah), s.Told()}})
		if len(t.Rows) > mostSegments {
			t.Rows = t.Rows[1:]
		}
	}
	t.Note = fmt.Sprintf("%s: in %s, %s; out %s, %s.", prose.Plural(r.Rows, "row"),
		of(r.ChargedAh, units.Ah), of(r.ChargedWh, units.Wh), of(r.DischargedAh, units.Ah), of(r.DischargedWh, units.Wh))
	if hidden := n - len(t.Rows); hidden > 0 {
		t.Note += " " + prose.Plural(hidden, "earlier part") + " not shown."
	}
	return t, nil
}

// keepTrace adds what a time series told that was looked at.
func (v *visit) keepTrace() (reply, error) {
	if err := v.form(); err != nil {
		return nil, err
	}
	key := v.PostFormValue("file")
	f, ok := v.s.held.get(key)
	if !ok || f.trace == nil {
		return v.importFault("That file was kept already, or was read too long ago. Choose it again.", "", importAsk{})
	}
	if err := v.read(nil); err != nil {
		return nil, err
	}
	summary, err := f.trace.Keep(v.PostFormValue("map") == "yes")
	if err != nil {
		return nil, err
	}
	v.s.held.drop(key)
	return v.imported(summary, f.name, importAsk{pack: f.pack})
}
