package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"packwane/health/logbook"
	"packwane/health/prose"
)

// help prints what a command is for, how it is called, its fields and flags,
// and examples, at 80 columns.
func (a *app) help(c *cobra.Command) {
	out := a.streams.Out
	text := c.Long
	if text == "" {
		text = c.Short + "."
	}
	fmt.Fprintln(out, strings.TrimSpace(text))
	if k, ok := logbook.KindOf(c.Annotations[fieldNote]); ok {
		fmt.Fprintf(out, "\n%s", fieldHelp(k))
	}
	use := c.UseLine()
	if c.HasAvailableSubCommands() && !strings.Contains(use, "COMMAND") {
		use = c.CommandPath() + " COMMAND"
	}
	fmt.Fprintf(out, "\n%s\n  %s\n", a.ink().head("Usage:"), use)
	a.helpCommands(c)
	if c.Example != "" {
		fmt.Fprintf(out, "\n%s\n%s\n", a.ink().head("Examples:"), c.Example)
	}
	own := pflag.NewFlagSet("own", pflag.ContinueOnError)
	c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
		if f.Annotations[fieldNote] == nil && (f.Name != "help" || !c.HasParent()) { // said once, by the root
			own.AddFlag(f)
		}
	})
	a.helpFlags("Flags:", own)
	quantities := false
	own.VisitAll(func(f *pflag.Flag) {
		_, is := f.Value.(*quantity)
		quantities = quantities || is
	})
	if quantities {
		fmt.Fprint(out, "\n"+wrap("", "A number alone is in the unit that its flag names; with its own it may be in any: --temp-c 40F, --speed-kmh 12mph.", mostColumns))
	}
	if !c.HasParent() {
		a.helpFlags("Flags of every command:", c.PersistentFlags())
		return
	}
	var names []string
	c.Root().PersistentFlags().VisitAll(func(f *pflag.Flag) { names = append(names, "--"+f.Name) })
	fmt.Fprint(out, "\n"+wrap("", "Flags of every command: "+prose.List(names, "and")+" (see `packwane --help`).", mostColumns))
}

func (a *app) helpFlags(title string, flags *pflag.FlagSet) {
	if flags.HasAvailableFlags() {
		usages := flags.FlagUsagesWrapped(mostColumns)
		usages = strings.ReplaceAll(usages, "-c °C ", "-c °C  ") // the library counts bytes, and ° has two
		fmt.Fprintf(a.streams.Out, "\n%s\n%s", a.ink().head(title), usages)
	}
}

func (a *app) helpCommands(c *cobra.Command) {
	groups := c.Groups()
	if len(groups) == 0 {
		groups = []*cobra.Group{{ID: "", Title: "Commands:"}}
	}
	wide := 0
	for _, child := range c.Commands() {
		wide = max(wide, len(child.Name()))
	}
	for _, g := range groups {
		title := "\n" + a.ink().head(g.Title) + "\n"
		for _, child := range c.Commands() {
			if !child.IsAvailableCommand() && child.Name() != "help" || g.ID != "" && child.GroupID != g.ID {
				continue
			}
			io.WriteString(a.streams.Out, title+wrap("  "+pad(child.Name(), wide+2, false), child.Short, mostColumns))
			title = ""
		}
	}
}
