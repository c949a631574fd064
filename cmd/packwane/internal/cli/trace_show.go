package cli

import (
	"bufio"
	"encoding/json"
	"fmt"
	"iter"
	"math"
	"strconv"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/prose"
	"packwane/health/trace"
	"packwane/health/units"
	"packwane/store"
)

// traceJSON is the document of trace.
type traceJSON struct {
	trace.Document
	Pack      string                            `json:"pack"`
	Added     map[string]int                    `json:"added"`
	Changed   map[string]int                    `json:"changed"`
	Unchanged map[string]int                    `json:"unchanged"`
	Records   iter.Seq2[json.RawMessage, error] `json:"records"`
}

func (a *app) showTrace(read *trace.Result, on *traceOn, sum store.Summary, fresh *gathered, t tracing) error {
	if a.json {
		return a.streamJSON(traceJSON{read.Document(), on.pack.ID, byName(sum.Added), byName(sum.Changed), byName(sum.Unchanged), fresh.documents()})
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
		fmt.Fprintf(out, "nothing added: %s to add\n", orNone(typed.Counts(fresh.count)))
		return nil
	}
	return a.showSummary(sum)
}

// showColumns shows which column is what and the first rows as they are read.
// The voltages of the series groups share one column of the table.
func (a *app) showColumns(p *trace.Proposal) error {
	groups := trace.Groups.String()
	var heads, of []string
	in := map[string][]string{} // the columns of the file, by what they are
	for _, c := range p.Columns {
		if in[c.Role] == nil {
			of = append(of, c.Role)
		}
		if in[c.Role] = append(in[c.Role], clean(c.Column)); c.Role == groups && len(in[groups]) > 1 {
			continue
		}
		heads = append(heads, strings.TrimSpace(prose.Spaced(c.Role)+" "+c.Shown))
	}
	table := newTable(heads...)
	for _, row := range p.Rows {
		table.add(joinGroups(p.Columns, row, groups)...)
	}
	for _, role := range of {
		word := "column "
		if len(in[role]) > 1 {
			word = "columns "
		}
		fmt.Fprint(a.streams.Out, wrap(prose.Spaced(role)+": ", word+strings.Join(in[role], ", "), a.streams.width()))
	}
	if len(p.Unused) > 0 {
		fmt.Fprint(a.streams.Out, wrap("not used: ", clean(strings.Join(p.Unused, ", ")), a.streams.width()))
	}
	return table.write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink())
}

// joinGroups makes one cell of those of the series groups: the lowest to the
// highest as they are read.
func joinGroups(columns []trace.ProposedColumn, row []string, groups string) []string {
	var out []string
	at, low, high := -1, math.Inf(1), math.Inf(-1)
	for i, cell := range row {
		if columns[i].Role != groups {
			out = append(out, cell)
			continue
		}
		if at < 0 {
			at, out = len(out), append(out, "")
		}
		if v, err := strconv.ParseFloat(cell, 64); err == nil {
			low, high = min(low, v), max(high, v)
			out[at] = strconv.FormatFloat(low, 'f', -1, 64) + " to " + strconv.FormatFloat(high, 'f', -1, 64)
		}
	}
	return out
}

// showSegments prints the segments and the sums. On a terminal only the latest
// stand there where there are many: elsewhere, and in JSON, all of them.
func (a *app) showSegments(read *trace.Result, who typed.Rider) error {
	heads := []string{"segment", "from", "to", "in", "out", "told by"}
	table := newTable(heads...)
	out := bufio.NewWriter(a.streams.Out)
	if !a.streams.OutTerminal {
		writeTabs(out, heads)
	}
	n := 0
	for s, err := range read.Segments() {
		if err != nil {
			return err
		}
		if s.Brief() {
			continue
		}
		n++
		row := segmentRow(&s, read.Dated, who)
		if !a.streams.OutTerminal {
			writeTabs(out, row)
			continue
		}
		if table.add(row...); len(table.rows) > mostRows {
			table.rows = table.rows[1:]
		}
	}
	if a.streams.OutTerminal {
		table.writeAligned(out, a.streams.width(), a.ink())
		if hidden := n - len(table.rows); hidden > 0 {
			fmt.Fprint(out, wrap("", prose.Plural(hidden, "earlier segment")+" not shown; a pipe, a file or --json has them all", a.streams.width()))
		}
	}
	fmt.Fprintf(out, "%s rows: in %s; out %s\n", prose.Grouped(read.Rows), flow(read.ChargedAh, read.ChargedWh), flow(read.DischargedAh, read.DischargedWh))
	return out.Flush()
}

func flow(ah, wh float64) string { return fmt.Sprintf("%.3f Ah %.1f Wh", ah, wh) }

func segmentRow(s *trace.Segment, dated bool, who typed.Rider) []string {
	from, to := s.Start.Format("2006-01-02 15:04"), s.End.Format("15:04")
	if !dated {
		minutes := func(seconds float64) string { return units.Format(seconds/60, units.Min, who.System) }
		from, to = minutes(s.Seconds[0]), minutes(s.Seconds[1])
	}
	return []string{s.Kind.String(), from, to, flow(s.ChargedAh, s.ChargedWh), flow(s.DischargedAh, s.DischargedWh), s.Told()}
}
