package web

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"packwane/cmd/packwane/internal/fits"
	"packwane/health/logbook"
	"packwane/store"
)

// loaded is what one opening of the store gave.
type loaded struct {
	packs   []*logbook.Pack
	boards  []*logbook.Board
	last    string // the pack that is meant where none is named
	records map[string][]logbook.Record
}

// read opens the store for one load, with who reads. An empty log is no error;
// f is not called then.
func (v *visit) read(f func(*store.Store) error) error {
	err := v.s.Desk.Read(func(s *store.Store) (err error) {
		if v.who, err = v.s.Desk.Rider(s, v.now); err != nil || f == nil {
			return err
		}
		return f(s)
	})
	if errors.Is(err, ErrEmpty) {
		v.who, err = v.s.Desk.Rider(nil, v.now)
	}
	return err
}

// chooser chooses packs among those of a log.
type chooser func(*loaded) ([]*logbook.Pack, error)

// load reads the packs and boards, and the records of the packs that are
// chosen, with those that lend them their fades: in one opening of the store.
func (v *visit) load(choose chooser) (*loaded, error) {
	l := &loaded{records: map[string][]logbook.Record{}}
	err := v.read(func(s *store.Store) (err error) {
		if l.packs, err = s.Packs(); err != nil {
			return err
		}
		if l.boards, err = s.Boards(); err != nil {
			return err
		}
		if l.last, err = v.s.Desk.LastPack(s); err != nil {
			return err
		}
		chosen, err := choose(l)
		if err != nil {
			return err
		}
		for _, p := range chosen {
			for _, q := range append([]*logbook.Pack{p}, fits.Alike(l.packs, p)...) {
				if l.records[q.ID] != nil {
					continue
				}
				if l.records[q.ID], err = s.PackRecords(q.ID); err != nil {
					return err
				}
			}
		}
		return nil
	})
	return l, err
}

func allPacks(l *loaded) ([]*logbook.Pack, error) { return l.packs, nil }

func noPacks(*loaded) ([]*logbook.Pack, error) { return nil, nil }

// packNamed chooses the pack with that id.
func packNamed(id string) chooser {
	return func(l *loaded) ([]*logbook.Pack, error) {
		p, err := l.pack(id)
		return []*logbook.Pack{p}, err
	}
}

// pack is the pack with that id.
func (l *loaded) pack(id string) (*logbook.Pack, error) {
	for _, p := range l.packs {
		if p.ID == id {
			return p, nil
		}
	}
	return nil, &problem{http.StatusNotFound, "No such pack", "The log has no pack of that name. It may have been removed."}
}

// subject is one pack as a page looks at it, with the packs that lend it their
// fades.
type subject struct {
	history  *logbook.History
	siblings []*logbook.History
	drawn    *subject // as the pictures look at it; nil: as this one
}

// subject cuts the records of a pack at the moment that pages look from: the
// beginning of the hour for figures and of the day for pictures, or the end of
// the last record if that is later. So the answers of one page serve the next.
func (v *visit) subject(l *loaded, p *logbook.Pack) (*subject, error) {
	now := v.now
	hour := time.Date(now.Year(), now.Month(), now.Day(), now.Hour(), 0, 0, 0, now.Location())
	day := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	s, err := l.subject(p, hour, now)
	if err != nil {
		return nil, err
	}
	s.drawn, err = l.subject(p, day, now)
	return s, err
}

func (l *loaded) subject(p *logbook.Pack, from, now time.Time) (*subject, error) {
	h, err := logbook.NewHistory(p.ID, l.records[p.ID], now)
	if err != nil {
		return nil, err
	}
	asOf := lookFrom(h, from, now)
	s := &subject{}
	if s.history, err = logbook.NewHistory(p.ID, l.records[p.ID], asOf); err != nil {
		return nil, err
	}
	for _, q := range fits.Alike(l.packs, p) {
		if h, err := logbook.NewHistory(q.ID, l.records[q.ID], asOf); err == nil {
			s.siblings = append(s.siblings, h)
		}
	}
	return s, nil
}

// lookFrom is from, or the end of the last record by now if that is later.
func lookFrom(h *logbook.History, from, now time.Time) time.Time {
	asOf := from
	for _, r := range slices.Concat(h.Records(), asRecords(h.OtherRides)) {
		if end := logbook.EndOf(r); end.After(asOf) && !end.After(now) {
			asOf = end.In(now.Location())
		}
	}
	return asOf
}

func asRecords[T logbook.Record](rs []T) []logbook.Record {
	out := make([]logbook.Record, len(rs))
	for i, r := range rs {
		out[i] = r
	}
	return out
}

// one loads one pack by its id, and what answers about it.
func (v *visit) one(id string) (*loaded, *answers, error) {
	l, err := v.load(packNamed(id))
	if err != nil {
		return nil, nil, err
	}
	a, err := v.answers(l, id)
	return l, a, err
}

// everyPack loads all packs and works out, all at once, what a page wants of
// each.
func (v *visit) everyPack(want func(*answers) []func()) (*loaded, []*answers, error) {
	l, err := v.load(allPacks)
	if err != nil {
		return nil, nil, err
	}
	var all []*answers
	var work []func()
	for _, p := range l.packs {
		a, err := v.answers(l, p.ID)
		if err != nil {
			return nil, nil, err
		}
		all, work = append(all, a), append(work, want(a)...)
	}
	together(work...)
	return l, all, nil
}

// answers are those about one of the packs that were loaded.
func (v *visit) answers(l *loaded, id string) (*answers, error) {
	p, err := l.pack(id)
	if err != nil {
		return nil, err
	}
	s, err := v.subject(l, p)
	if err != nil {
		return nil, err
	}
	return v.s.memory.answers(s), nil
}

// nameOf is what a pack or board is called.
func nameOf(r logbook.Record) string {
	name := ""
	switch r := r.(type) {
	case *logbook.Pack:
		name = r.Name
	case *logbook.Board:
		name = r.Name
	}
	if name == "" {
		name = logbook.HeadOf(r).ID
	}
	return name
}
