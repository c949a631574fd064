package cli

import (
	"io"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// The alarms of a reminder, from the beginning of its day: at nine, and, where
// it can be planned, at six in the evening before.
const (
	alarmMorning = "PT9H"
	alarmEvening = "-PT6H"
)

// writeCalendar writes the reminders as an iCalendar file (RFC 5545), to
// standard output where its name is "-".
func (a *app) writeCalendar(name string, list []report.Reminder, asOf time.Time, sys units.System) error {
	write := func(w io.Writer) error {
		return calendar(list, asOf, sys).SerializeTo(w, ics.WithNewLine("\r\n"))
	}
	if name == "-" {
		return write(a.streams.Out)
	}
	return a.writeOutput(name, write)
}

// calendar makes one all-day entry of each reminder. Its UID stays the same as
// long as the reminder is the same, so that a calendar that reads the file again
// moves the entry. What is overdue stands on the day of asOf.
func calendar(list []report.Reminder, asOf time.Time, sys units.System) *ics.Calendar {
	cal := ics.NewCalendarFor("packwane")
	cal.SetProductId("-//packwane//reminders//EN")
	cal.SetCalscale("GREGORIAN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetXWRCalName("packwane")
	y, m, d := asOf.Date()
	today := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	for _, r := range list {
		day := r.Due.Time
		if day.Before(today) {
			day = today
		}
		e := cal.AddEvent(r.UID)
		e.SetDtStampTime(asOf)
		e.SetLastModifiedAt(asOf)
		e.SetAllDayStartAt(day)
		e.SetAllDayEndAt(day.AddDate(0, 0, 1))
		title := r.Action.Title() + ": " + subject(r)
		e.SetSummary(clean(title))
		e.SetDescription(calendarText(r, sys))
		e.AddCategory(string(r.Action))
		e.SetTimeTransparency(ics.TransparencyTransparent)
		priority := 5
		if r.Action == report.StopRiding || r.Action == report.Retire {
			priority = 1
		}
		e.SetPriority(priority)
		addAlarm(e, alarmMorning, title)
		if r.Action != report.StopRiding && day.After(today) {
			addAlarm(e, alarmEvening, title)
		}
	}
	return cal
}

func addAlarm(e *ics.VEvent, trigger, title string) {
	alarm := e.AddAlarm()
	alarm.SetAction(ics.ActionDisplay)
	alarm.SetTrigger(trigger)
	alarm.SetDescription(clean(title))
}

// calendarText is the body of an entry: why, since when, from which records,
// what to do. Each line is free of control characters.
func calendarText(r report.Reminder, sys units.System) string {
	lines := []string{prose.Capital(r.BecauseIn(sys)) + "."}
	if r.OverdueDays > 0 {
		lines = append(lines, "Due since "+r.Due.String()+".")
	}
	if len(r.Evidence.Records) > 0 {
		lines = append(lines, "Records: "+someIDs(r.Evidence.Records)+".")
	}
	lines = append(lines, r.Do, "Pack: "+r.Pack+". Rule: "+r.Rule+".")
	for i, l := range lines {
		lines[i] = clean(l)
	}
	return strings.Join(lines, "\n")
}
