package cli

import (
	"bufio"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

// app is one run of the program: what it is connected to and what the global
// flags say.
type app struct {
	streams Streams
	now     time.Time // the moment of the call, in the rider's own zone
	called  []string  // the arguments; nil where every command is to be complete
	answers *bufio.Reader

	storeFlag  string
	json       bool
	asOfFlag   string
	unitsFlag  string
	noColor    bool
	hurried    bool            // waits for no other program beyond a second
	quantities []namedQuantity // flags of the commands that were made

	waiting bool // an unfinished line on standard error says so
}

// Main runs the command line args (without the program's name) and returns the
// exit status. The clock is read once.
func Main(args []string, streams Streams, clock func() time.Time) int {
	out := &firstFault{w: streams.Out}
	streams.Out = out
	a := &app{streams: streams, now: clock(), called: args}
	root := newRoot(a)
	root.SetArgs(args)
	if len(args) > 0 && args[0] == cobra.ShellCompRequestCmd {
		plainFlags(root)
	}
	err := root.Execute()
	if err == nil && out.err != nil {
		err = failed("cannot write to standard output: %w", plainPath(out.err))
	}
	return a.report(err)
}

// report prints err as one line and returns the exit status it stands for.
func (a *app) report(err error) int {
	if err == nil {
		return statusDone
	}
	if a.waiting && isAny(err, store.ErrLocked) { // one line says it all
		a.waited("given up; wait until it is done and try again")
		return statusOf(err)
	}
	a.waited("")
	if words := oneLine(err.Error()); words != "" {
		fmt.Fprintf(a.streams.Err, "packwane: %s\n", words)
	}
	return statusOf(err)
}

func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "packwane COMMAND",
		Short: "Log a light electric board and its pack; know its range, now and later",
		Long: `packwane keeps the log of light electric boards and their packs. From that it
says what a full charge delivers now, how far it goes, how both will shrink, and
what is due.

Never ride on below the pack's low-voltage limit. Leave charging, opening and
storing a doubtful pack to trained people and to your local codes.`,
		Example: `  packwane board add kite mass=11.5kg ref-tyre=2.4bar
  packwane pack add kite-a board=kite series=10 parallel=4 cell-capacity=3Ah
  packwane log charge full=yes charged="11.8 Ah" hold=1h
  packwane log ride distance="14.2 km" moving=48m ambient=18C
  packwane list`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.ArbitraryArgs,
	}
	version := root.Flags().Bool("version", false, "show how this program was built")
	root.RunE = func(c *cobra.Command, args []string) error {
		if *version && len(args) == 0 {
			return a.showVersion()
		}
		return chooseCommand(c, args)
	}
	root.SetIn(a.streams.In)
	root.SetOut(a.streams.Out)
	root.SetErr(a.streams.Err)
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { a.help(c) })
	root.SetFlagErrorFunc(flagFault)
	a.globalFlags(root)
	root.SetHelpCommand(newHelp())
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddGroup(
		&cobra.Group{ID: groupLog, Title: "The log:"},
		&cobra.Group{ID: groupAnswers, Title: "Answers:"},
		&cobra.Group{ID: groupStore, Title: "The store, which is the file of the log:"},
		&cobra.Group{ID: groupOther, Title: "Other:"})
	addCommands(root, a)
	return root
}

// flagFault says what is wrong with a flag, and which one was likely meant.
func flagFault(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) {
		if text := err.Error(); strings.Contains(text, "strconv.ParseInt") {
			what, _, _ := strings.Cut(text, ": strconv.")
			return wrong("%s: want a whole number: see `%s --help`", what, c.CommandPath())
		}
		return wrong("%w: see `%s --help`", err, c.CommandPath())
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if c.Name() == "amend" && fieldOfAny(unknown.GetSpecifiedName()) {
		return wrong("`%s` has no flag --%s: want it as %[2]s=VALUE", c.CommandPath(), unknown.GetSpecifiedName())
	}
	if near, ok := typed.Nearest(unknown.GetSpecifiedName(), names); ok {
		return wrong("`%s` has no flag --%s: did you mean --%s?", c.CommandPath(), unknown.GetSpecifiedName(), near)
	}
	return wrong("%w: see `%s --help`", err, c.CommandPath())
}

// The groups under which the help lists the commands.
const (
	groupLog     = "log"
	groupAnswers = "answers"
	groupStore   = "store"
	groupOther   = "other"
)

func (a *app) globalFlags(root *cobra.Command) {
	f := root.PersistentFlags()
	f.StringVar(&a.storeFlag, "store", "", "the store `FILE` (else PACKWANE_STORE, else the user's data folder)")
	f.BoolVar(&a.json, "json", false, "print one JSON document")
	f.StringVar(&a.asOfFlag, "as-of", "", "look only at records that had ended by `TIME`: 2026-05-03 (to its end) or RFC 3339")
	f.StringVar(&a.unitsFlag, "units", "", "`SYSTEM` to speak in: metric or imperial (else as preferred, else metric)")
	f.BoolVar(&a.noColor, "no-color", false, "no colour, as under NO_COLOR")
	root.RegisterFlagCompletionFunc("units", cobra.FixedCompletions([]string{"metric", "imperial"}, cobra.ShellCompDirectiveNoFileComp))
}

// chooseCommand stands where a command needs one of its subcommands: it helps
// where none is given and refuses an unknown one with the nearest that exists.
func chooseCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return c.Help()
	}
	var names []string
	for _, child := range c.Commands() {
		names = append(names, child.Name())
	}
	hint := ""
	if near, ok := typed.Nearest(args[0], names); ok {
		hint = fmt.Sprintf("did you mean %q? ", near)
	}
	return wrong("%s has no command %q: %ssee `%s --help`", c.CommandPath(), args[0], hint, c.CommandPath())
}

// groupOf returns a command that only holds others.
func groupOf(use, short, group string, children ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{
		Use: use, Short: short, GroupID: group,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return chooseCommand(c, args) },
	}
	c.AddCommand(children...)
	return c
}

// between checks the number of arguments; most is -1 where any number will do.
func between(least, most int) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return wrong("too few arguments: want `%s`", c.UseLine())
		case most >= 0 && len(args) > most:
			return wrong("argument %q is one too many: want `%s`", args[most], c.UseLine())
		}
		return nil
	}
}

// ink returns the inks that standard output takes.
func (a *app) ink() palette { return palette{on: a.streams.colour() && !a.noColor} }

// asOf returns the moment to look at the log from: --as-of, else now.
func (a *app) asOf() (time.Time, error) {
	if a.asOfFlag == "" {
		return a.now, nil
	}
	return a.moment("as-of", a.asOfFlag, true)
}

// moment reads the time that a flag gives, the zero time where it is not given.
// A date alone is its first moment, or its last second where end is set.
func (a *app) moment(flag, text string, end bool) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	day, err := time.ParseInLocation(time.DateOnly, text, a.now.Location())
	if err != nil {
		return time.Time{}, wrong("--%s %q: want a date such as 2026-05-03 or a time such as 2026-05-03T18:30:00+02:00", flag, text)
	}
	if end {
		return day.AddDate(0, 0, 1).Add(-time.Second), nil
	}
	return day, nil
}

// statusOf returns the exit status that err stands for.
func statusOf(err error) int {
	var f *fault
	if errors.As(err, &f) {
		return f.status
	}
	if inputFault(err) {
		return statusWrong
	}
	return statusFailed
}

// fieldOfAny reports whether any kind of record has a field of that name.
func fieldOfAny(name string) bool {
	for _, k := range logbook.Kinds {
		if _, err := typed.Find(k, name); err == nil {
			return true
		}
	}
	return false
}
