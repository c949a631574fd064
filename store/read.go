package store

import (
	"packwane/health/logbook"
)

// Get returns the current revision of a record; its Removed is true where it
// was removed. The error is ErrNotFound where there never was one.
func (s *Store) Get(k logbook.Kind, id string) (logbook.Record, error) {
	var r logbook.Record
	err := s.view(func(v *view) (err error) {
		r, err = v.record(k, id)
		if err == nil && r == nil {
			err = tell(ErrNotFound, "no %s %q: `packwane list` shows the ids", k, id)
		}
		return err
	})
	return r, err
}

// record returns the current revision of a record, or nil where there is none.
func (v *view) record(k logbook.Kind, id string) (logbook.Record, error) {
	p, ok, err := v.place(k, id)
	if err != nil || !ok {
		return nil, err
	}
	payload, err := v.current(k, id, p)
	if err != nil {
		return nil, err
	}
	return decode(k, id, payload)
}

// Find returns the current revisions of the records of any kind that have the
// id, removed ones included; ErrNotFound where there is none.
func (s *Store) Find(id string) ([]logbook.Record, error) {
	var found []logbook.Record
	err := s.view(func(v *view) error {
		for _, k := range logbook.Kinds {
			r, err := v.record(k, id)
			if err != nil {
				return err
			}
			if r != nil {
				found = append(found, r)
			}
		}
		if found == nil {
			return tell(ErrNotFound, "no record %q: `packwane list` shows the ids", id)
		}
		return nil
	})
	return found, err
}

// Revisions returns every revision of a record, the oldest first.
func (s *Store) Revisions(k logbook.Kind, id string) ([]logbook.Record, error) {
	var revs []logbook.Record
	err := s.view(func(v *view) error {
		p, ok, err := v.place(k, id)
		if err != nil {
			return err
		}
		if !ok {
			return tell(ErrNotFound, "no %s %q: `packwane list` shows the ids", k, id)
		}
		keep := func(_ uint32, payload []byte) error {
			r, err := decode(k, id, payload)
			revs = append(revs, r)
			return err
		}
		if err := v.older(idKey(k, id), p, keep); err != nil {
			return err
		}
		if p.removed {
			return nil
		}
		payload, err := v.current(k, id, p)
		if err != nil {
			return err
		}
		return keep(p.rev, payload)
	})
	if err != nil {
		return nil, err
	}
	return revs, nil
}

// Packs returns the packs that are not removed, by id.
func (s *Store) Packs() ([]*logbook.Pack, error) {
	return listOwners[*logbook.Pack](s, ownerPack, logbook.KindPack)
}

// Boards returns the boards that are not removed, by id.
func (s *Store) Boards() ([]*logbook.Board, error) {
	return listOwners[*logbook.Board](s, ownerBoard, logbook.KindBoard)
}

// listOwners returns the record of each owner of one type. Every owner has a
// group of its own, so the sums list them.
func listOwners[R logbook.Record](s *Store, owner byte, k logbook.Kind) ([]R, error) {
	var list []R
	err := s.view(func(v *view) error {
		if err := v.checkRoot(); err != nil {
			return err
		}
		ids, err := v.owners(owner)
		if err != nil {
			return err
		}
		for _, id := range ids {
			p, ok, err := v.place(k, id)
			if err != nil {
				return err
			}
			if !ok || p.removed {
				continue
			}
			r, err := v.record(k, id)
			if err != nil {
				return err
			}
			list = append(list, r.(R))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// owners lists the ids of the owners of one type that have current records.
func (v *view) owners(owner byte) ([]string, error) {
	var ids []string
	prefix := string([]byte{byte(tagRecord), owner})
	c := v.bucket[tagSum].Cursor()
	key, value, err := seek(c, []byte(prefix))
	if err != nil {
		return nil, err
	}
	for ; len(key) > 1 && string(key[:2]) == prefix; key, value = c.Next() {
		payload, _, err := openFrame(tagSum, key, value)
		if err != nil {
			return nil, err
		}
		t, err := parseTally(payload)
		if err != nil {
			return nil, err
		}
		if t.n > 0 {
			ids = append(ids, string(key[2:]))
		}
	}
	return ids, nil
}
