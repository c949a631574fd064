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
func (w *walk) to(key []byte) []byte {
	if !w.begun {
		w.begun = true
		w.key, w.value = w.c.Seek(key)
	}
	for steps := 0; w.key != nil && bytes.Compare(w.key, key) < 0; steps++ {
		if steps == walkSteps {
			w.key, w.value = w.c.Seek(key)
			break
		}
		w.key, w.value = w.c.Next()
	}
	if w.key == nil || !bytes.Equal(w.key, key) {
		return nil
	}
	return w.value
}
