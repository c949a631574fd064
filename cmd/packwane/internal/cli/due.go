package cli

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// dueAsk says how to tell what is due.
type dueAsk struct {
	exitCode bool
	markdown bool
	rules    bool
	ics      string // file, "-" for standard output, "" for none
}

func newDue(a *app) *cobra.Command {
	var ask dueAsk
	c := &cobra.Command{
		Use: "due [PACK]", Short: "Show what is due: stop, retire, inspect, service, retest", GroupID: groupAnswers,
		Long: `Shows what is due for one pack, or for all where none is named: what speaks
against riding on first, then what to retire, inspect, service and test. Each
reminder says why, from which records, and what to do. What comes later is
listed with its day.

What was done is a record, and so is a snooze:
  packwane log service kite-a kind=inspection passed=yes
  packwane log service kite-a kind=snooze until=2026-06-01 note=retest
A snooze silences every reminder of the pack that stood when it was logged, or
only those that its note names by rule or action. It never silences a stop.`,
		Example: `  packwane due
  packwane due kite-a --json
  packwane due --exit-code --markdown > due.md
  packwane due --ics reminders.ics`,
		Args:              between(0, 1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.due(args, ask) },
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
	f := c.Flags()
	f.BoolVar(&ask.exitCode, "exit-code", false, "exit with status 3 where something is overdue")
	f.BoolVar(&ask.markdown, "markdown", false, "print a list in Markdown")
	f.StringVar(&ask.ics, "ics", "", "write a calendar to `FILE` too (- for standard output alone)")
	f.BoolVar(&ask.rules, "rules", false, "list the rules, their sources and what ends each")
	return c
}

// due tells what is due and says so by the exit status where that is asked for.
func (a *app) due(args []string, ask dueAsk) error {
	if a.json && (ask.markdown || ask.ics == "-") || ask.markdown && ask.ics == "-" {
		return wrong("--json, --markdown and --ics -: want one of them, standard output holds one document")
	}
	if ask.rules {
		return a.dueRules()
	}
	asOf, err := a.asOf()
	if err != nil {
		return err
	}
	all, err := askPacks(a, args, asOf, func(h *logbook.History, fit *model.Fit) []report.Reminder {
		return report.DueOf(h, fit, asOf)
	})
	if err != nil {
		return err
	}
	list, who := report.JoinReminders(all.answers), all.who
	if ask.ics != "" {
		if err := a.writeCalendar(ask.ics, list, asOf, who.System); err != nil {
			return err
		}
	}
	if err := a.showDue(list, all.packs, ask, asOf, who.System); err != nil {
		return err
	}
	if ask.exitCode && slices.ContainsFunc(list, report.Reminder.Overdue) {
		return &fault{status: statusOverdue}
	}
	return nil
}

// dueWord is how a list names an action: what bars a pack from use, loudly.
func dueWord(a report.Action) string {
	switch a {
	case report.StopRiding, report.Retire:
		return strings.ToUpper(a.Title())
	}
	return strings.ToLower(a.Title())
}

// subject names what a reminder is about.
func subject(r report.Reminder) string {
	if r.Board != "" {
		return "board " + r.Board
	}
	return r.Pack
}

func (a *app) showDue(list []report.Reminder, packs []string, ask dueAsk, asOf time.Time, sys units.System) error {
	switch {
	case ask.ics == "-":
		return nil
	case a.json:
		return a.printJSON(list)
	case ask.markdown:
		return a.showMarkdown(list, asOf, sys)
	case !a.streams.OutTerminal:
		return a.dueTable(list, sys)
	}
	return a.dueText(list, packs, asOf, sys)
}

// dueTable prints a row a reminder for a pipe.
func (a *app) dueTable(list []report.Reminder, sys units.System) error {
	t := newTable("pack", "action", "due", ">overdue_days", "rule", "because", "do", "records")
	for _, r := range list {
		t.add(r.Pack, string(r.Action), r.Due.String(), itoa(r.OverdueDays), r.Rule, r.BecauseIn(sys), r.Do, strings.Join(r.Evidence.Records, " "))
	}
	return t.write(a.streams.Out, false, 0, palette{})
}

// dueText prints the reminders for people.
func (a *app) dueText(list []report.Reminder, packs []string, asOf time.Time, sys units.System) error {
	out, wide, ink := a.streams.Out, a.streams.width(), a.ink()
	if len(list) == 0 {
		_, err := fmt.Fprintln(out, nothingDue(packs))
		return err
	}
	for i, r := range list {
		if i > 0 {
			fmt.Fprintln(out)
		}
		word := dueWord(r.Action)
		head := fit(word+"  "+clean(subject(r)), wide-columns(dueDay(r, asOf))-2)
		tail := strings.TrimPrefix(head, word)
		if r.Action == report.StopRiding || r.Action == report.Retire {
			word = ink.alarm(word)
		} else {
			word = ink.head(word)
		}
		fmt.Fprint(out, word, tail, strings.Repeat(" ", max(2, wide-columns(head)-columns(dueDay(r, asOf)))), dueDay(r, asOf), "\n")
		fmt.Fprint(out, wrap("  Why: ", r.BecauseIn(sys)+".", wide))
		if ids := r.Evidence.Records; len(ids) > 0 {
			fmt.Fprint(out, wrap("  Records: ", someIDs(ids), wide))
		}
		if _, err := fmt.Fprint(out, wrap("  Do: ", r.Do, wide)); err != nil {
			return err
		}
	}
	return nil
}

// someIDs lists the latest few ids.
func someIDs(ids []string) string {
	const few = 6
	if len(ids) > few {
		return strings.Join(ids[len(ids)-few:], ", ") + " and " + prose.Grouped(len(ids)-few) + " more"
	}
	return strings.Join(ids, ", ")
}

// dueDay says when a reminder is due, or how long it has been.
func dueDay(r report.Reminder, asOf time.Time) string {
	day := units.FormatDate(r.Due.Time)
	if r.OverdueDays > 0 {
		return "since " + day + ", " + prose.Plural(r.OverdueDays, "day")
	}
	y, m, d := asOf.Date()
	ahead := int(r.Due.Sub(time.Date(y, m, d, 0, 0, 0, 0, time.UTC)).Hours()/24 + .5)
	switch {
	case r.Action == report.StopRiding:
		return "since today"
	case ahead <= 0:
		return "due today"
	}
	return "due " + day + ", in " + prose.Plural(ahead, "day")
}

func nothingDue(packs []string) string {
	switch len(packs) {
	case 0:
		return "nothing is due: no pack is logged yet"
	case 1:
		return "nothing is due for " + clean(packs[0])
	}
	return "nothing is due for " + prose.Plural(len(packs), "pack")
}

// dueRules prints the rules of what is due.
func (a *app) dueRules() error {
	rules := report.DueRules()
	if a.json {
		return a.printJSON(rules)
	}
	if !a.streams.OutTerminal {
		t := newTable("rule", "action", "when", "ends", "source")
		for _, r := range rules {
			t.add(r.Name, string(r.Action), r.When, r.Ends, r.Source)
		}
		return t.write(a.streams.Out, false, 0, palette{})
	}
	for _, r := range rules {
		head := a.ink().head(r.Name) + ": " + string(r.Action)
		if _, err := fmt.Fprint(a.streams.Out, head, "\n", wrap("  When: ", r.When, a.streams.width()), wrap("  Ends: ", r.Ends, a.streams.width()), wrap("  Source: ", r.Source, a.streams.width())); err != nil {
			return err
		}
	}
	return nil
}
