package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/store"
)

func newRemove(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:     "remove ID",
		Short:   "Take a record out of the log; it can be restored",
		GroupID: groupLog,
		Long: `Takes a record out of the log. Nothing is lost: "packwane undo" or "packwane
restore ID" brings it back, and "packwane export --history" still shows it.`,
		Example:           `  packwane remove ride-k3f9x2m7qa5c`,
		Args:              between(1, 1),
		ValidArgsFunction: a.completeAmend,
	}
	kind := addKindFlag(c)
	yes := c.Flags().BoolP("yes", "y", false, "do not ask before a pack or board goes")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.remove(args[0], *kind, *yes) }
	return c
}

func (a *app) remove(id, kind string, yes bool) error {
	var there logbook.Record
	err := a.read(func(s *store.Store) error {
		var err error
		there, err = findRecord(s, id, kind)
		return err
	})
	if err != nil {
		return err
	}
	h := logbook.HeadOf(there)
	if h.Removed {
		return wrong("%s %s is removed already", there.Kind(), id)
	}
	if err := a.agree(there, yes); err != nil {
		return err
	}
	err = a.change(func(s *store.Store) error {
		return s.Remove(there.Kind(), h.ID, h.Rev, "removed "+nameOf(there), a.now)
	})
	if err != nil {
		return err
	}
	return a.done(map[string]any{"removed": map[string]string{"record": there.Kind().String(), "id": h.ID}},
		"removed %s: `packwane restore %s` brings it back", nameOf(there), h.ID)
}

// agree asks before a pack or board is removed: without it the records that
// name it say little.
func (a *app) agree(r logbook.Record, yes bool) error {
	if !addable(r.Kind()) || yes {
		return nil
	}
	what := fmt.Sprintf("%s %s may be named by other records", r.Kind(), logbook.HeadOf(r).ID)
	return a.confirm(what, "remove", "removed")
}

// confirm asks whether to go on although something speaks against it, where a
// person can be asked; else --yes is the answer.
func (a *app) confirm(what, verb, done string) error {
	if !a.streams.canAsk() {
		return wrong("%s: --yes %ss it", what, verb)
	}
	ok, err := a.ask(what + ". " + prose.Capital(verb) + " it?")
	if err == nil && !ok {
		return wrong("nothing was %s", done)
	}
	return err
}

// done prints doc with --json, else the sentence.
func (a *app) done(doc any, format string, args ...any) error {
	if a.json {
		return a.printJSON(doc)
	}
	_, err := fmt.Fprint(a.streams.Out, wrap("", fmt.Sprintf(format, args...), a.streams.width()))
	return err
}

func newRestore(a *app) *cobra.Command {
	var rev int
	var yes bool
	c := &cobra.Command{
		Use:     "restore ID|BACKUP",
		Short:   "Bring back a removed record, an earlier revision, or a backup",
		GroupID: groupLog,
		Long: `Brings back a removed record or an earlier revision of one. Given a file that
"packwane backup" wrote, it puts a copy of that in the place of the store, once
it is verified; what stood there is kept beside it under a name with the date.`,
		Example: `  packwane list --removed
  packwane restore ride-k3f9x2m7qa5c
  packwane restore ride-k3f9x2m7qa5c --rev 1
  packwane restore /media/stick/log-2026-05.backup`,
		Args:              between(1, 1),
		ValidArgsFunction: a.completeRestore,
	}
	kind := addKindFlag(c)
	c.Flags().IntVar(&rev, "rev", 0, "the revision `N` to bring back (else the last before the removal)")
	c.Flags().BoolVarP(&yes, "yes", "y", false, "do not ask before a backup takes the place of the store")
	c.RunE = func(c *cobra.Command, args []string) error {
		if !c.Flags().Changed("rev") && *kind == "" {
			if file, err := a.namesFile(args[0]); err != nil {
				return err
			} else if file {
				return a.restoreBackup(args[0], yes)
			}
		}
		if c.Flags().Changed("rev") && rev < 1 {
			return wrong("--rev %d: want a whole number from 1", rev)
		}
		err := a.restore(args[0], *kind, rev)
		if isAny(err, store.ErrNotFound) && *kind == "" {
			err = fmt.Errorf("%w; there is no file of that name either", err)
		}
		return err
	}
	return c
}

func (a *app) restore(id, kind string, rev int) error {
	d := &draft{}
	err := a.read(func(s *store.Store) error {
		there, err := findRecord(s, id, kind)
		if err != nil {
			return err
		}
		if d.who, err = a.rider(s); err != nil {
			return err
		}
		revisions, err := s.Revisions(there.Kind(), logbook.HeadOf(there).ID)
		if err != nil {
			return err
		}
		d.seen = logbook.HeadOf(there).Rev
		d.record, err = chooseRevision(revisions, rev)
		return err
	})
	if err != nil {
		return err
	}
	return a.settle(d, keeping{}, "restored")
}

// chooseRevision returns a copy of revision rev, which may not be a removal; of
// the last one before the removal where rev is 0.
func chooseRevision(revisions []logbook.Record, rev int) (logbook.Record, error) {
	var found logbook.Record
	for _, r := range revisions {
		h := logbook.HeadOf(r)
		if !h.Removed && (rev == 0 || h.Rev == rev) {
			found = r
		}
	}
	last := revisions[len(revisions)-1]
	h := logbook.HeadOf(last)
	switch {
	case rev == 0 && !h.Removed:
		return nil, wrong("%s %s is in the log: --rev N brings back an earlier revision", last.Kind(), h.ID)
	case found == nil:
		return nil, wrong("%s %s has no revision %d to bring back: `packwane history %s` lists them", last.Kind(), h.ID, rev, h.ID)
	case string(logbook.Content(found)) == string(logbook.Content(last)):
		return nil, wrong("%s %s says what revision %d says already", last.Kind(), h.ID, rev)
	}
	return copyOf(found)
}
