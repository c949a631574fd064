package store

import (
	"bytes"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

// view reads the store within one transaction.
type view struct {
	tx     *bbolt.Tx
	bucket [256]*bbolt.Bucket // by tag
	state  state
	rooted bool // the sums bucket was checked against the state
}

func newView(tx *bbolt.Tx) (*view, error) {
	v := &view{tx: tx}
	for _, t := range buckets {
		if v.bucket[t] = tx.Bucket(t.name()); v.bucket[t] == nil {
			return nil, damaged("no bucket %s", t)
		}
	}
	payload, _, err := v.get(tagMeta, keyState)
	if err != nil {
		return nil, err
	}
	if payload == nil {
		return nil, damaged("no state")
	}
	v.state, err = parseState(payload)
	return v, err
}

// view runs fn over a consistent picture of the store.
func (s *Store) view(fn func(*view) error) error {
	return s.guard(func() error {
		return s.db.View(func(tx *bbolt.Tx) error {
			v, err := newView(tx)
			if err != nil {
				return err
			}
			return fn(v)
		})
	})
}

// get returns the payload of an entry and its checksum; nil where there is
// none. The payload lives as long as the transaction.
func (v *view) get(t tag, key []byte) ([]byte, uint64, error) {
	value := v.bucket[t].Get(key)
	if value == nil {
		found, _, err := seek(v.bucket[t].Cursor(), key)
		if err == nil && bytes.Equal(found, key) {
			err = astray()
		}
		return nil, 0, err
	}
	return openFrame(t, key, value)
}

// tallyOf returns the tally that was stored for a group. Where there is none
// the group is empty, provided that the sums are complete.
func (v *view) tallyOf(group []byte) (tally, error) {
	payload, _, err := v.get(tagSum, group)
	if err != nil {
		return tally{}, err
	}
	if payload == nil {
		return tally{}, v.checkRoot()
	}
	return parseTally(payload)
}

// checkRoot checks that the sums bucket is complete.
func (v *view) checkRoot() error {
	if v.rooted {
		return nil
	}
	var got tally
	c := v.bucket[tagSum].Cursor()
	for key, value := c.First(); key != nil; key, value = c.Next() {
		_, sum, err := openFrame(tagSum, key, value)
		if err != nil {
			return err
		}
		got.add(sum)
	}
	if got != v.state.root {
		return damaged("sums are missing")
	}
	v.rooted = true
	return nil
}

// scan gives every entry of a group, which is all keys that begin with prefix,
// and checks that none is missing. What fn was given counts only where scan
// returns nil.
func (v *view) scan(t tag, prefix []byte, fn func(key, payload []byte) error) error {
	var got tally
	c := v.bucket[t].Cursor()
	key, value, err := seek(c, prefix)
	if err != nil {
		return err
	}
	for ; key != nil && bytes.HasPrefix(key, prefix); key, value = c.Next() {
		payload, sum, err := openFrame(t, key, value)
		if err != nil {
			return err
		}
		got.add(sum)
		if fn != nil {
			if err := fn(key, payload); err != nil {
				return err
			}
		}
	}
	want, err := v.tallyOf(appendGroup(nil, t, prefix))
	if err != nil {
		return err
	}
	if got != want {
		return damaged("%s hold %d entries of %d in one group", t, got.n, want.n)
	}
	return nil
}

// place looks a record up. Where it is not there, its group is checked, so
// that "not there" can be trusted.
func (v *view) place(k logbook.Kind, id string) (place, bool, error) {
	key := idKey(k, id)
	payload, _, err := v.get(tagID, key)
	if err != nil {
		return place{}, false, err
	}
	if payload == nil {
		return place{}, false, v.scan(tagID, key[:1], nil)
	}
	p, err := parsePlace(payload)
	return p, err == nil, err
}

// current returns the payload of the current revision, removed or not.
func (v *view) current(k logbook.Kind, id string, p place) ([]byte, error) {
	if p.removed {
		return v.revision(idKey(k, id), p.rev)
	}
	payload, _, err := v.get(tagRecord, appendRecordKey(nil, p.owner, p.bits, k, id))
	if err == nil && payload == nil {
		err = damaged("%s %q is missing", k, id)
	}
	return payload, err
}

// revision returns the payload of one revision in the history bucket.
func (v *view) revision(id []byte, rev uint32) ([]byte, error) {
	payload, _, err := v.get(tagHistory, appendHistoryKey(nil, id, rev))
	if err == nil && payload == nil {
		err = damaged("revision %d of %q is missing", rev, id[9:])
	}
	return payload, err
}

// older gives the revisions of a record in the history bucket, oldest first.
func (v *view) older(id []byte, p place, fn func(rev uint32, payload []byte) error) error {
	prefix := append(append([]byte(nil), id...), 0)
	c := v.bucket[tagHistory].Cursor()
	n := 0
	key, value, err := seek(c, prefix)
	if err != nil {
		return err
	}
	for ; key != nil && bytes.HasPrefix(key, prefix); key, value = c.Next() {
		_, rev, err := parseHistoryKey(key)
		if err != nil {
			return err
		}
		payload, _, err := openFrame(tagHistory, key, value)
		if err != nil {
			return err
		}
		if err := fn(rev, payload); err != nil {
			return err
		}
		n++
	}
	if n != p.older() {
		return damaged("%q has %d older revisions of %d", id[9:], n, p.older())
	}
	return nil
}
