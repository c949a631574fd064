package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

func newAudit(a *app) *cobra.Command {
	return &cobra.Command{
		Use: "audit [PACK]", Short: "List records that do not fit the rest, and the likely slip", GroupID: groupAnswers,
		Long: `Lists the records of one pack, or of all where none is named, that do not fit
the rest: figures that the fit put aside, with the slip that would explain them
(miles typed as kilometres, a shifted decimal point, a meter that was restarted,
volts read under load), readings that contradict each other, doubled events,
rides and charges that seem to be missing, and what was kept against advice. It
changes nothing; each suggestion is a command to look at and to run yourself.
Once cells were replaced, figures of the old ones are held against the rest of
their own time alone by looking back to it with --as-of.`,
		Example: `  packwane audit kite-a
  packwane audit --json`,
		Args:              between(0, 1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.audit(args) },
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
}

func (a *app) audit(args []string) error {
	asOf, err := a.asOf()
	if err != nil {
		return err
	}
	all, err := askPacks(a, args, asOf, report.AuditOf)
	if err != nil {
		return err
	}
	list := report.JoinFindings(all.answers)
	switch {
	case a.json:
		return a.printJSON(list)
	case !a.streams.OutTerminal:
		return a.auditTable(list, all.who.System)
	}
	return a.auditText(list, all.packs, all.who.System)
}

// auditTable prints a row a finding for a pipe.
func (a *app) auditTable(list []report.Finding, sys units.System) error {
	t := newTable("record", "pack", "code", "field", "text", "suggestion")
	for _, f := range list {
		t.add(f.Record, f.Pack, f.Code, f.Field, f.TextIn(sys), f.SuggestionIn(sys))
	}
	return t.write(a.streams.Out, false, 0, palette{})
}

// auditText prints the findings for people.
func (a *app) auditText(list []report.Finding, packs []string, sys units.System) error {
	out, wide, ink := a.streams.Out, a.streams.width(), a.ink()
	if len(list) == 0 {
		_, err := fmt.Fprintln(out, nothingOdd(packs))
		return err
	}
	for i, f := range list {
		if i > 0 {
			fmt.Fprintln(out)
		}
		head := clean(f.Record)
		if len(packs) > 1 {
			head += ", " + clean(f.Pack)
		}
		fmt.Fprintf(out, "%s  %s\n", ink.head(fit(head, wide-columns(f.Code)-2)), f.Code)
		words, call := f.AdviceIn(sys)
		fmt.Fprint(out, wrap("  ", f.TextIn(sys)+"; "+words, wide))
		if call != "" {
			if _, err := fmt.Fprintf(out, "    packwane %s\n", clean(call)); err != nil {
				return err
			}
		}
	}
	_, err := fmt.Fprintf(out, "\n%s. Nothing was changed.\n", prose.Plural(len(list), "finding"))
	return err
}

func nothingOdd(packs []string) string {
	if len(packs) == 0 {
		return "nothing to audit: no pack is logged yet"
	}
	return "every record fits the rest"
}
