package store

import (
	"iter"

	"go.etcd.io/bbolt"
)

// bulk is how many operations on records go into one transaction of bbolt,
// which keeps them in memory; more are merged into a new file.
var bulk = 50_000

// act plans an action and carries it out: all of it or nothing. Payloads of
// the plan stand in h, or in a heap of its own where h is nil.
func (s *Store) act(a Action, h *heap, fill func(*plan) error) error {
	if err := s.writable(); err != nil {
		return err
	}
	if h == nil {
		h = &heap{near: s.path}
		defer h.close()
	}
	var p *plan
	err := s.view(func(v *view) error {
		p = newPlan(v, h, a)
		if err := fill(p); err != nil || p.empty() {
			return err
		}
		return p.finish()
	})
	if p == nil {
		return err
	}
	defer p.close()
	if err != nil || p.empty() {
		return err
	}
	if p.size > h.bulk() {
		return s.rebuild(p)
	}
	return s.apply(p)
}

// writable says whether the store may be changed.
func (s *Store) writable() error {
	if s.broken != nil {
		return s.broken
	}
	if s.mode != ReadWrite {
		return tell(ErrReadOnly, "%s was opened for reading only", s.path)
	}
	return nil
}

// apply carries out a plan in one transaction.
func (s *Store) apply(p *plan) error {
	err := s.guard(func() error {
		return s.update(func(tx *bbolt.Tx) error {
			v, err := newView(tx)
			if err != nil {
				return err
			}
			return p.carryOut(v, &direct{v: v, plan: p, tallies: tallies{}})
		})
	})
	if err != nil {
		return err
	}
	return s.publish()
}

// writer carries out the operations on one bucket.
type writer interface {
	write(t tag, ops iter.Seq2[sorted, error]) error
	sums() tallies
}

// tallies are tallies, or changes of them, by group.
type tallies map[string]*tally

// at returns the tally of the group of a key, to be changed; nil for the
// buckets that no sum covers.
func (ts tallies) at(t tag, key []byte) *tally {
	if t == tagSum || t == tagMeta {
		return nil
	}
	var space [160]byte
	g := appendGroup(space[:0], t, key)
	if c := ts[string(g)]; c != nil {
		return c
	}
	c := &tally{}
	ts[string(g)] = c
	return c
}

func (ts tallies) add(t tag, key []byte, sum uint64) {
	if c := ts.at(t, key); c != nil {
		c.add(sum)
	}
}

func (ts tallies) drop(t tag, key []byte, sum uint64) {
	if c := ts.at(t, key); c != nil {
		c.drop(sum)
	}
}

// of returns the tally of a group.
func (ts tallies) of(group []byte) tally {
	if c := ts[string(group)]; c != nil {
		return *c
	}
	return tally{}
}

// carryOut writes the buckets, then the sums that follow from what was
// written, then the state.
func (p *plan) carryOut(v *view, w writer) error {
	for _, t := range []tag{tagRecord, tagHistory, tagID, tagLink, tagJournal, tagSettings} {
		if err := w.write(t, p.ops[t].all()); err != nil {
			return err
		}
		p.ops[t].close()
	}
	if err := p.sums(v, w.sums()); err != nil {
		return err
	}
	if err := w.write(tagSum, p.ops[tagSum].all()); err != nil {
		return err
	}
	if err := p.putInline(tagMeta, keyState, p.next.payload()); err != nil {
		return err
	}
	return w.write(tagMeta, p.ops[tagMeta].all())
}

// sums turns changes of the groups into operations on the sums bucket and
// brings the root up to date.
func (p *plan) sums(v *view, changes tallies) error {
	for _, group := range sortedKeys(changes) {
		key := []byte(group)
		old, sum, err := v.get(tagSum, key)
		if err != nil {
			return err
		}
		var t tally
		if old != nil {
			if t, err = parseTally(old); err != nil {
				return err
			}
			p.next.root.drop(sum)
		}
		t = t.plus(*changes[group])
		switch {
		case t.n < 0 || t.n == 0 && t.sum != 0:
			return damaged("a sum does not add up")
		case t.n > 0:
			payload := t.payload()
			p.next.root.add(checksum(tagSum, key, payload))
			err = p.putInline(tagSum, key, payload)
		case old != nil:
			err = p.delete(tagSum, key)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// direct writes within one transaction.
type direct struct {
	v       *view
	plan    *plan
	tallies tallies
	block   []byte // values must live until the transaction ends
}

func (d *direct) sums() tallies { return d.tallies }

func (d *direct) write(t tag, ops iter.Seq2[sorted, error]) error {
	b := d.v.bucket[t]
	if t == tagRecord && d.plan.size > 1000 {
		b.FillPercent = sortedFill
	}
	for op, err := range ops {
		if err != nil {
			return err
		}
		old, sum, err := d.v.get(t, op.key)
		if err != nil {
			return err
		}
		if old != nil {
			d.tallies.drop(t, op.key, sum)
		}
		var e entry
		if e, d.block, err = d.plan.frame(t, op, d.block); err != nil {
			return err
		}
		if e.value == nil {
			err = b.Delete(e.key)
		} else {
			d.tallies.add(t, e.key, sumOf(e.value))
			err = b.Put(e.key, e.value)
		}
		if err != nil {
			return err
		}
	}
	return nil
}
