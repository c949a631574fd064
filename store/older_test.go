package store

import (
	"encoding/binary"
	"errors"
	"testing"

	"go.etcd.io/bbolt"

	"packwane/health/logbook"
)

// The format 0 is made up for the tests: every revision as a line of JSON, in
// a bucket of that name.

var olderBucket = []byte("lines")

// writeOlder makes a store of format 0, synced.
func writeOlder(path string, records []logbook.Record) error {
	db, err := bbolt.Open(path, 0o600, nil)
	if err != nil {
		return err
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		meta, err := tx.CreateBucket(tagMeta.name())
		if err != nil {
			return err
		}
		old, err := tx.CreateBucket(olderBucket)
		if err != nil {
			return err
		}
		for i, r := range records {
			if err := old.Put(binary.BigEndian.AppendUint32(nil, uint32(i)), logbook.AppendJSON(nil, r)); err != nil {
				return err
			}
		}
		return meta.Put(keyFormat, formatValue(0))
	})
	return errors.Join(err, db.Close())
}

// readsOlder has format 0 read until the test ends.
func readsOlder(t *testing.T) {
	readers[0] = readOlder
	t.Cleanup(func() { delete(readers, 0) })
}

func readOlder(tx *bbolt.Tx) (contents, error) {
	return contents{settings: map[string]string{"colour": "dark"}, records: func(yield func(logbook.Record, error) bool) {
		stop := errors.New("stop")
		tx.Bucket(olderBucket).ForEach(func(_, v []byte) error {
			r, err := logbook.ParseJSON(v)
			if !yield(r, err) {
				return stop
			}
			return nil
		})
	}}, nil
}
