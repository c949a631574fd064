package store

import (
	"iter"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

// All gives the current revisions of every record that is not removed or,
// with history, every revision of every record: by kind in the order of
// logbook.Kinds, then time, id and revision. All is checked to be whole before
// the first one is given. The store must stay open until the loop ends.
func (s *Store) All(history bool) iter.Seq2[logbook.Record, error] {
	return func(yield func(logbook.Record, error) bool) {
		order := &sorter{near: filepath.Join(os.TempDir(), "packwane")}
		defer order.close()
		var tx *bbolt.Tx
		var v *view
		err := s.guard(func() (err error) {
			if tx, err = s.db.Begin(false); err != nil {
				return err
			}
			if v, err = newView(tx); err != nil {
				return err
			}
			return v.order(order, history)
		})
		if tx != nil {
			defer catch(tx.Rollback)
		}
		if err != nil {
			yield(nil, err)
			return
		}
		for pair, err := range order.all() {
			var r logbook.Record
			if err == nil {
				err = s.guard(func() (err error) {
					r, err = v.entry(pair.value)
					return err
				})
			}
			if !yield(r, err) || err != nil {
				return
			}
		}
	}
}

// order sorts the entries of the records bucket and, with history, of the
// history bucket. It checks every group of both.
func (v *view) order(order *sorter, history bool) error {
	var key []byte
	err := v.sweep(tagRecord, func(k, payload []byte) error {
		rk, err := parseRecordKey(k)
		if err != nil {
			return err
		}
		rev, _, err := splitPayload(payload)
		if err != nil {
			return err
		}
		key = orderKey(key[:0], rk.kind, rk.bits, rk.id, rev)
		return order.add(key, append([]byte{byte(tagRecord)}, k...))
	})
	if err != nil || !history {
		return err
	}
	return v.sweep(tagHistory, func(k, payload []byte) error {
		id, rev, err := parseHistoryKey(k)
		if err != nil {
			return err
		}
		kind, name, err := parseIDKey(id)
		if err != nil {
			return err
		}
		at, err := bodyTime(payload)
		if err != nil {
			return err
		}
		key = orderKey(key[:0], kind, timeBits(at), name, rev)
		return order.add(key, append([]byte{byte(tagHistory)}, k...))
	})
}

// entry decodes the record at a key of the records or the history bucket; the
// bucket's tag stands in front.
func (v *view) entry(at []byte) (logbook.Record, error) {
	t, key := tag(at[0]), at[1:]
	payload, _, err := v.get(t, key)
	if err != nil {
		return nil, err
	}
	if payload == nil {
		return nil, damaged("an entry of %s is missing", t)
	}
	if t == tagRecord {
		k, err := parseRecordKey(key)
		if err != nil {
			return nil, err
		}
		return decode(k.kind, k.id, payload)
	}
	n := len(key) - 5
	return decode(logbook.Kind(key[8]), string(key[9:n]), payload)
}

// sweep gives every entry of a bucket and checks each of its groups.
func (v *view) sweep(t tag, fn func(key, payload []byte) error) error {
	if err := v.checkRoot(); err != nil {
		return err
	}
	got := tallies{}
	c := v.bucket[t].Cursor()
	for key, value := c.First(); key != nil; key, value = c.Next() {
		payload, sum, err := openFrame(t, key, value)
		if err != nil {
			return err
		}
		got.add(t, key, sum)
		if err := fn(key, payload); err != nil {
			return err
		}
	}
	groups := 0
	c = v.bucket[tagSum].Cursor()
	prefix := byte(t)
	key, value, err := seek(c, []byte{prefix})
	if err != nil {
		return err
	}
	for ; len(key) > 0 && key[0] == prefix; key, value = c.Next() {
		payload, _, err := openFrame(tagSum, key, value)
		if err != nil {
			return err
		}
		want, err := parseTally(payload)
		if err != nil {
			return err
		}
		if n := got.of(key); n != want {
			return damaged("%s hold %d entries of %d in one group", t, n.n, want.n)
		}
		groups++
	}
	if groups != len(got) {
		return damaged("%s hold more than their sums say", t)
	}
	return nil
}
