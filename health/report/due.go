package report

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Action is what a reminder asks for.
type Action string

// The actions.
const (
	StopRiding Action = "stop_riding"
	Retire     Action = "retire"
	Inspect    Action = "inspect"
	Service    Action = "service"
	Retest     Action = "retest"
)

// Reminder is one thing that is due, or soon will be.
type Reminder struct {
	Pack        string   `json:"pack"`
	Action      Action   `json:"action"`
	Due         Date     `json:"due"`
	OverdueDays int      `json:"overdue_days"` // whole calendar days past Due; 0 until then
	Because     string   `json:"because"`      // why, in metric units
	Evidence    Evidence `json:"evidence"`

	Rule   string `json:"rule"`            // its name in DueRules
	Do     string `json:"do"`              // what to do, with the usual caution
	Ends   string `json:"ends"`            // what makes it go away
	Source string `json:"source"`          // of the rule
	Board  string `json:"board,omitempty"` // that it is about, where it is not the pack
	UID    string `json:"uid"`             // the same for the same reminder, whenever it is asked for

	why phrase
}

// Evidence is what a reminder rests on.
type Evidence struct {
	Records []string `json:"records"` // ids, the oldest first
	Figures []Figure `json:"figures"`
}

// Figure is one figure of the evidence; the unit is part of the name. Low and
// High are the 90 % bounds of an estimate.
type Figure struct {
	Name  string   `json:"name"`
	Value float64  `json:"value"`
	Low   *float64 `json:"low,omitempty"`
	High  *float64 `json:"high,omitempty"`
}

// BecauseIn says why in the units of sys.
func (r Reminder) BecauseIn(sys units.System) string { return r.why.in(sys) }

// Overdue reports whether the reminder's day has passed. A stop is overdue
// from its first day.
func (r Reminder) Overdue() bool { return r.OverdueDays > 0 || r.Action == StopRiding }

// bars reports whether the pack must not be ridden or charged.
func (r Reminder) bars() bool { return r.Action == StopRiding || r.Rule == ruleInspectionFailed }

// DueOf asks every rule of DueRules about one pack as of now, whose zone
// tells which calendar day it is; h holds what had ended by then. What is due
// later is listed too, as far ahead as the rule looks. Stops come first, then
// by action and date. fit may be nil: then only what the records say is known.
// A pack that was retired, and not ridden or charged since, has no reminders.
func DueOf(h *logbook.History, fit *model.Fit, now time.Time) []Reminder {
	return DueFor(h, fit, now, Actions...)
}

// DueFor is DueOf of the rules alone that ask for one of the actions. Where
// service or retests are among them, so must the graver ones be: what bars a
// pack from use stands against a ride or a charge.
func DueFor(h *logbook.History, fit *model.Fit, now time.Time, actions ...Action) []Reminder {
	out := []Reminder{}
	d := newDuty(h, fit, now)
	if d.retired() {
		return out
	}
	for i := range dueRules {
		rule := &dueRules[i]
		if !slices.Contains(actions, rule.Action) {
			continue
		}
		for _, f := range rule.find(d) {
			if r, ok := d.reminder(rule, f); ok {
				out = append(out, r)
			}
		}
	}
	out = withoutContradiction(out, !h.RetiredAt().IsZero())
	slices.SortStableFunc(out, func(a, b Reminder) int {
		return cmp.Or(cmp.Compare(a.Action.rank(), b.Action.rank()), a.Due.Compare(b.Due.Time), cmp.Compare(a.Rule, b.Rule))
	})
	return out
}

// withoutContradiction drops what would send a pack that must not be used
// through a ride or a charge: one that was retired and used since, too. How to ride
// it until an inspection is not told either.
func withoutContradiction(all []Reminder, retired bool) []Reminder {
	barred := retired || slices.ContainsFunc(all, Reminder.bars)
	for i := range all {
		if barred {
			all[i].Do = strings.ReplaceAll(all[i].Do, doUntil, "")
		}
	}
	return slices.DeleteFunc(all, func(r Reminder) bool {
		return barred && (r.Action == Retest || r.Rule == ruleBalanceHold)
	})
}

// reminder dates what a rule found. It is left out where it lies too far
// ahead, or is snoozed.
func (d *duty) reminder(rule *DueRule, f found) (Reminder, bool) {
	due := d.dateOf(f.due)
	if d.today.AddDate(0, 0, rule.AheadDays).Before(due) || rule.Snoozable && d.snoozed(rule, &f, due) {
		return Reminder{}, false
	}
	r := Reminder{
		Pack: d.h.Pack.ID, Action: rule.Action, Due: Date{due}, Because: f.why.in(units.Metric), Rule: rule.Name, Ends: rule.Ends, Source: rule.Source, Board: f.board, why: f.why,
		Do: rule.Do, Evidence: Evidence{Records: []string{}, Figures: []Figure{}},
	}
	if f.more != "" {
		r.Do += " " + f.more
	}
	r.OverdueDays = max(0, int(d.today.Sub(due).Hours()/24+.5))
	r.Evidence.Records = append(r.Evidence.Records, f.records...)
	r.Evidence.Figures = append(r.Evidence.Figures, f.figures...)
	subject := "pack\n" + r.Pack
	if f.board != "" {
		subject = "board\n" + f.board
	}
	sum := sha256.Sum256([]byte(rule.Name + "\n" + subject + "\n" + f.anchor))
	r.UID = hex.EncodeToString(sum[:16]) + "@packwane"
	return r, true
}

// snoozeDays is how long a snooze without an end lasts. Common practice, no
// source.
const snoozeDays = 7

func snoozeEnd(s *logbook.Service) time.Time {
	if s.Until.IsZero() {
		return s.At.AddDate(0, 0, snoozeDays)
	}
	return s.Until
}

// snoozed reports whether a snooze is in force that was logged when the
// reminder's cause was known already. A snooze of the pack silences all its
// reminders, one of the board those of the board; where its note holds nothing
// but names of rules or actions, only those.
func (d *duty) snoozed(rule *DueRule, f *found, due time.Time) bool {
	for _, s := range d.h.Services {
		if s.What != "snooze" || s.Board != "" && s.Board != f.board {
			continue
		}
		until := snoozeEnd(s)
		if !d.now.Before(until) || f.raised.After(s.At) || d.dateOf(until).Before(due) {
			continue
		}
		if words := snoozeWords(s.Note); words == nil || slices.Contains(words, rule.Name) || slices.Contains(words, string(rule.Action)) {
			return true
		}
	}
	return false
}

// snoozeWords returns the words of a note that names rules and actions alone;
// nil for any other.
func snoozeWords(note string) []string {
	words := strings.FieldsFunc(strings.ToLower(note), func(c rune) bool { return c == ' ' || c == ',' || c == ';' || c == '\n' })
	if len(words) == 0 {
		return nil
	}
	for _, w := range words {
		if !slices.Contains(Actions, Action(w)) && !slices.ContainsFunc(dueRules, func(r DueRule) bool { return r.Name == w }) {
			return nil
		}
	}
	return words
}
