package store

import (
	"time"

	"packwane/health/logbook"
)

// Put stores one record: a new one where expectRev is 0, else an amendment of
// the revision that its editor saw. It returns the record as stored, with its
// id and revision. A new record that says what the store has already is
// returned as it is; one that was removed comes back as a new revision.
// ErrConflict is returned where the record has changed since, or where the id
// of a new one is taken.
func (s *Store) Put(r logbook.Record, expectRev int, why string, now time.Time) (logbook.Record, error) {
	if err := logbook.Validate(r); err != nil {
		return nil, err
	}
	k, body := r.Kind(), appendBody(nil, r)
	id := logbook.HeadOf(r).ID
	if id == "" {
		id = logbook.MakeID(r)
	}
	op := OpPut
	if logbook.HeadOf(r).Removed {
		op = OpRemove
	}
	var stored logbook.Record
	err := s.act(Action{Op: op, Why: why, At: now}, nil, func(p *plan) error {
		old, known, err := p.v.place(k, id)
		if err != nil {
			return err
		}
		if err := expected(k, id, old, known, expectRev); err != nil {
			return err
		}
		d := newDraft(r, old.rev+1, body)
		if known && d.hash == old.hash {
			stored, err = p.v.record(k, id)
			return err
		}
		if err := admit(p.v, r, id, old, known, expectRev); err != nil {
			return err
		}
		if err := p.amend(k, id, old, known, d, body); err != nil {
			return err
		}
		stored, err = decode(k, id, appendPayload(nil, d.rev, body))
		return err
	})
	if err != nil {
		return nil, err
	}
	return stored, nil
}

// amend adds one revision.
func (p *plan) amend(k logbook.Kind, id string, old place, known bool, d draft, body []byte) error {
	at, err := p.heap.append(appendPayload(nil, d.rev, body))
	if err != nil {
		return err
	}
	d.payload = at
	return p.change(idKey(k, id), old, known, []draft{d})
}

// expected checks that the record stands at the revision that was seen.
func expected(k logbook.Kind, id string, old place, known bool, expectRev int) error {
	switch {
	case expectRev == 0:
		return nil
	case !known:
		return tell(ErrNotFound, "no %s %q to change: `packwane list` shows the ids", k, id)
	case expectRev != int(old.rev):
		return tell(ErrConflict, "%s %q was changed meanwhile: you saw revision %d, the store has revision %d; look at it again, then repeat the change", k, id, expectRev, old.rev)
	case old.rev >= maxRev:
		return tell(ErrConflict, "%s %q has had the last possible revision", k, id)
	}
	return nil
}

// admit checks what can be said only with the store at hand.
func admit(v *view, r logbook.Record, id string, old place, known bool, expectRev int) error {
	k := r.Kind()
	if expectRev == 0 {
		switch {
		case known && !old.removed:
			return tell(ErrConflict, "there is a %s %q already, at revision %d and with other content: amend it, or choose another id", k, id, old.rev)
		case !known && logbook.HeadOf(r).Removed:
			return tell(ErrNotFound, "no %s %q to remove: `packwane list` shows the ids", k, id)
		}
	}
	for _, ref := range references(r) {
		p, ok, err := v.place(ref.kind, ref.id)
		switch {
		case err != nil:
			return err
		case !ok:
			return unknown(ref, ref.kind.String())
		case p.removed && !known:
			return &told{text: (&logbook.FieldError{Field: ref.kind.String(), Value: ref.id, Want: "that " + ref.kind.String() + " was removed: want one that is in the log"}).Error(), is: ErrReference}
		}
	}
	return nil
}

// Remove takes a record out of the log, as a new revision. expectRev is the
// revision that was seen, 0 for whichever it is.
func (s *Store) Remove(k logbook.Kind, id string, expectRev int, why string, now time.Time) error {
	return s.act(Action{Op: OpRemove, Why: why, At: now}, nil, func(p *plan) error {
		old, known, err := p.v.place(k, id)
		switch {
		case err != nil:
			return err
		case !known:
			return tell(ErrNotFound, "no %s %q to remove: `packwane list` shows the ids", k, id)
		case old.removed:
			return tell(ErrConflict, "%s %q was removed already, at revision %d", k, id, old.rev)
		}
		if err := expected(k, id, old, known, expectRev); err != nil {
			return err
		}
		return p.removeRecord(k, id, old)
	})
}

// removeRecord adds a revision that takes the record out.
func (p *plan) removeRecord(k logbook.Kind, id string, old place) error {
	payload, err := p.v.current(k, id, old)
	if err != nil {
		return err
	}
	_, body, err := splitPayload(payload)
	if err != nil {
		return err
	}
	return p.amend(k, id, old, true, draft{rev: old.rev + 1, removed: true, hash: removalHash}, removalBody(k, body))
}
