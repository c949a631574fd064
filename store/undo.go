package store

import (
	"time"

	"packwane/health/logbook"
)

// Undo takes back the last action that has not been undone, and on the next
// call the one before it. It writes new revisions with the earlier content, or
// removes what was added; nothing is deleted. It returns the action that was
// undone, or ErrNothing.
func (s *Store) Undo(now time.Time) (Action, error) {
	var undone Action
	err := s.act(Action{Op: OpUndo, At: now}, nil, func(p *plan) (err error) {
		st := p.v.state
		if st.undo == 0 {
			return tell(ErrNothing, "nothing to undo")
		}
		if undone, err = p.v.action(st.undo); err != nil {
			return err
		}
		p.act.Target, p.act.Why = undone.Seq, undone.Why
		p.act.redo = st.redo
		p.next.undo, p.next.redo = undone.undo, p.act.Seq
		return p.v.touches(undone, func(t touch) error { return p.restore(t.kind, t.id, t.before) })
	})
	return undone, err
}

// Redo does again what the last Undo took back, until something else was
// changed. It returns the action that was done again, or ErrNothing.
func (s *Store) Redo(now time.Time) (Action, error) {
	var again Action
	err := s.act(Action{Op: OpRedo, At: now}, nil, func(p *plan) error {
		st := p.v.state
		if st.redo == 0 {
			return tell(ErrNothing, "nothing to do again")
		}
		undo, err := p.v.action(st.redo)
		if err != nil {
			return err
		}
		if again, err = p.v.action(undo.Target); err != nil {
			return err
		}
		p.act.Target, p.act.Why = again.Seq, again.Why
		p.next.undo, p.next.redo = again.Seq, undo.redo
		return p.v.touches(again, func(t touch) error { return p.restore(t.kind, t.id, t.after) })
	})
	return again, err
}

// restore adds a revision that says what revision rev of the record said; the
// record is removed where rev is 0. Nothing is added where it says so already.
func (p *plan) restore(k logbook.Kind, id string, rev uint32) error {
	old, known, err := p.v.place(k, id)
	switch {
	case err != nil:
		return err
	case !known:
		return damaged("%s %q of the journal is missing", k, id)
	case old.rev >= maxRev:
		return tell(ErrConflict, "%s %q has had the last possible revision", k, id)
	case rev == 0 && old.removed:
		return nil
	case rev == 0:
		return p.removeRecord(k, id, old)
	}
	if rev == old.rev {
		return nil
	}
	payload, err := p.v.revision(idKey(k, id), rev)
	if err != nil {
		return err
	}
	r, err := decode(k, id, payload)
	if err != nil {
		return err
	}
	_, body, err := splitPayload(payload)
	if err != nil {
		return err
	}
	d := newDraft(r, old.rev+1, body)
	if d.hash == old.hash {
		return nil
	}
	return p.amend(k, id, old, true, d, body)
}
