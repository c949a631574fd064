package report

import (
	"packwane/health/logbook"
	"packwane/health/model"
)

// figureKey names one figure of one record. The kind is part of it: two kinds may
// have the same id.
type figureKey struct {
	kind      logbook.Kind
	id, field string
}

func keyOf(r logbook.Record, field string) figureKey {
	return figureKey{r.Kind(), logbook.HeadOf(r).ID, field}
}

// doubted are figures that the rest of the log speaks against.
type doubted map[figureKey]bool

// putAside are the figures that a fit put aside; none where fit is nil.
func putAside(fit *model.Fit) doubted {
	out := doubted{}
	if fit != nil {
		for _, m := range fit.Misreadings() {
			out[keyOf(m.Record, m.Field)] = true
		}
	}
	return out
}

// of reports whether one of these figures of a record is doubted.
func (d doubted) of(r logbook.Record, fields ...string) bool {
	for _, f := range fields {
		if d[keyOf(r, f)] {
			return true
		}
	}
	return false
}
