package web

import (
	"fmt"
	"slices"
	"sync/atomic"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/prose"
	"packwane/health/report"
)

// shownLine is one thing that a record would tell.
type shownLine struct {
	Label, Text string
	Alarm       bool
}

// shownLabels are the labels of report.Insight as a page says them.
var shownLabels = map[string]string{
	"due": "makes due", "shows": "it shows", "doubt": "in doubt", "cause": "main cause", "now": "with it", "test": "as a range test", "hold": "balancing", "settled": "settles", "next": "next time",
}

// spared is deferred around what logging does not hang on: where that panics the
// terminal is told, and nothing is shown.
func (v *visit) spared(what string, nothing func()) {
	if p := recover(); p != nil {
		v.s.Fault(fmt.Errorf("%s: %v", what, p))
		nothing()
	}
}

// shows says what a record would tell before it is kept. Logging does not hang
// on it: where it fails, nothing is shown.
func (v *visit) shows(r logbook.Record) (out []shownLine, err error) {
	pack := logbook.PackOf(r)
	if made(r.Kind()) || pack == "" || logbook.EndOf(r).After(v.now) {
		return nil, nil
	}
	defer v.spared("what a record shows", func() { out, err = nil, nil })
	l, a, err := v.one(pack)
	if err != nil {
		return nil, err
	}
	l.take(r)
	p, err := l.pack(pack)
	if err != nil {
		return nil, err
	}
	s, err := v.subject(l, p)
	if err != nil {
		return nil, err
	}
	fitter := &safeFitter{memory: v.s.memory, spare: a.fit()}
	insight := report.InsightOf(s.history, r, fitter.fit)
	if failed := fitter.failed.Load(); failed != nil {
		panic(*failed)
	}
	for _, x := range insight.Lines(v.who.System) {
		label := shownLabels[x.Label]
		if label == "" {
			label = x.Label
		}
		out = append(out, shownLine{label, prose.Sentence(withoutCommand(x.Text)), x.Alarm})
	}
	return out, nil
}

// safeFitter fits in goroutines that are not its caller's, where a panic would
// end the whole server: it remembers the panic and gives a spare fit.
type safeFitter struct {
	memory *memory
	spare  *model.Fit
	failed atomic.Pointer[any]
}

func (f *safeFitter) fit(h *logbook.History) (fit *model.Fit) {
	defer func() {
		if p := recover(); p != nil {
			f.failed.Store(&p)
			fit = f.spare
		}
	}()
	return f.memory.alone(h)
}

// take puts a record among those that were loaded, in the place of its earlier
// revision.
func (l *loaded) take(r logbook.Record) {
	pack := logbook.PackOf(r)
	list := slices.DeleteFunc(slices.Clone(l.records[pack]), func(o logbook.Record) bool {
		return o.Kind() == r.Kind() && logbook.HeadOf(o).ID == logbook.HeadOf(r).ID
	})
	l.records[pack] = append(list, r)
}
