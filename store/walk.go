package store

import (
	"bytes"

	"go.etcd.io/bbolt"
)

// walk finds keys that ascend with one cursor: steps where the next key is
// near, leaps where it is far.
type walk struct {
	c          *bbolt.Cursor
	key, value []byte
	begun      bool
}

const walkSteps = 8

// to returns the value under key, or nil.
func (w *walk) to(key []byte) (value []byte, err error) {
	leap := !w.begun
	for steps := 0; !leap && w.key != nil && bytes.Compare(w.key, key) < 0; steps++ {
		if leap = steps == walkSteps; !leap {
			w.key, w.value = w.c.Next()
		}
	}
	if leap {
		w.begun = true
		if w.key, w.value, err = seek(w.c, key); err != nil {
			return nil, err
		}
	}
	if !bytes.Equal(w.key, key) {
		return nil, nil
	}
	return w.value, nil
}
