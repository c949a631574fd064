package report

import (
	"cmp"
	"slices"
	"time"
)

// Actions lists the actions, the gravest first: the order in which reminders are
// listed.
var Actions = []Action{StopRiding, Retire, Inspect, Service, Retest}

// rank is the place of an action among Actions.
func (a Action) rank() int { return slices.Index(Actions, a) }

// actionTitles are the actions as a heading names them.
var actionTitles = map[Action]string{StopRiding: "Stop riding", Retire: "Retire", Inspect: "Inspect", Service: "Service", Retest: "Range test"}

// Title is the action as a heading names it.
func (a Action) Title() string { return actionTitles[a] }

// Grave reports whether the reminder speaks, at a moment, against riding on or
// for an inspection first: no screen about riding may leave such a one out.
func (r Reminder) Grave(now time.Time) bool {
	switch r.Action {
	case StopRiding:
		return true
	case Retire, Inspect:
		return !r.Due.After(now)
	}
	return false
}

// JoinReminders joins the reminders of several packs, the gravest first, then by
// date. What is due for a board that packs share is told once.
func JoinReminders(packs [][]Reminder) []Reminder {
	out := once(packs, func(r Reminder) string { return r.UID })
	slices.SortStableFunc(out, func(x, y Reminder) int {
		return cmp.Or(cmp.Compare(x.Action.rank(), y.Action.rank()), x.Due.Compare(y.Due.Time))
	})
	return out
}

// JoinFindings joins the findings of several packs in their order. What does not
// fit of a board that packs share is told once.
func JoinFindings(packs [][]Finding) []Finding {
	return once(packs, Finding.key)
}

// key names a finding, whichever pack it was found with.
func (f Finding) key() string { return f.Record + "\n" + f.Field + "\n" + f.Code }

// once joins lists and leaves out what has the key of an earlier element.
func once[T any](lists [][]T, key func(T) string) []T {
	out := []T{}
	told := map[string]bool{}
	for _, list := range lists {
		for _, x := range list {
			if k := key(x); !told[k] {
				told[k] = true
				out = append(out, x)
			}
		}
	}
	return out
}
