package cli

import (
	"github.com/spf13/cobra"

	"packwane/store"
)

func newBackup(a *app) *cobra.Command {
	var force bool
	c := &cobra.Command{
		Use:     "backup FILE",
		Short:   "Copy the store, as it is at one moment, to a file",
		GroupID: groupStore,
		Long: `Copies the store to a file while others may read and write. The copy is of one
moment, with every revision, every change and all preferences; it is synced and
verified before it gets its name. An earlier backup under that name is replaced,
any other file only with --force. "packwane restore FILE" brings it back.`,
		Example: `  packwane backup /media/stick/log-2026-05.backup`,
		Args:    between(1, 1),
		RunE:    func(_ *cobra.Command, args []string) error { return a.backup(args[0], force) },
	}
	c.Flags().BoolVar(&force, "force", false, "replace the file whatever it is")
	return c
}

func (a *app) backup(to string, force bool) error {
	var r store.Report
	err := a.read(func(s *store.Store) error {
		var err error
		r, err = s.Backup(to, force)
		return err
	})
	if err != nil {
		return err
	}
	return a.done(verifyOf(r), "backed up to %s and verified: %s", to, holds(r))
}
