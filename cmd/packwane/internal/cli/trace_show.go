package cli

import (
	"fmt"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/trace"
	"packwane/health/units"
	"packwane/store"
)

// traceJSON is the document of trace.
type traceJSON struct {
	trace.Document
	Pack      string         `json:"pack"`
	Added     map[string]int `json:"added"`
	Changed   map[string]int `json:"changed"`
	Unchanged map[string]int `json:"unchanged"`
	Records   []stored       `json:"records"`
}

func (a *app) showTrace(read *trace.Result, on *traceOn, sum store.Summary, records []logbook.Record, t tracing) error {
	if a.json {
		doc := traceJSON{read.Document(), on.pack.ID, byName(sum.Added), byName(sum.Changed), byName(sum.Unchanged), []stored{}}
		for _, r := range records {
			doc.Records = append(doc.Records, stored{r})
		}
		return a.printJSON(doc)
	}
	out, wide := a.streams.Out, a.streams.width()
	for _, step := range []func() error{
		func() error { return a.showColumns(read.Proposal) },
		func() error { return a.showSegments(read, on.who) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	for _, w := range read.Warnings {
		fmt.Fprint(out, wrap("Note: ", w.Text, wide))
	}
	if t.saveMap && !t.dryRun {
		fmt.Fprintf(out, "Map kept for %s: %s\n", on.pack.ID, clean(read.Mapping.String())) // whole, to be copied
	}
	if t.dryRun {
		fmt.Fprintf(out, "nothing added: %s to add\n", orNone(kindCounts(kindsOf(records))))
		return nil
	}
	return a.showSummary(sum)
}

func kindsOf(records []logbook.Record) map[logbook.Kind]int {
	out := map[logbook.Kind]int{}
	for _, r := range records {
		out[r.Kind()]++
	}
	return out
}

// showColumns shows which column is what and the first rows as they are read.
func (a *app) showColumns(p *trace.Proposal) error {
	var heads []string
	for _, c := range p.Columns {
		head := strings.ReplaceAll(c.Role, "_", " ")
		if c.Shown != "" {
			head += " " + c.Shown
		}
		heads = append(heads, head)
	}
	table := newTable(heads...)
	for _, row := range p.Rows {
		table.add(row...)
	}
	for _, c := range p.Columns {
		fmt.Fprintln(a.streams.Out, fit(fmt.Sprintf("%s: column %s", strings.ReplaceAll(c.Role, "_", " "), clean(c.Column)), a.streams.width()))
	}
	if len(p.Unused) > 0 {
		fmt.Fprint(a.streams.Out, wrap("not used: ", clean(strings.Join(p.Unused, ", ")), a.streams.width()))
	}
	return table.write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink())
}

// showSegments prints the segments and the sums.
func (a *app) showSegments(read *trace.Result, who typed.Rider) error {
	f := func(v float64, u units.Unit) string {
		if v < 5e-4 { // noise about zero
			v = 0
		}
		return units.Format(v, u, who.System)
	}
	table := newTable("segment", "from", "to", "in", "out", "told by")
	for _, s := range read.Segments {
		if s.Brief() {
			continue
		}
		from, to := s.Start.Format("2006-01-02 15:04"), s.End.Format("15:04")
		if !read.Dated {
			from, to = f(s.Seconds[0]/60, units.Min), f(s.Seconds[1]/60, units.Min)
		}
		told := s.Stop
		if s.Full == logbook.Yes {
			told = "full"
		}
		table.add(s.Kind.String(), from, to, f(s.ChargedAh, units.Ah)+" "+f(s.ChargedWh, units.Wh), f(s.DischargedAh, units.Ah)+" "+f(s.DischargedWh, units.Wh), told)
	}
	if err := table.write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink()); err != nil {
		return err
	}
	_, err := fmt.Fprintf(a.streams.Out, "%s rows: in %s, %s; out %s, %s\n", count(int(read.Rows)),
		f(read.ChargedAh, units.Ah), f(read.ChargedWh, units.Wh), f(read.DischargedAh, units.Ah), f(read.DischargedWh, units.Wh))
	return err
}
