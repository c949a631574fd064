package store

import (
	"bytes"
	"slices"

	"packwane/health/logbook"
)

// PackRecords returns what one pack's history is made of (logbook.NewHistory):
// the pack and all its records, the boards that it or its rides name with
// their setups and services, and the rides of other packs on those boards,
// which move their odometers, with those packs. All are current, none is
// removed, and they are in canonical order. ErrNotFound is returned where there
// is no such pack.
func (s *Store) PackRecords(pack string) ([]logbook.Record, error) {
	var all []logbook.Record
	err := s.view(func(v *view) (err error) {
		all, err = v.packRecords(pack)
		return err
	})
	if err != nil {
		return nil, err
	}
	return all, nil
}

// SetUp returns a history of a pack and the setups of its volts alone: enough to tell
// what it was set to at a time, in a log of any length. ErrNotFound is returned where there never
// was such a pack.
func (s *Store) SetUp(pack string) (*logbook.History, error) {
	p, err := s.Get(logbook.KindPack, pack)
	if err != nil {
		return nil, err
	}
	h := &logbook.History{Pack: p.(*logbook.Pack)}
	_, err = s.List(Query{Kinds: []logbook.Kind{logbook.KindSetup}}, func(r logbook.Record) error {
		if setup := *r.(*logbook.Setup); h.ForPack(&setup) { // the record is the list's own
			h.Setups = append(h.Setups, &setup)
		}
		return nil
	})
	return h, err
}

func (v *view) packRecords(pack string) ([]logbook.Record, error) {
	p, ok, err := v.place(logbook.KindPack, pack)
	switch {
	case err != nil:
		return nil, err
	case !ok:
		return nil, tell(ErrNotFound, "no pack %q: `packwane pack list` shows the packs", pack)
	case p.removed:
		return nil, tell(ErrNotFound, "pack %q was removed: `packwane undo` or an import with a higher rev brings it back", pack)
	}
	own, err := v.owned(ownerPack, pack, nil)
	if err != nil {
		return nil, err
	}
	boards := map[string]bool{}
	for _, r := range own {
		if b := logbook.BoardOf(r); b != "" {
			boards[b] = true
		}
	}
	others := map[string]bool{}
	lists := [][]logbook.Record{own}
	for _, b := range sortedKeys(boards) {
		list, err := v.owned(ownerBoard, b, nil)
		if err != nil {
			return nil, err
		}
		lists = append(lists, list)
		if err := v.packsOn(b, others); err != nil {
			return nil, err
		}
	}
	delete(others, pack)
	for _, other := range sortedKeys(others) {
		list, err := v.ridesOn(other, boards)
		if err != nil {
			return nil, err
		}
		lists = append(lists, list)
	}
	return merge(lists), nil
}

// owned decodes the records of one owner in canonical order, those that want
// accepts (nil: all).
func (v *view) owned(owner byte, id string, want func(key recordKey, payload []byte) bool) ([]logbook.Record, error) {
	prefix := append(append([]byte{owner}, id...), 0)
	var list []logbook.Record
	err := v.scan(tagRecord, prefix, func(key, payload []byte) error {
		k, err := parseRecordKey(key)
		if err != nil || want != nil && !want(k, payload) {
			return err
		}
		r, err := decode(k.kind, k.id, payload)
		list = append(list, r)
		return err
	})
	return list, err
}

// packsOn adds the packs that are tied to the board.
func (v *view) packsOn(board string, packs map[string]bool) error {
	prefix := append([]byte(board), 0)
	return v.scan(tagLink, prefix, func(key, _ []byte) error {
		packs[string(key[len(prefix):])] = true
		return nil
	})
}

// ridesOn returns the rides of a pack on the boards, and the pack itself where
// one of them is its usual board.
func (v *view) ridesOn(pack string, boards map[string]bool) ([]logbook.Record, error) {
	usual := false
	names := boardTexts(boards)
	list, err := v.owned(ownerPack, pack, func(k recordKey, payload []byte) bool {
		switch k.kind {
		case logbook.KindPack: // it comes first
			usual = containsAny(payload, names)
			return usual
		case logbook.KindRide:
			return containsAny(payload, names) || usual && !bytes.Contains(payload, boardField)
		}
		return false
	})
	return slices.DeleteFunc(list, func(r logbook.Record) bool {
		b := logbook.BoardOf(r)
		return b != "" && !boards[b]
	}), err
}

var boardField = []byte(`,"board":`)

// boardTexts returns how each board is named in the body of a record. A match
// elsewhere, inside a note, is impossible: the quotes would be escaped there.
func boardTexts(boards map[string]bool) [][]byte {
	var texts [][]byte
	for b := range boards {
		body := appendBody(nil, &logbook.Pack{Board: b})
		texts = append(texts, body[bytes.Index(body, boardField):len(body)-1])
	}
	return texts
}

func containsAny(b []byte, texts [][]byte) bool {
	for _, t := range texts {
		if bytes.Contains(b, t) {
			return true
		}
	}
	return false
}

// merge merges lists in canonical order.
func merge(lists [][]logbook.Record) []logbook.Record {
	out := lists[0]
	for _, list := range lists[1:] {
		if len(list) == 0 {
			continue
		}
		a := out
		out = make([]logbook.Record, 0, len(a)+len(list))
		for len(a) > 0 && len(list) > 0 {
			if logbook.Less(list[0], a[0]) {
				out, list = append(out, list[0]), list[1:]
			} else {
				out, a = append(out, a[0]), a[1:]
			}
		}
		out = append(append(out, a...), list...)
	}
	return out
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
