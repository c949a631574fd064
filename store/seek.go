package store

import (
	"bytes"

	"go.etcd.io/bbolt"
)

// seek moves the cursor to the first key that is not below key, as Seek does.
// It is for what may not be there: a branch with a damaged key leads bbolt to
// the leaf before or behind the right one, where what is sought seems to be
// missing. Then a neighbour is out of order, and seek tells of damage.
func seek(c *bbolt.Cursor, key []byte) (found, value []byte, err error) {
	found, value = c.Seek(key)
	if bytes.Equal(found, key) {
		return found, value, nil
	}
	if found != nil && bytes.Compare(found, key) < 0 {
		return nil, nil, astray()
	}
	before := c.Bucket().Cursor()
	var last []byte
	if found == nil {
		last, _ = before.Last()
	} else {
		before.Seek(key)
		last, _ = before.Prev()
	}
	if last != nil && bytes.Compare(last, key) >= 0 {
		return nil, nil, astray()
	}
	return found, value, nil
}

func astray() error { return damaged("a branch leads astray") }
