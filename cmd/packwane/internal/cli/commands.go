package cli

import (
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"packwane/health/logbook"
)

// makers make the commands, by their names.
var makers = []struct {
	name string
	make func(*app) *cobra.Command
}{
	{"board", func(a *app) *cobra.Command { return newThings(a, logbook.KindBoard, "Add, list and show boards") }},
	{"pack", func(a *app) *cobra.Command { return newThings(a, logbook.KindPack, "Add, list and show packs") }},
	{"log", newLog},
	{"import", newImport},
	{"export", newExport},
	{"list", newList},
	{"amend", newAmend},
	{"remove", newRemove},
	{"restore", newRestore},
	{"undo", newUndo},
	{"redo", newRedo},
	{"history", newHistory},
	{"prefer", newPrefer},
	{"completion", newCompletion},
	{"demo", newDemo},
	{"version", newVersion},
	{"health", newHealth},
	{"outlook", newOutlook},
	{"hindcast", newHindcast},
	{"explain", newExplain},
	{"compare", newCompare},
	{"plan", newPlan},
	{"reach", newReach},
	{"report", newReport},
	{"due", newDue},
	{"audit", newAudit},
	{"chart", newChart},
	{"track", newTrack},
	{"trace", newTrace},
	{"serve", newServe},
	{"verify", newVerify},
	{"backup", newBackup},
	{"compact", newCompact},
	{"salvage", newSalvage},
}

// addCommands hangs every command under the root. Where the call names one,
// that one alone: making all takes longer than many an answer.
func addCommands(root *cobra.Command, a *app) {
	named := a.commandCalled(root.PersistentFlags())
	for _, m := range makers {
		if m.name == named {
			root.AddCommand(m.make(a))
		}
	}
	if !root.HasSubCommands() {
		for _, m := range makers {
			root.AddCommand(m.make(a))
		}
	}
	plainUse(root)
}

// commandCalled is the first word of the call that is neither a flag of every
// command nor the value of one.
func (a *app) commandCalled(global *pflag.FlagSet) string {
	value := false
	for _, word := range a.called {
		name, isFlag := strings.CutPrefix(word, "--")
		switch {
		case value:
			value = false
		case isFlag:
			f := global.Lookup(name)
			value = f != nil && f.NoOptDefVal == ""
		default:
			return word
		}
	}
	return ""
}

// plainUse keeps the word for flags out of every usage line: the flags are
// listed below it.
func plainUse(c *cobra.Command) {
	c.DisableFlagsInUseLine = true
	for _, child := range c.Commands() {
		plainUse(child)
	}
}
