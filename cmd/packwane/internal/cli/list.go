package cli

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/store"
)

// listing says which records to list.
type listing struct {
	pack          string
	kinds         []logbook.Kind // all where empty
	since, until  time.Time      // filed in this time; open where zero
	limit, offset int            // the latest so many (all where 0), after leaving out so many
	removed       bool           // the removed ones, instead of those in the log
}

func newList(a *app) *cobra.Command {
	var l listing
	var kinds []string
	var since, until string
	c := &cobra.Command{
		Use:     "list [PACK]",
		Short:   "List records, of one pack or all, with their ids",
		GroupID: groupLog,
		Long: `Lists records, boards and packs first and then in the order of time: on a
terminal the latest 40 unless --limit says otherwise, elsewhere all of them, as
columns parted by tabs or with --json as they are stored.

A long log is read page by page: --limit 40 --offset 40 lists the forty before
the latest forty.`,
		Example: `  packwane list kite-a --kind ride --limit 10
  packwane list --since 2026-04-01 --until 2026-04-30
  packwane list --limit 40 --offset 40
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
			if l.since, err = a.moment("since", since, false); err != nil {
				return err
			}
			if l.until, err = a.moment("until", until, true); err != nil {
				return err
			}
			if !l.until.IsZero() && l.until.Before(l.since) {
				return wrong("--until %q: want a time not before --since %s", until, since)
			}
			return a.list(l)
		},
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
	f := c.Flags()
	f.StringSliceVar(&kinds, "kind", nil, "only records of this `KIND` (may be given again)")
	f.StringVar(&since, "since", "", "only records from `TIME` on: 2026-04-01 or RFC 3339")
	f.StringVar(&until, "until", "", "only records up to `TIME`: 2026-04-30 (to its end) or RFC 3339")
	f.Var(&whole{n: &l.limit}, "limit", "only the latest `N`; 0 for all")
	f.Var(&whole{n: &l.offset}, "offset", "leave out the latest `N`, to page back")
	f.BoolVar(&l.removed, "removed", false, "what was removed, to be restored by its id")
	c.RegisterFlagCompletionFunc("kind", cobra.FixedCompletions(kindNames(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

// whole is a flag that takes a whole number from 0.
type whole struct{ n *int }

// String implements pflag.Value.
func (w *whole) String() string { return "" }

// Type implements pflag.Value.
func (w *whole) Type() string { return "N" }

// Set implements pflag.Value.
func (w *whole) Set(text string) error {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 {
		return errors.New("want a whole number from 0")
	}
	*w.n = n
	return nil
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
			return nil, wrong("--kind %q: want one of %s", name, prose.List(kindNames(), "or"))
		}
		kinds = append(kinds, k)
	}
	return kinds, nil
}

// list prints the records that l asks for, boards and packs first, then in the
// order of time. They pass one by one: a list of a million takes no more memory
// than one of a hundred. Whoever reads standard output may take their time, so
// the store is closed first.
func (a *app) list(l listing) error {
	asOf, err := a.asOf()
	if err != nil {
		return err
	}
	out := &spill{}
	defer out.close()
	sheet := a.sheetFor(out)
	total := 0
	err = a.read(func(s *store.Store) error {
		who, err := a.rider(s)
		if err != nil {
			return err
		}
		if l.pack != "" {
			p, err := findPack(s, l.pack)
			if err != nil {
				return err
			}
			l.pack = p.ID
		}
		sheet.begin(a, l, who)
		if rows, ok := sheet.(*rowSheet); ok && rows.things {
			if err := rows.lookUp(s, asOf); err != nil {
				return err
			}
		}
		total, err = s.List(a.query(l, asOf), sheet.add)
		return err
	})
	if err != nil && !errors.Is(err, errNoLog) {
		return err
	}
	shown, err := sheet.end()
	if err != nil {
		return err
	}
	if shown == 0 && a.streams.OutTerminal && !a.json {
		_, err := fmt.Fprintln(a.streams.Out, a.nothing(l, total))
		return err
	}
	if err := out.copyTo(a.streams.Out); err != nil {
		return err
	}
	return a.showLeft(l, total, shown)
}

// query turns a listing into what the store is asked.
func (a *app) query(l listing, asOf time.Time) store.Query {
	q := store.Query{Pack: l.pack, Kinds: l.kinds, From: l.since, Until: l.until, Removed: l.removed, Limit: l.limit, Offset: l.offset}
	if q.Limit == 0 && (a.streams.OutTerminal && !a.json) {
		q.Limit = mostRows
	} else if q.Limit == 0 && q.Offset > 0 {
		q.Limit = math.MaxInt
	}
	if a.asOfFlag != "" {
		q.Want = func(r logbook.Record) bool { return !logbook.EndOf(r).After(asOf) }
	}
	return q
}

// mostRows is how many rows a list without a limit shows on a terminal.
const mostRows = 40

// showLeft says what is not shown on a terminal, and how to see it.
func (a *app) showLeft(l listing, total, shown int) error {
	left := total - l.offset - shown
	if left <= 0 || !a.streams.OutTerminal || a.json {
		return nil
	}
	_, err := fmt.Fprintf(a.streams.Out, "%s earlier not shown: `--offset %d` goes on, `--limit %d` shows all\n", prose.Plural(left, "record"), l.offset+shown, total)
	return err
}

func (a *app) nothing(l listing, total int) string {
	path, _ := a.storePath()
	switch {
	case total > 0:
		return "nothing further back: there are " + prose.Plural(total, "such record")
	case l.removed:
		return "nothing was removed"
	case l.pack != "" || len(l.kinds) > 0 || !l.since.IsZero() || !l.until.IsZero():
		return "no such records"
	}
	return "no records yet in " + clean(path)
}
