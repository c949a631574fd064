package cli

import (
	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

func newAmend(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:     "amend ID NAME=VALUE...",
		Short:   "Change fields of a record; the earlier revision is kept",
		GroupID: groupLog,
		Long: `Changes fields of a record. What stood there before is kept as an earlier
revision (see "packwane history ID"). An empty value takes a field out.`,
		Example: `  packwane amend ride-k3f9x2m7qa5c distance="9.4 mi" tyre=
  packwane amend kite-a limit=32V`,
		Args:              between(2, -1),
		ValidArgsFunction: a.completeAmend,
	}
	how := addKeepFlags(c)
	kind := addKindFlag(c)
	c.RunE = func(_ *cobra.Command, args []string) error { return a.amend(args[0], args[1:], *kind, *how) }
	return c
}

func addKindFlag(c *cobra.Command) *string {
	kind := c.Flags().String("kind", "", "`KIND` of the record, where two kinds have the same id")
	c.RegisterFlagCompletionFunc("kind", cobra.FixedCompletions(kindNames(), cobra.ShellCompDirectiveNoFileComp))
	return kind
}

func (a *app) amend(id string, args []string, kind string, how keeping) error {
	plain, words := splitWords(args)
	if len(plain) > 0 {
		return wrong("%q: want name=value, such as note=\"a word\"", plain[0])
	}
	d := &draft{}
	err := a.read(func(s *store.Store) error {
		there, err := findRecord(s, id, kind)
		if err != nil {
			return err
		}
		if logbook.HeadOf(there).Removed {
			return wrong("%s %s was removed: `packwane restore %s` brings it back", there.Kind(), id, id)
		}
		return a.prepareAmendment(s, d, there, words)
	})
	if err != nil {
		return err
	}
	return a.settle(d, how, "amended")
}

// prepareAmendment fills the draft with a copy of the stored record, changed
// by words.
func (a *app) prepareAmendment(s *store.Store, d *draft, there logbook.Record, words []typed.Word) error {
	var err error
	if d.record, err = copyOf(there); err != nil {
		return err
	}
	if d.who, err = a.rider(s); err != nil {
		return err
	}
	if d.as, err = typed.Apply(d.record, words, d.who); err != nil {
		return asWrong(err)
	}
	if err := resolveRefs(s, d.record); err != nil {
		return err
	}
	d.seen = logbook.HeadOf(there).Rev
	if err := a.judge(s, d); err != nil {
		return err
	}
	d.known = string(logbook.Content(there)) == string(logbook.Content(d.record))
	d.same = "nothing changes in"
	return nil
}

// resolveRefs brings the pack and board that r names to their ids.
func resolveRefs(s *store.Store, r logbook.Record) error {
	pack, board := refsOf(r)
	if p, ok := r.(*logbook.Pack); ok {
		board = &p.Board
	}
	if pack != nil && *pack != "" {
		p, err := findPack(s, *pack)
		if err != nil {
			return err
		}
		*pack = p.ID
	}
	if board != nil && *board != "" {
		b, err := findBoard(s, *board)
		if err != nil {
			return err
		}
		*board = b.ID
	}
	return nil
}

func copyOf(r logbook.Record) (logbook.Record, error) {
	return logbook.ParseJSON(logbook.AppendJSON(nil, r))
}

// findRecord returns the latest revision of the record with that id.
func findRecord(s *store.Store, id, kind string) (logbook.Record, error) {
	if kind != "" {
		kinds, err := kindsNamed([]string{kind})
		if err != nil {
			return nil, err
		}
		r, err := s.Get(kinds[0], id)
		if err != nil {
			return nil, wrong("no %s %q: `packwane list` shows the ids", kinds[0], id)
		}
		return r, nil
	}
	found, err := s.Find(id)
	switch {
	case err != nil:
		return nil, err
	case len(found) == 0:
		return nil, wrong("no record %q: `packwane list` shows the ids", id)
	case len(found) > 1:
		return nil, wrong("a %s and a %s are called %q: say which with --kind", found[0].Kind(), found[1].Kind(), id)
	}
	return found[0], nil
}
