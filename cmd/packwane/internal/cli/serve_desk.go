package cli

import (
	"errors"
	"io"
	"iter"
	"time"

	ics "github.com/arran4/golang-ical"

	"packwane/cmd/packwane/internal/fits"
	"packwane/cmd/packwane/internal/typed"
	"packwane/cmd/packwane/internal/web"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
	"packwane/store"
)

// desk lets the page do what the commands do, by the same functions: each call
// is an app of its own, at the moment and in the units of the request.
type desk struct {
	app   *app
	clock func() time.Time
	fits  fits.Cache
}

// DeskFor is the desk of the commands over the store in one file, without a
// cache: what the tests of the page write with.
func DeskFor(store string, clock func() time.Time) web.Desk {
	a := &app{storeFlag: store, now: clock()}
	a.streams.Getenv = func(string) string { return "" }
	return desk{app: a, clock: clock}
}

// at is an app for one request; it has no streams, so that it asks nobody.
func (k desk) at(who typed.Rider) *app {
	a := &app{now: who.Now, storeFlag: k.app.storeFlag, unitsFlag: who.System.String()}
	a.streams.Getenv = k.app.streams.Getenv
	return a
}

func nothing(*store.Store) error { return nil }

func (k desk) Read(f func(*store.Store) error) error {
	err := k.app.read(f)
	if isAny(err, errNoLog, store.ErrNoStore) {
		return web.ErrEmpty
	}
	return err
}

func (k desk) Change(f func(*store.Store) error) error { return k.app.change(f) }

func (k desk) Import(entries iter.Seq2[logbook.Entry, error], why string, now time.Time) (store.Summary, error) {
	path, _ := k.app.storePath()
	return store.Import(path, entries, why, now)
}

func (k desk) Rider(s *store.Store, now time.Time) (typed.Rider, error) {
	who, err := k.app.rider(s)
	who.Now = now
	return who, err
}

func (k desk) Prefer(sys units.System) error {
	return k.app.change(func(s *store.Store) error { return s.PutSetting(settingUnits, sys.String()) })
}

func (k desk) LastPack(s *store.Store) (string, error) {
	id, err := meantPack(s)
	var f *fault
	if errors.As(err, &f) {
		return "", nil
	}
	return id, err
}

func (k desk) Caution(r logbook.Record, p *logbook.Pack) string { return caution(r, p) }

func (k desk) Calendar(w io.Writer, list []report.Reminder, asOf time.Time, sys units.System) error {
	return calendar(list, asOf, sys).SerializeTo(w, ics.WithNewLine("\r\n"))
}

func (k desk) Report(w io.Writer, known []report.Known, sys units.System, zone *time.Location, markdown bool) error {
	d := report.DocumentOf(known, sys)
	if markdown {
		return writeMarkdown(w, d)
	}
	return writePage(w, d, known, sys, zone)
}

func (k desk) Fit(h *logbook.History, siblings []model.Sibling) *model.Fit {
	return k.fits.Fit(h, siblings)
}

func (k desk) Wrong(err error) bool { return statusOf(err) == statusWrong }

func (k desk) Draft(kind logbook.Kind, id string, words []typed.Word, who typed.Rider) (*web.Draft, error) {
	a := k.at(who)
	d := &draft{record: logbook.New(kind)}
	logbook.HeadOf(d.record).ID = id
	held := false
	err := a.read(func(s *store.Store) error {
		err := a.prepare(s, d, words)
		if made := logbook.HeadOf(d.record).ID; err != nil && id == "" && made != "" {
			_, lost := s.Get(kind, made)
			held = lost == nil
		}
		return err
	})
	if isAny(err, errNoLog, store.ErrNoStore) && addable(kind) {
		err = a.prepare(nil, d, words)
	}
	if held {
		return &web.Draft{Record: d.record, As: d.as, Held: err.Error()}, nil
	}
	if err != nil {
		return nil, err
	}
	return k.draft(d, newVerb(kind)), nil
}

func (k desk) Amend(kind logbook.Kind, id string, rev int, words []typed.Word, who typed.Rider) (*web.Draft, error) {
	a := k.at(who)
	d := &draft{}
	err := a.read(func(s *store.Store) error {
		there, err := s.Get(kind, id)
		if err != nil {
			return err
		}
		if err := unchanged(there, rev); err != nil {
			return err
		}
		return a.prepareAmendment(s, d, there, words)
	})
	if err != nil {
		return nil, err
	}
	return k.draft(d, "amended"), nil
}

// unchanged refuses to work on another revision than the one that was seen.
func unchanged(there logbook.Record, rev int) error {
	h := logbook.HeadOf(there)
	if h.Rev == rev {
		return nil
	}
	return &conflict{fault{statusFailed, errors.New(nameOf(there) + " was changed meanwhile: you saw revision " + itoa(rev) + ", the log has revision " + itoa(h.Rev) + "; look at it again, then repeat the change")}}
}

// conflict is a fault that is also a store.ErrConflict.
type conflict struct{ fault }

func (c *conflict) Is(target error) bool { return target == store.ErrConflict }

func (k desk) Restore(kind logbook.Kind, id string, rev, back int, who typed.Rider) (*web.Draft, error) {
	a := k.at(who)
	d := &draft{who: who}
	err := a.read(func(s *store.Store) error {
		revisions, err := s.Revisions(kind, id)
		if err != nil {
			return err
		}
		last := revisions[len(revisions)-1]
		if err := unchanged(last, rev); err != nil {
			return err
		}
		d.seen = rev
		d.record, err = chooseRevision(revisions, back)
		return err
	})
	if err != nil {
		return nil, err
	}
	return k.draft(d, "restored"), nil
}

// draft makes a draft of the commands into one of the page.
func (k desk) draft(d *draft, verb string) *web.Draft {
	out := &web.Draft{Record: d.record, As: d.as, Caution: caution(d.record, d.pack), There: d.known && d.seen == 0, Nothing: d.known && d.seen != 0}
	for _, s := range d.slips {
		out.Slips = append(out.Slips, web.Slip{Field: s.Field, Words: slipWords(s, d.record, d.who)})
	}
	out.Keep = func(against bool) (logbook.Record, error) {
		a := k.at(d.who)
		a.now = k.clock()
		err := a.put(d, keeping{force: against}, verb)
		return d.record, err
	}
	return out
}
