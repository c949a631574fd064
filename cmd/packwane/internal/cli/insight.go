package cli

import (
	"fmt"
	"slices"
	"strings"

	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/store"
)

// insightOf says what a record shows that was just kept; nil for one that can
// show nothing, and where its pack cannot be told.
func (a *app) insightOf(d *draft) (*report.Insight, error) {
	switch d.record.(type) {
	case *logbook.Ride, *logbook.Charge, *logbook.Check, *logbook.Service, *logbook.Setup:
	default:
		return nil, nil
	}
	if d.known || d.seen > 0 {
		return nil, nil
	}
	asOf := a.now
	if end := logbook.EndOf(d.record); end.After(asOf) { // kept against advice
		asOf = end
	}
	var h *logbook.History
	err := a.read(func(s *store.Store) error {
		pack, err := packConcerned(s, d.record)
		if err != nil || pack == "" {
			return err
		}
		records, err := s.PackRecords(pack)
		if err != nil {
			return err
		}
		h, err = logbook.NewHistory(pack, records, asOf)
		return err
	})
	if err != nil || h == nil {
		return nil, err
	}
	return report.InsightOf(h, d.record, fitHistory), nil
}

// packConcerned returns the pack that a record is about: its own, else one
// that its board is the usual one of; "" where there is none.
func packConcerned(s *store.Store, r logbook.Record) (string, error) {
	if pack := logbook.PackOf(r); pack != "" {
		return pack, nil
	}
	packs, err := s.Packs()
	if err != nil {
		return "", err
	}
	for _, p := range packs {
		if board := logbook.BoardOf(r); board != "" && p.Board == board {
			return p.ID, nil
		}
	}
	return "", nil
}

// insightColumns is how wide the labels of an insight are set, insightLines how
// many lines it may fill.
const (
	insightColumns = 9
	insightLines   = 9
)

// showInsight prints what the record shows, below what was understood. What
// cannot be read back is no fault of the record: it was kept.
func (a *app) showInsight(d *draft) error {
	i, err := a.insightOf(d)
	if err != nil || i == nil {
		return nil
	}
	for n, l := range a.roomFor(i.Lines(d.who.System)) {
		if n == 0 {
			fmt.Fprintln(a.streams.Out)
		}
		label := pad(l.Label, insightColumns, false)
		text := wrap(label, l.Text, a.streams.width())
		ink := a.ink().head
		if l.Alarm {
			ink = a.ink().alarm
		}
		if _, err := fmt.Fprint(a.streams.Out, ink(label), text[len(label):]); err != nil {
			return err
		}
	}
	return nil
}

// roomFor leaves out what can best be spared until the rest fits its lines.
func (a *app) roomFor(all []report.InsightLine) []report.InsightLine {
	rows := func() (n int) {
		for _, l := range all {
			n += strings.Count(wrap(pad(l.Label, insightColumns, false), l.Text, a.streams.width()), "\n")
		}
		return n
	}
	for rows() > insightLines {
		worst := -1
		for n, l := range all {
			if l.Spare > 0 && (worst < 0 || l.Spare >= all[worst].Spare) {
				worst = n
			}
		}
		if worst < 0 {
			break
		}
		all = slices.Delete(all, worst, worst+1)
	}
	return all
}
