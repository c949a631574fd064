package cli

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/units"
	"packwane/store"
)

// settingUnits is the store's setting that holds the rider's system of units.
const settingUnits = "units"

// rider returns what is known of the person at the keyboard: --units, else the
// preference kept in the store, else metric. s may be nil.
func (a *app) rider(s *store.Store) (typed.Rider, error) {
	who := typed.Rider{Now: a.now}
	text := a.unitsFlag
	if text == "" && s != nil {
		kept, ok, err := s.Setting(settingUnits)
		if err != nil {
			return who, err
		}
		if ok {
			text = kept
		}
	}
	if text == "" {
		return who, nil
	}
	system, err := units.ParseSystem(text)
	if err != nil {
		return who, wrong("--units %w", err)
	}
	who.System = system
	a.sayTaken(system)
	return who, nil
}

// showRecord prints the fields of r, one a line, behind a title. as holds, by
// field name, quantities as they were typed.
func (a *app) showRecord(title string, r logbook.Record, who typed.Rider, as map[string]string) error {
	fmt.Fprintln(a.streams.Out, a.ink().head(clean(title)))
	lines := typed.Lines(r, who, as)
	wide := 0
	for _, l := range lines {
		wide = max(wide, columns(l.Label))
	}
	for _, l := range lines {
		text := l.Text
		if l.As != "" {
			text += " (" + l.As + ")"
		}
		if _, err := fmt.Fprint(a.streams.Out, wrap("  "+pad(clean(l.Label), wide+2, false), text, a.streams.width())); err != nil {
			return err
		}
	}
	return nil
}

// titleOf names r: "ride ride-k3f9x2m7qa, revision 2, removed".
func titleOf(r logbook.Record) string {
	h := logbook.HeadOf(r)
	title := nameOf(r)
	if h.Rev > 1 {
		title += ", revision " + itoa(h.Rev)
	}
	if h.Removed {
		title += ", removed"
	}
	return title
}

// nameOf says which record r is: "ride-k3f9x2m7qa5c", "pack kite-a".
func nameOf(r logbook.Record) string { return typed.NameOf(r.Kind(), logbook.HeadOf(r).ID) }

// newThings returns the command group of boards or of packs.
func newThings(a *app, k logbook.Kind, short string) *cobra.Command {
	name := k.String()
	add := &cobra.Command{
		Use:   "add ID [NAME=VALUE...]",
		Short: "Add a " + name,
		Long:  "Adds a " + name + " under an id of your own.",
		Args:  between(1, -1),

		ValidArgsFunction: a.completeAdd(k),

		Annotations: map[string]string{fieldNote: name},
	}
	words := a.addFieldFlags(add, k)
	keep := addKeepFlags(add)
	add.RunE = func(_ *cobra.Command, args []string) error { return a.addThing(k, args, words(), *keep) }
	list := &cobra.Command{
		Use: "list", Short: "List the " + name + "s", Args: between(0, 0),
		RunE: func(*cobra.Command, []string) error { return a.list(listing{kinds: []logbook.Kind{k}}) },
	}
	show := &cobra.Command{
		Use: "show " + strings.ToUpper(name), Short: "Show a " + name + " as it is stored, and how it was set up since", Args: between(1, 1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.showThing(k, args[0]) },
		ValidArgsFunction: a.completeOne(k),
	}
	if k == logbook.KindBoard {
		add.Example = `  packwane board add kite mass=11.5kg tyre=road ref-tyre=2.4bar`
	} else {
		add.Example = `  packwane pack add kite-a board=kite chemistry=nmc series=10 parallel=4 \
      cell-capacity=3Ah cell-nominal=3.6V cell-full=4.2V limit=31V cutoff=28V`
	}
	return groupOf(name, short, groupLog, add, list, show)
}

func (a *app) addThing(k logbook.Kind, args []string, words []typed.Word, keep keeping) error {
	plain, more := splitWords(args)
	if len(plain) != 1 {
		return wrong("want one id and then name=value: %q is no such pair", plain[min(1, len(plain)-1)])
	}
	r := logbook.New(k)
	logbook.HeadOf(r).ID = plain[0]
	return a.keep(r, append(words, more...), keep)
}

func (a *app) showThing(k logbook.Kind, word string) error {
	asOf, err := a.asOf()
	if err != nil {
		return err
	}
	return a.read(func(s *store.Store) error {
		var r logbook.Record
		var err error
		if k == logbook.KindBoard {
			r, err = findBoard(s, word)
		} else {
			r, err = findPack(s, word)
		}
		if err != nil {
			return err
		}
		if a.json {
			return a.printJSON(stored{r})
		}
		who, err := a.rider(s)
		if err != nil {
			return err
		}
		if err := a.showRecord(titleOf(r), r, who, nil); err != nil {
			return err
		}
		return a.showSince(s, r, who, asOf)
	})
}

// showSince prints, below a board or a pack as it is stored, how it was set up since: its
// setups, new cells and its retirement, one a line.
func (a *app) showSince(s *store.Store, thing logbook.Record, who typed.Rider, asOf time.Time) error {
	id := logbook.HeadOf(thing).ID
	of := func(pack, board string) bool {
		return thing.Kind() == logbook.KindPack && pack == id || thing.Kind() == logbook.KindBoard && board == id
	}
	changes := store.Query{Kinds: []logbook.Kind{logbook.KindSetup, logbook.KindService}, Want: func(r logbook.Record) bool {
		switch r := r.(type) {
		case *logbook.Setup:
			return of(r.Pack, r.Board) && !r.At.After(asOf)
		case *logbook.Service:
			return of(r.Pack, r.Board) && !r.At.After(asOf) && (r.What == "retired" || r.What == "cells_replaced")
		}
		return false
	}}
	head := "Set up since, and so it counts"
	_, err := s.List(changes, func(r logbook.Record) error {
		if head != "" {
			fmt.Fprintln(a.streams.Out, a.ink().head(head))
			head = ""
		}
		_, err := fmt.Fprint(a.streams.Out, wrap("  "+a.when(logbook.AtOf(r))+"  ", typed.Summary(r, who)+" ("+logbook.HeadOf(r).ID+")", a.streams.width()))
		return err
	})
	return err
}
