package report

import (
	"fmt"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Limit is the volts under load down to which a range is counted. One that the
// pack does not state is assumed, and never told as one to ride to.
type Limit struct {
	V      float64
	Stated bool
	Low    logbook.Num // one that was stated and cannot be true: too low
	why    string      // Low cannot be
}

// DipV is how far the lowest reading of a ride may lie below the limit at which it
// ended: a peak of the current, and the last digit. Common practice, no source.
const DipV = .25

// LimitOf is the limit of a pack as it is set up.
func LimitOf(h *logbook.History, fit *model.Fit) Limit {
	l, p := Limit{V: fit.Reference().LimitV}, h.PackAt(h.AsOf)
	switch {
	case p.LimitV.OK && p.CutoffV.OK && p.LimitV.V < p.CutoffV.V:
		l.Low, l.why = p.LimitV, fmt.Sprintf("lies below the %.4g V at which its protection opens", p.CutoffV.V)
	case p.LimitV.OK && p.Series.OK && p.LimitV.V < p.Series.V*logbook.LeastLimitCellV:
		l.Low, l.why = p.LimitV, "is lower than its cells may be drawn to"
	default:
		l.Stated = p.LimitV.OK
	}
	return l
}

// Name names the limit: "31 V", "an assumed 31 V".
func (l Limit) Name(sys units.System) string {
	volts := units.Format(l.V, units.Volt, sys)
	if l.Stated {
		return volts
	}
	return "an assumed " + volts
}

// Caution says not to ride on below the limit. toState says how a limit that is
// not in the log gets there, as a command or a page does it.
func (l Limit) Caution(sys units.System, toState string) string {
	if l.Stated {
		return "Never ride on below " + l.Name(sys) + " under load."
	}
	if l.Low.OK {
		return "The pack's low-voltage limit in the log, " + units.Format(l.Low.V, units.Volt, sys) + ", " + l.why + ": that cannot be true. Find the limit with its maker, " + toState + ", and stop well above that until then."
	}
	return "The pack's low-voltage limit is not in the log: find it with its maker, " + toState + ", and never ride on below it."
}

// caution says what to do at the limit: do is "Stop at".
func (l Limit) caution(do string) string {
	if l.Stated {
		return fmt.Sprintf("%s the limit of %.4g V under load: never ride on below it.", do, l.V)
	}
	return l.Caution(units.Metric, "log it as limit_v")
}
