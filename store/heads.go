package store

import (
	"bytes"
	"errors"
	"fmt"

	"go.etcd.io/bbolt"
)

// update runs fn in one transaction. Where the disk fails at its very end, the
// new head may stand in the file though it was never synced, and bbolt says
// that the change failed: then the heads are put back as they were, so that it
// did.
func (s *Store) update(fn func(*bbolt.Tx) error) error {
	size := int64(s.db.Info().PageSize)
	before, err := s.heads(size)
	if err != nil {
		return err
	}
	err = s.db.Update(fn)
	if err == nil || !fromSystem(err) {
		return err
	}
	after, rerr := s.heads(size)
	if rerr == nil && bytes.Equal(before, after) {
		return err
	}
	if _, werr := s.file.WriteAt(before, 0); errors.Join(rerr, werr) != nil || s.file.Sync() != nil {
		s.broken = fmt.Errorf("%s: the disk failed at the last step (%v), and it cannot be told whether the change was kept: look with `packwane history`, and after the disk", s.path, err)
		return s.broken
	}
	s.broken = explainIO(s.path, err) // bbolt has seen the new head: it is opened anew
	return s.broken
}

// heads reads the two head pages.
func (s *Store) heads(pageSize int64) ([]byte, error) {
	b := make([]byte, 2*pageSize)
	_, err := s.file.ReadAt(b, 0)
	return b, err
}
