package cli

import (
	"strings"
	"time"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/units"
	"packwane/store"
)

func newUndo(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "undo",
		Short:   "Take back the last change; again, the one before",
		GroupID: groupLog,
		Long: `Takes back the last change of the log: what was added is removed, what was
changed or removed is as it was. Undo again takes back the change before that,
and "packwane redo" goes the other way. No revision is ever lost.`,
		Example: `  packwane undo
  packwane history`,
		Args: between(0, 0),
		RunE: func(*cobra.Command, []string) error {
			return a.walk("undone", (*store.Store).Undo)
		},
	}
}

func newRedo(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "redo",
		Short:   "Make again the change that was last undone",
		GroupID: groupLog,
		Example: `  packwane undo
  packwane redo`,
		Args: between(0, 0),
		RunE: func(*cobra.Command, []string) error {
			return a.walk("made again", (*store.Store).Redo)
		},
	}
}

func (a *app) walk(verb string, step func(*store.Store, time.Time) (store.Action, error)) error {
	var done store.Action
	err := a.read(func(*store.Store) error { return nil }) // a missing store is not to be made here
	if err != nil {
		return err
	}
	err = a.change(func(s *store.Store) error {
		var err error
		done, err = step(s, a.now)
		return err
	})
	if err != nil {
		return err
	}
	return a.done(actionOf(done), "%s: %s, %s", verb, done.Why, units.FormatTime(done.At, a.now))
}

// actionJSON is one change of the log.
type actionJSON struct {
	At     time.Time `json:"at"`
	Action string    `json:"action"` // import, put, remove, undo, redo
	What   string    `json:"what"`   // what was done; of an undo or redo, what it was about
	Undone bool      `json:"undone"` // by a later action
}

func actionOf(x store.Action) actionJSON { return actionJSON{x.At, string(x.Op), x.Why, x.Undone} }

func newHistory(a *app) *cobra.Command {
	var limit int
	c := &cobra.Command{
		Use:     "history [ID]",
		Short:   "Show the last changes, or every revision of a record",
		GroupID: groupLog,
		Example: `  packwane history
  packwane history ride-k3f9x2m7qa5c`,
		Args:              between(0, 1),
		ValidArgsFunction: a.completeRestore,
	}
	kind := addKindFlag(c)
	c.Flags().IntVar(&limit, "limit", 20, "show the last `N` changes")
	c.RunE = func(_ *cobra.Command, args []string) error {
		if limit < 1 {
			return wrong("--limit %d: want a whole number from 1", limit)
		}
		if len(args) == 1 {
			return a.revisions(args[0], *kind)
		}
		return a.changes(limit)
	}
	return c
}

func (a *app) changes(limit int) error {
	var actions []store.Action
	err := a.read(func(s *store.Store) error {
		var err error
		actions, err = s.Actions(limit)
		return err
	})
	if err != nil {
		return err
	}
	if a.json {
		out := []actionJSON{}
		for _, x := range actions {
			out = append(out, actionOf(x))
		}
		return a.printJSON(out)
	}
	t := newTable("when", "what")
	for _, x := range actions {
		t.add(a.when(x.At), actionWords(x))
	}
	return t.write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink())
}

// actionWords says what an action did.
func actionWords(x store.Action) string {
	words := x.Words()
	if x.Undone {
		words += " (undone since)"
	}
	return words
}

// when writes a time for the reader: as people say it on a terminal, RFC 3339
// in a pipe; "" for none.
func (a *app) when(t time.Time) string {
	switch {
	case t.IsZero():
		return ""
	case a.streams.OutTerminal:
		return units.FormatTime(t, a.now)
	}
	return logbook.FormatTime(t)
}

// revisions prints every revision of a record and what changed from one to the
// next.
func (a *app) revisions(id, kind string) error {
	var all []logbook.Record
	var who typed.Rider
	err := a.read(func(s *store.Store) error {
		r, err := findRecord(s, id, kind)
		if err != nil {
			return err
		}
		if who, err = a.rider(s); err != nil {
			return err
		}
		all, err = s.Revisions(r.Kind(), logbook.HeadOf(r).ID)
		return err
	})
	if err != nil {
		return err
	}
	if a.json {
		out := make([]stored, len(all))
		for i, r := range all {
			out[i] = stored{r}
		}
		return a.printJSON(out)
	}
	t := newTable(">rev", "what it says")
	for i, r := range all {
		what := typed.Summary(r, who)
		if i > 0 {
			what = difference(all[i-1], r, who)
		}
		t.add(itoa(logbook.HeadOf(r).Rev), what)
	}
	return t.write(a.streams.Out, a.streams.OutTerminal, a.streams.width(), a.ink())
}

// difference says what changed from one revision to the next.
func difference(from, to logbook.Record, who typed.Rider) string {
	if logbook.HeadOf(to).Removed {
		return "removed"
	}
	var words []string
	for _, c := range typed.Changes(from, to, who) {
		words = append(words, c.Label+" "+orNone(c.Was)+" -> "+orNone(c.Is))
	}
	if words == nil {
		return "as before"
	}
	return strings.Join(words, "; ")
}

func orNone(s string) string {
	if s == "" {
		return "(none)"
	}
	return s
}
