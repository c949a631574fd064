package cli

import (
	"bufio"
	"fmt"

	"packwane/health/report"
	"packwane/health/units"
)

// planToday prints the sheet for a range test.
func (a *app) planToday(args []string) error {
	q, err := a.about(args)
	if err != nil {
		return err
	}
	fit := q.fit()
	s := report.TestSheetOf(q.history, fit)
	if a.json {
		return a.printJSON(s)
	}
	if err := a.title(q, "sheet for a range test"); err != nil {
		return err
	}
	if err := a.warnRider(q, fit); err != nil {
		return err
	}
	return a.showSheet(q, s)
}

// sheetLines prints lines of a sheet behind a box to tick.
func (a *app) sheetLines(out *bufio.Writer, title string, lines []report.SheetLine, sys units.System, blank bool) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(out, "\n%s\n", a.ink().head(title))
	for _, l := range lines {
		words := l.What + ": "
		words += l.Words(sys)
		if blank {
			words += " ________"
		}
		fmt.Fprint(out, wrap("[ ] ", words, a.streams.width()))
	}
}

func (a *app) showSheet(q *question, s *report.TestSheet) error {
	sys := q.who.System
	out := bufio.NewWriter(a.streams.Out)
	a.sheetLines(out, "Set", s.Set, sys, false)
	a.sheetLines(out, "Write down", s.Record, sys, true)
	if len(s.Weak) > 0 {
		fmt.Fprintf(out, "\n%s\n", a.ink().head("What this log lacks most"))
		for _, l := range s.Weak {
			fmt.Fprint(out, wrap("- ", l.What+": "+l.TextIn(sys), a.streams.width()))
		}
	}
	if s.ExpectedKm != nil {
		fmt.Fprint(out, "\n", wrap("", "To expect at "+report.Degrees(s.AirC, sys)+" without wind: "+s.ExpectedKm.In(units.Km, sys)+" to the limit.", a.streams.width()))
		volts := ""
		if s.TurnBackV != nil {
			volts = ", or at " + units.Format(report.KeptV(*s.TurnBackV), units.Volt, sys) + " at rest, whichever comes first"
		}
		fmt.Fprint(out, wrap("", "Turning point: out and back from full, turn after "+units.Format(report.KeptKm(*s.TurnBackKm, sys), units.Km, sys)+volts+"; `packwane reach` says it anew under way, in the day's wind.", a.streams.width()))
	}
	fmt.Fprintf(out, "\n%s\n", a.ink().head("Cautions"))
	for _, c := range s.Cautions {
		fmt.Fprint(out, wrap("- ", c, a.streams.width()))
	}
	warnings := s.Warnings
	if a.streams.OutTerminal { // said above all else
		warnings = report.WithoutBars(warnings)
	}
	writeNotes(out, warnings, a.streams.width())
	return out.Flush()
}
