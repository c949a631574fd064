package cli

import (
	"bufio"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/store"
)

// aboutPacks reads the histories of several packs by --as-of, each fitted.
func (a *app) aboutPacks(words []string) ([]*question, []report.Known, error) {
	var questions []*question
	var known []report.Known
	for _, word := range words {
		q, err := a.about([]string{word})
		if err != nil {
			return nil, nil, err
		}
		for _, other := range questions {
			if other.history.Pack.ID == q.history.Pack.ID {
				return nil, nil, wrong("pack %q is named twice: want different packs", q.history.Pack.ID)
			}
		}
		questions = append(questions, q)
		known = append(known, report.Known{History: q.history, Fit: q.fit()})
	}
	return questions, known, nil
}

// aboutRide reads the history of the life of the pack in which a ride lies.
func (a *app) aboutRide(id string) (*question, *logbook.Ride, error) {
	asOf, err := a.asOf()
	if err != nil {
		return nil, nil, err
	}
	q := &question{}
	var records []logbook.Record
	var pack string
	err = a.read(func(s *store.Store) error {
		if q.who, err = a.rider(s); err != nil {
			return err
		}
		r, err := s.Get(logbook.KindRide, id)
		switch {
		case errors.Is(err, store.ErrNotFound):
			return noRide(s, id)
		case err != nil:
			return err
		case logbook.HeadOf(r).Removed:
			return wrong("ride %q was removed from the log: `packwane restore` brings it back", id)
		}
		pack = logbook.PackOf(r)
		records, err = s.PackRecords(pack)
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	if q.history, err = logbook.NewHistory(pack, records, asOf); err != nil {
		return nil, nil, err
	}
	for _, r := range q.history.Rides {
		if r.ID == id {
			q.history = report.LifeOf(q.history, r.At)
			return q, r, nil
		}
	}
	return nil, nil, wrong("ride %q had not ended by %s: want a later --as-of", id, asOf.Format(time.RFC3339))
}

// noRide says which ride was likely meant.
func noRide(s *store.Store, id string) error {
	if near, ok := typed.Nearest(id, idsOf(rides(s))); ok {
		return wrong("no ride %q: did you mean %q?", id, near)
	}
	return wrong("no ride %q: `packwane list --kind ride` lists them", id)
}

// rides lists the rides of a store, as far as it can be read.
func rides(s *store.Store) []*logbook.Ride {
	var out []*logbook.Ride
	for r, err := range s.All(false) {
		if err != nil {
			break
		}
		if ride, ok := r.(*logbook.Ride); ok && !ride.Removed {
			out = append(out, ride)
		}
	}
	return out
}

// completeRides completes ids of rides, the latest first.
func (a *app) completeRides(_ *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	var all []*logbook.Ride
	a.read(func(s *store.Store) error {
		all = rides(s)
		return nil
	})
	slices.SortFunc(all, func(x, y *logbook.Ride) int { return logbook.Compare(y, x) })
	var out []string
	for _, r := range all[:min(len(all), mostIDs)] {
		out = append(out, r.ID+"\t"+typed.Summary(r, typed.Rider{Now: a.now}))
	}
	return out, noFiles
}

// paragraph prints words at the width of the screen behind an empty line.
func (a *app) paragraph(words string) error {
	_, err := fmt.Fprint(a.streams.Out, "\n", wrap("", words, a.streams.width()))
	return err
}

// notes prints warnings behind an answer for people.
func (a *app) notes(list []report.Warning) error {
	out := bufio.NewWriter(a.streams.Out)
	writeNotes(out, list, a.streams.width())
	return out.Flush()
}
