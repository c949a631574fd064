package report

import (
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// showCheck holds a check against what the log expected of it.
func (l *learning) showCheck(c *logbook.Check) {
	l.spreadNote(c)
	came := model.MeasuredMohm(c)
	if !(came > 0) {
		return
	}
	if !l.past.Known().Resistance {
		l.out.notes = append(l.out.notes, say("the first resistance that tells: nothing to hold it against yet"))
		return
	}
	s := l.shown("resistance_mohm", came, l.past.PredictCheck(c), "more", "less")
	if s.Expected == nil {
		return
	}
	s.why = say(s.verdictWords(), ": ", exact(tidy(came), units.Mohm), ", ", about(s.Expected, units.Mohm), " expected at its charge level and temperature")
	l.put(s)
}

// spreadNote holds the spread of the groups against the reading before.
func (l *learning) spreadNote(c *logbook.Check) {
	var before, own *spread
	for i := range l.duty.spreads {
		s := &l.duty.spreads[i]
		if s.id == c.ID {
			own = s
			break
		}
		before = s
	}
	if own == nil {
		return
	}
	p := say("the groups lie ", exact(tidy(own.mv), units.Millivolt), " apart at rest")
	if before != nil {
		p = say(p, ", ", exact(tidy(before.mv), units.Millivolt), " on "+l.duty.dayOf(before.at))
	}
	l.out.notes = append(l.out.notes, p)
}
