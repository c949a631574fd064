package cli

import (
	"fmt"
	"strings"
	"time"

	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// showMarkdown prints the reminders as a list of tasks.
func (a *app) showMarkdown(list []report.Reminder, asOf time.Time, sys units.System) error {
	var b strings.Builder
	fmt.Fprintf(&b, "# Due as of %s\n\n", asOf.Format(time.DateOnly))
	if len(list) == 0 {
		b.WriteString("Nothing is due.\n")
	}
	for _, r := range list {
		when := "due " + r.Due.String()
		if r.OverdueDays > 0 {
			when = "since " + r.Due.String() + ", " + prose.Plural(r.OverdueDays, "day") + " overdue"
		}
		fmt.Fprintf(&b, "- [ ] **%s: %s** (%s). %s.", r.Action.Title(), markdown(subject(r)), when, markdown(prose.Capital(r.BecauseIn(sys))))
		if len(r.Evidence.Records) > 0 {
			fmt.Fprintf(&b, " Records: %s.", markdown(someIDs(r.Evidence.Records)))
		}
		fmt.Fprintf(&b, " %s\n", markdown(r.Do))
	}
	_, err := a.streams.Out.Write([]byte(b.String()))
	return err
}

// markdown escapes what would format text, or be HTML, within a line of
// CommonMark (0.31.2, 2.4: any punctuation may be escaped by a backslash).
func markdown(s string) string {
	var b strings.Builder
	for _, c := range clean(s) {
		if strings.ContainsRune("\\`*_[]<>#|~&!", c) {
			b.WriteByte('\\')
		}
		b.WriteRune(c)
	}
	return b.String()
}
