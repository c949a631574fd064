package cli

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

// completion is the type of cobra's functions that complete arguments.
type completion = func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective)

const noFiles = cobra.ShellCompDirectiveNoFileComp

// completeOne completes one id of kind k, a pack's or a board's.
func (a *app) completeOne(k logbook.Kind) completion {
	return func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, noFiles
		}
		return a.ids(k), noFiles
	}
}

// completeLog completes packs, kinds of service and "name=" pairs.
func (a *app) completeLog(k logbook.Kind) completion {
	return func(_ *cobra.Command, _ []string, start string) ([]string, cobra.ShellCompDirective) {
		if strings.Contains(start, "=") {
			return a.pairValues(k, start), noFiles
		}
		words := a.ids(logbook.KindPack)
		if k == logbook.KindService {
			words = append(words, logbook.ServiceKinds...)
		}
		return append(words, pairNames(k)...), noFiles | cobra.ShellCompDirectiveNoSpace
	}
}

// completeAdd completes "name=" pairs behind an id that the rider makes up.
func (a *app) completeAdd(k logbook.Kind) completion {
	return func(_ *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
		switch {
		case len(args) == 0:
			return nil, noFiles
		case strings.Contains(start, "="):
			return a.pairValues(k, start), noFiles
		}
		return pairNames(k), noFiles | cobra.ShellCompDirectiveNoSpace
	}
}

// plainFlags takes the marks of their values out of what flags are for: a shell
// shows that as it stands.
func plainFlags(c *cobra.Command) {
	plain := func(f *pflag.Flag) { f.Usage = strings.ReplaceAll(f.Usage, "`", "") }
	c.Flags().VisitAll(plain)
	c.PersistentFlags().VisitAll(plain)
	for _, child := range c.Commands() {
		plainFlags(child)
	}
}

func pairNames(k logbook.Kind) []string {
	var out []string
	for _, f := range typed.Settable(k) {
		out = append(out, flagName(shortName(k, f))+"=\t"+f.Doc)
	}
	return out
}

// pairValues completes what follows "name=": an accepted text or an id.
func (a *app) pairValues(k logbook.Kind, start string) []string {
	name, _, _ := strings.Cut(start, "=")
	n, err := typed.Find(k, name)
	if err != nil {
		return nil
	}
	f := n.Fields[0]
	values := slices.Clone(f.Enum)
	switch {
	case f.Type == logbook.TypeFlag:
		values = []string{"yes", "no"}
	case f.Name == "pack":
		values = a.ids(logbook.KindPack)
	case f.Name == "board":
		values = a.ids(logbook.KindBoard)
	}
	for i := range values {
		values[i] = name + "=" + values[i]
	}
	return values
}

// completeAmend completes the id of a record, then "name=" pairs of its kind.
func (a *app) completeAmend(c *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return a.recordIDs(false), noFiles
	}
	if c.Name() != "amend" {
		return nil, noFiles
	}
	var k logbook.Kind
	a.read(func(s *store.Store) error {
		if r, err := findRecord(s, args[0], ""); err == nil {
			k = r.Kind()
		}
		return nil
	})
	if k == 0 {
		return nil, noFiles
	}
	if strings.Contains(start, "=") {
		return a.pairValues(k, start), noFiles
	}
	return pairNames(k), noFiles | cobra.ShellCompDirectiveNoSpace
}

func (a *app) completeRestore(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, noFiles
	}
	return a.recordIDs(true), noFiles
}

// ids lists the ids of kind k; none where the store cannot be read, since a
// completion has nobody to complain to.
func (a *app) ids(k logbook.Kind) []string {
	var out []string
	a.read(func(s *store.Store) error {
		if k == logbook.KindBoard {
			boards, err := s.Boards()
			out = idsOf(boards)
			return err
		}
		packs, err := s.Packs()
		out = idsOf(packs)
		return err
	})
	return out
}

// mostIDs is how many records a completion offers, the latest first.
const mostIDs = 200

func (a *app) recordIDs(removedToo bool) []string {
	var records []logbook.Record
	keep := func(r logbook.Record) error {
		records = append(records, r)
		return nil
	}
	a.read(func(s *store.Store) error {
		_, err := s.List(store.Query{Limit: mostIDs}, keep)
		if err == nil && removedToo {
			_, err = s.List(store.Query{Limit: mostIDs, Removed: true}, keep)
		}
		return err
	})
	slices.SortFunc(records, func(x, y logbook.Record) int { return logbook.Compare(y, x) })
	var out []string
	for _, r := range records[:min(len(records), mostIDs)] {
		out = append(out, logbook.HeadOf(r).ID+"\t"+typed.Summary(r, typed.Rider{Now: a.now}))
	}
	return out
}
