package store

import (
	"fmt"
	"os"
)

// Compact writes the store anew without the room that earlier changes left
// in it, and puts that in its place once it is verified and smaller; until
// then, and after a crash, the store is as it was. It returns the bytes before
// and after, which are equal where there was nothing to gain.
func (s *Store) Compact() (before, after int64, err error) {
	if err := s.writable(); err != nil {
		return 0, 0, err
	}
	if s.fresh != "" {
		return 0, 0, nil
	}
	if before, err = sizeOf(s.path); err != nil {
		return 0, 0, s.explain(err)
	}
	if _, err := s.Verify(); err != nil {
		return 0, 0, err
	}
	name, err := s.tempName()
	if err != nil {
		return 0, 0, fmt.Errorf("compact: %w", err)
	}
	after, err = s.compactInto(name, before)
	if err != nil || after == before {
		os.Remove(name)
	}
	if err != nil {
		return 0, 0, fmt.Errorf("compact: %w", s.explain(err))
	}
	return before, after, nil
}

// compactInto writes the store anew to name and swaps it in where it is
// smaller.
func (s *Store) compactInto(name string, before int64) (after int64, err error) {
	h := &heap{near: s.path}
	defer h.close()
	var p *plan
	if err := s.view(func(v *view) error {
		p = newPlan(v, h, Action{}) // changes nothing: what there is, is copied
		return nil
	}); err != nil {
		return 0, err
	}
	defer p.close()
	if err := s.guard(func() error { return s.mergeInto(name, p) }); err != nil {
		return 0, err
	}
	if err := finishFile(name); err != nil {
		return 0, err
	}
	if _, err := verifyFile(name); err != nil {
		return 0, fmt.Errorf("%s does not read back as it was written (%v): look after the disk", s.path, err)
	}
	if after, err = sizeOf(name); err != nil || after >= before {
		return before, err
	}
	return after, s.swap(name)
}

func sizeOf(path string) (int64, error) {
	info, err := os.Stat(path)
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}
