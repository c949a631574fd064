package store

import (
	"encoding/binary"
	"time"

	"packwane/health/logbook"
)

// Op says what kind of action it was.
type Op string

// The actions.
const (
	OpImport  Op = "import"
	OpPut     Op = "put"
	OpRemove  Op = "remove"
	OpUndo    Op = "undo"
	OpRedo    Op = "redo"
	OpUpgrade Op = "upgrade" // of the file format; it is not undone, which would take the whole log away
)

// Action is one change of the store, of one record or of very many.
type Action struct {
	Seq     uint64 // counted from 1
	At      time.Time
	Op      Op
	Why     string // the caller's words: what was imported, why it was amended
	Target  uint64 // of an undo or a redo: the action undone or done again
	Added   int    // records that were not known before
	Changed int    // records with a new revision
	Removed int    // records removed
	Undone  bool   // by a later action; filled in when it is read

	undo, redo uint64 // what could be undone and done again before it
	parts      uint32 // of the journal, this one not counted
}

// Words says what the action did: the caller's words, of an undo or a redo behind
// what was done to them.
func (a Action) Words() string {
	switch a.Op {
	case OpUndo:
		return "undone: " + a.Why
	case OpRedo:
		return "made again: " + a.Why
	}
	return a.Why
}

func (a *Action) count(known, removed bool) {
	switch {
	case removed:
		a.Removed++
	case known:
		a.Changed++
	default:
		a.Added++
	}
}

func (a *Action) payload() []byte {
	var b []byte
	text := func(s string) {
		b = append(binary.AppendUvarint(b, uint64(len(s))), s...)
	}
	text(string(a.Op))
	text(a.Why)
	text(a.At.Format(time.RFC3339Nano))
	for _, n := range [...]uint64{a.Target, a.undo, a.redo, uint64(a.parts), uint64(a.Added), uint64(a.Changed), uint64(a.Removed)} {
		b = binary.AppendUvarint(b, n)
	}
	return b
}

func parseAction(seq uint64, b []byte) (Action, error) {
	c := cutter{b: b}
	a := Action{Seq: seq, Op: Op(c.text()), Why: c.text()}
	at, err := time.Parse(time.RFC3339Nano, c.text())
	a.At = at
	a.Target, a.undo, a.redo, a.parts = c.number(), c.number(), c.number(), uint32(c.number())
	a.Added, a.Changed, a.Removed = int(c.number()), int(c.number()), int(c.number())
	if c.bad || len(c.b) > 0 || err != nil {
		return Action{}, damaged("action %d of the journal is not one", seq)
	}
	return a, nil
}

// cutter takes numbers and texts off the front of b.
type cutter struct {
	b   []byte
	bad bool
}

func (c *cutter) number() uint64 {
	n, size := binary.Uvarint(c.b)
	if size <= 0 {
		c.bad, c.b = true, nil
		return 0
	}
	c.b = c.b[size:]
	return n
}

func (c *cutter) text() string {
	n := c.number()
	if n > uint64(len(c.b)) {
		c.bad, c.b = true, nil
		return ""
	}
	s := string(c.b[:n])
	c.b = c.b[n:]
	return s
}

// journalPart is how many bytes of touched records go into one entry.
const journalPart = 48 << 10

// touch notes in the journal that the action took a record from one revision
// to another; before is 0 where it was not known.
func (p *plan) touch(k logbook.Kind, id string, before, after uint32) error {
	p.touched = append(p.touched, byte(k))
	p.touched = append(binary.AppendUvarint(p.touched, uint64(len(id))), id...)
	p.touched = binary.AppendUvarint(p.touched, uint64(before))
	p.touched = binary.AppendUvarint(p.touched, uint64(after))
	if len(p.touched) >= journalPart {
		return p.flushTouched()
	}
	return nil
}

func (p *plan) flushTouched() error {
	if len(p.touched) == 0 {
		return nil
	}
	p.parts++
	err := p.putInline(tagJournal, journalKey(p.act.Seq, p.parts), p.touched)
	p.touched = p.touched[:0]
	return err
}

// action reads one action of the journal.
func (v *view) action(seq uint64) (Action, error) {
	payload, _, err := v.get(tagJournal, journalKey(seq, 0))
	if err != nil {
		return Action{}, err
	}
	if payload == nil {
		return Action{}, damaged("action %d is missing in the journal", seq)
	}
	return parseAction(seq, payload)
}

// touch is one record that an action changed.
type touch struct {
	kind          logbook.Kind
	id            string
	before, after uint32
}

// touches gives every record that the action changed, each once.
func (v *view) touches(a Action, fn func(touch) error) error {
	for part := uint32(1); part <= a.parts; part++ {
		payload, _, err := v.get(tagJournal, journalKey(a.Seq, part))
		if err != nil {
			return err
		}
		if payload == nil {
			return damaged("part %d of action %d is missing in the journal", part, a.Seq)
		}
		for c := (cutter{b: payload}); len(c.b) > 0; {
			k := logbook.Kind(c.b[0])
			c.b = c.b[1:]
			t := touch{k, c.text(), uint32(c.number()), uint32(c.number())}
			if c.bad {
				return damaged("part %d of action %d is cut short", part, a.Seq)
			}
			if err := fn(t); err != nil {
				return err
			}
		}
	}
	return nil
}

// Actions returns the last actions, the newest first; all where limit is 0.
func (s *Store) Actions(limit int) ([]Action, error) {
	var list []Action
	err := s.view(func(v *view) error {
		undone := map[uint64]bool{}
		settled := map[uint64]bool{}
		for seq := v.state.last; seq > 0 && (limit == 0 || len(list) < limit); seq-- {
			a, err := v.action(seq)
			if err != nil {
				return err
			}
			if (a.Op == OpUndo || a.Op == OpRedo) && !settled[a.Target] {
				settled[a.Target], undone[a.Target] = true, a.Op == OpUndo
			}
			a.Undone = undone[a.Seq]
			list = append(list, a)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}
