package cli

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/store"
)

func newSalvage(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "salvage OUT.jsonl",
		Short:   "Take out of a damaged store what is whole",
		GroupID: groupStore,
		Long: `Reads the store page by page, even where it does not open any more, and writes
each whole revision of each record once, as JSON Lines that "packwane import"
takes. What does not match its checksum is never written. It says what is lost.
The store is only read. Preferences and the list of changes (for undo) are not
part of what is written.`,
		Example: `  packwane salvage rescued.jsonl
  packwane --store new.store import rescued.jsonl`,
		Args: between(1, 1),
		RunE: func(_ *cobra.Command, args []string) error { return a.salvage(args[0]) },
	}
}

// salvagedJSON is the document of salvage.
type salvagedJSON struct {
	Store         string         `json:"store"`
	Records       map[string]int `json:"records"`
	Revisions     int            `json:"revisions"`
	Lost          int            `json:"lost_revisions"`
	LostSure      bool           `json:"lost_is_all"` // no more than that is lost
	Losses        []string       `json:"losses"`      // the first of them
	Missing       []string       `json:"missing"`     // packs and boards to add before importing
	Removals      int            `json:"lone_removals"`
	BadEntries    int            `json:"bad_entries"`
	BadPages      int            `json:"bad_pages"`
	Pages         int            `json:"pages"`
	MayUnfinished bool           `json:"may_hold_unfinished"`
}

func (a *app) salvage(name string) error {
	path, named := a.storePath()
	if err := notTheStore(path, name); err != nil {
		return err
	}
	var out store.Salvaged
	err := a.writeOutput(name, func(w io.Writer) error {
		lines := logbook.NewJSONWriter(w)
		var err error
		if out, err = store.Salvage(path, a.wait, lines.Write); err != nil {
			return err
		}
		return lines.Close()
	})
	if isAny(err, store.ErrNoStore) && !named {
		return &fault{statusWrong, errNoLog}
	}
	if err != nil {
		return err
	}
	a.waited("")
	if a.json {
		return a.printJSON(salvagedOf(out))
	}
	a.showSalvaged(out, name)
	return nil
}

// notTheStore refuses to write over the store itself.
func notTheStore(path, name string) error {
	store, err := os.Stat(path)
	if err != nil {
		return nil
	}
	if there, err := os.Stat(name); err == nil && os.SameFile(store, there) {
		return wrong("cannot write %s: it is the store itself: choose another name", name)
	}
	return nil
}

func salvagedOf(s store.Salvaged) salvagedJSON {
	some := func(list []string) []string {
		if list == nil {
			return []string{}
		}
		return list
	}
	return salvagedJSON{s.Path, byName(s.Records), s.Revisions, s.Lost, s.Sure, some(s.Losses), some(s.Missing), s.Removals, s.BadEntry, s.BadPages, s.Pages, s.Unsettled}
}

func (a *app) showSalvaged(s store.Salvaged, name string) {
	say := func(first, format string, args ...any) {
		fmt.Fprint(a.streams.Out, wrap(first, fmt.Sprintf(format, args...), a.streams.width()))
	}
	words := typed.Counts(s.Records)
	if words == "" {
		words = "no records"
	}
	say("", "Written to %s: %s, in %s.", name, words, prose.Plural(s.Revisions, "revision"))
	switch {
	case s.Lost == 0 && s.Sure:
		say("", "No revision of any record is lost.")
	case s.Sure:
		say("", "Lost: %s.", prose.Plural(s.Lost, "revision"))
	case s.Lost > 0:
		say("", "Lost: %s that are known of, and perhaps more.", prose.Plural(s.Lost, "revision"))
	default:
		say("", "What is lost is not known: the parts that would tell are damaged too.")
	}
	for _, loss := range s.Losses {
		say("  - ", "%s", loss)
	}
	if s.BadPages+s.BadEntry > 0 {
		say("", "Not readable: %s of %s, and %s in others.", prose.Plural(s.BadPages, "page"), prose.Grouped(s.Pages), entriesWords(s.BadEntry))
	}
	if s.Removals > 0 {
		say("", "Left out: %s of records of which nothing else is left.", prose.Plural(s.Removals, "removal"))
	}
	if s.Unsettled {
		say("", "Some of it may come of a change that was not finished: look through what is newest.")
	}
	if len(s.Missing) > 0 {
		say("", "Before it can be imported, add what other records name and is lost itself: %s. For example `packwane --store NEW %s`.",
			someOf(s.Missing), addCall(s.Missing[0]))
	}
	say("", "Next: `packwane --store NEW import %s`, then `packwane --store NEW verify`.", name)
}

func entriesWords(n int) string {
	if n == 1 {
		return "1 entry"
	}
	return prose.Grouped(n) + " entries"
}

// addCall is the call that adds "pack reed-a".
func addCall(thing string) string {
	var kind, id string
	fmt.Sscanf(thing, "%s %s", &kind, &id)
	return kind + " add " + id
}
