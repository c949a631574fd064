package cli

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

// listing says which records to list.
type listing struct {
	pack    string
	kinds   []logbook.Kind // all where empty
	limit   int            // the latest so many; all where 0
	removed bool           // the removed ones, instead of those in the log
}

func newList(a *app) *cobra.Command {
	var l listing
	var kinds []string
	c := &cobra.Command{
		Use:     "list [PACK]",
		Short:   "List records, of one pack or all, with their ids",
		GroupID: groupLog,
		Example: `  packwane list kite-a --kind ride --limit 10
  packwane list --removed`,
		Args: between(0, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				l.pack = args[0]
			}
			var err error
			if l.kinds, err = kindsNamed(kinds); err != nil {
				return err
			}
			if l.limit < 0 {
				return wrong("--limit %d: want a whole number from 1, or 0 for all", l.limit)
			}
			return a.list(l)
		},
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
	c.Flags().StringSliceVar(&kinds, "kind", nil, "only records of this `KIND` (may be given again)")
	c.Flags().IntVar(&l.limit, "limit", 0, "only the latest `N`")
	c.Flags().BoolVar(&l.removed, "removed", false, "what was removed, to be restored by its id")
	c.RegisterFlagCompletionFunc("kind", cobra.FixedCompletions(kindNames(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

func kindNames() []string {
	var names []string
	for _, k := range logbook.Kinds {
		names = append(names, k.String())
	}
	return names
}

func kindsNamed(names []string) ([]logbook.Kind, error) {
	var kinds []logbook.Kind
	for _, name := range names {
		k, ok := logbook.KindOf(strings.TrimSuffix(strings.ToLower(name), "s"))
		if !ok {
			return nil, wrong("--kind %q: want one of %s", name, listWords(kindNames(), "or"))
		}
		kinds = append(kinds, k)
	}
	return kinds, nil
}

// list prints the records that l asks for, boards and packs first, then in the
// order of time.
func (a *app) list(l listing) error {
	asOf, err := a.asOf()
	if err != nil {
		return err
	}
	var records []logbook.Record
	var who typed.Rider
	err = a.read(func(s *store.Store) error {
		if who, err = a.rider(s); err != nil {
			return err
		}
		if l.pack != "" {
			p, err := findPack(s, l.pack)
			if err != nil {
				return err
			}
			l.pack = p.ID
		}
		for r, err := range source(s, l) {
			if err != nil {
				return err
			}
			if l.wants(r) && (a.asOfFlag == "" || !logbook.EndOf(r).After(asOf)) {
				records = append(records, r)
			}
		}
		return nil
	})
	if err != nil && !errors.Is(err, errNoLog) {
		return err
	}
	slices.SortStableFunc(records, logbook.Compare)
	return a.showList(records, l, who)
}

// source gives at least the records that l may want.
func source(s *store.Store, l listing) iter.Seq2[logbook.Record, error] {
	switch {
	case l.removed:
		return latest(s.All(true))
	case l.pack == "":
		return s.All(false)
	}
	return func(yield func(logbook.Record, error) bool) {
		records, err := s.PackRecords(l.pack)
		if err != nil {
			yield(nil, err)
			return
		}
		for _, r := range records {
			if !yield(r, nil) {
				return
			}
		}
	}
}

func (l listing) wants(r logbook.Record) bool {
	return logbook.HeadOf(r).Removed == l.removed &&
		(l.pack == "" || logbook.PackOf(r) == l.pack) &&
		(len(l.kinds) == 0 || slices.Contains(l.kinds, r.Kind()))
}

// latest gives the last revision of each record only; revisions of a record
// follow each other in any order.
func latest(all iter.Seq2[logbook.Record, error]) iter.Seq2[logbook.Record, error] {
	return func(yield func(logbook.Record, error) bool) {
		type key struct {
			kind logbook.Kind
			id   string
		}
		last := map[key]logbook.Record{}
		for r, err := range all {
			if err != nil {
				yield(nil, err)
				return
			}
			k := key{r.Kind(), logbook.HeadOf(r).ID}
			if o := last[k]; o == nil || logbook.HeadOf(o).Rev < logbook.HeadOf(r).Rev {
				last[k] = r
			}
		}
		for _, r := range last {
			if !yield(r, nil) {
				return
			}
		}
	}
}

// mostRows is how many rows a list without a limit shows on a terminal.
const mostRows = 40

func (a *app) showList(records []logbook.Record, l listing, who typed.Rider) error {
	limit, left := l.limit, 0
	if limit == 0 && a.streams.OutTerminal && !a.json {
		limit = mostRows
	}
	if limit > 0 && len(records) > limit {
		left = len(records) - limit
		records = records[left:]
	}
	if a.json {
		out := make([]stored, len(records))
		for i, r := range records {
			out[i] = stored{r}
		}
		return a.printJSON(out)
	}
	if len(records) == 0 && a.streams.OutTerminal {
		_, err := fmt.Fprintln(a.streams.Out, a.nothing(l))
		return err
	}
	if err := a.listTable(records, l, who).write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink()); err != nil {
		return err
	}
	if left > 0 && a.streams.OutTerminal {
		_, err := fmt.Fprintf(a.streams.Out, "%s earlier not shown: `--limit %d` shows all\n", plural(left, "record"), left+len(records))
		return err
	}
	return nil
}

func (a *app) nothing(l listing) string {
	path, _ := a.storePath()
	switch {
	case l.removed:
		return "nothing was removed"
	case l.pack != "" || len(l.kinds) > 0:
		return "no such records"
	}
	return "no records yet in " + clean(path)
}

// listTable lays the records out: in a pipe every column, on a terminal those
// that tell something.
func (a *app) listTable(records []logbook.Record, l listing, who typed.Rider) *table {
	things := len(l.kinds) == 1 && addable(l.kinds[0])
	show := map[string]bool{
		"when": !things, "record": !a.streams.OutTerminal && !things,
		"id": true, "of": l.pack == "" && !things, "what": true,
	}
	var heads []string
	for _, h := range []string{"when", "record", "id", "of", "what"} {
		if show[h] {
			heads = append(heads, h)
		}
	}
	t := newTable(heads...)
	for _, r := range records {
		id, what := logbook.HeadOf(r).ID, typed.Summary(r, who)
		if a.streams.OutTerminal && !things && nameOf(r) != id {
			what = strings.TrimSuffix(r.Kind().String()+", "+what, ", ")
		}
		of := logbook.PackOf(r)
		if of == "" || r.Kind() == logbook.KindPack {
			of = logbook.BoardOf(r)
		}
		cells := map[string]string{"when": a.when(logbook.AtOf(r)), "record": r.Kind().String(), "id": id, "of": of, "what": what}
		row := make([]string, len(heads))
		for i, h := range heads {
			row[i] = cells[h]
		}
		t.add(row...)
	}
	return t
}
