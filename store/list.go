package store

import (
	"encoding/binary"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"time"

	"packwane/health/logbook"
)

// Query says which records List gives. The zero value asks for all that are
// not removed.
type Query struct {
	Pack        string         // that they belong to; any where empty
	Kinds       []logbook.Kind // any where empty
	From, Until time.Time      // filed from, and up to, these times; open where zero. A board or a pack is filed under none
	Removed     bool           // those that were removed, instead
	Limit       int            // the latest so many; all where 0
	Offset      int            // before them, leave out so many of the latest

	// Want, where it is not nil, has the last word on each record.
	Want func(logbook.Record) bool
}

// List gives the current revisions of the records that q asks for to fn, in
// canonical order (logbook.Compare): boards and packs first, then by time. It
// returns how many there are without Limit and Offset. Everything is checked to
// be whole before the first record is given. Memory grows with Limit and Offset
// alone, or not at all where Limit is 0: then a record is good until fn returns,
// and the next may take its place. The error of fn ends the list and is returned.
func (s *Store) List(q Query, fn func(logbook.Record) error) (total int, err error) {
	var order keeper = &sorter{near: filepath.Join(os.TempDir(), "packwane")}
	if q.Limit > 0 {
		order = &latest{limit: min(q.Limit, mostListed), offset: min(q.Offset, mostListed)}
	}
	defer order.close()
	err = s.view(func(v *view) error {
		l := &lister{view: v, Query: q, order: order}
		if q.Pack != "" && !q.Removed && q.Limit == 0 {
			err := l.inStep(fn)
			total = l.n
			return err
		}
		if err := l.collect(); err != nil {
			return err
		}
		total = l.n
		for pair, err := range order.all() {
			if err != nil {
				return err
			}
			r, err := v.entry(pair.value)
			if err != nil {
				return err
			}
			if err := fn(r); err != nil {
				return err
			}
		}
		return nil
	})
	return total, err
}

// mostListed is more than any store holds.
const mostListed = 1 << 40

// keeper holds what is to be listed, by a key that sorts.
type keeper interface {
	add(key, value []byte) error
	all() iter.Seq2[sorted, error]
	close()
}

// lister collects the entries of a query.
type lister struct {
	*view
	Query
	order      keeper
	n          int
	key, value []byte
}

func (l *lister) collect() error {
	switch {
	case l.Removed:
		return l.sweep(tagID, l.seeRemoved)
	case l.Pack != "":
		prefix := append(append([]byte{ownerPack}, l.Pack...), 0)
		return l.scan(tagRecord, prefix, l.see)
	}
	return l.sweep(tagRecord, l.see)
}

// inStep gives the records of one pack, which stand in order, as it passes them.
func (l *lister) inStep(fn func(logbook.Record) error) error {
	prefix := append(append([]byte{ownerPack}, l.Pack...), 0)
	if err := l.scan(tagRecord, prefix, nil); err != nil {
		return err
	}
	parse := new(logbook.Parser).ParseJSON
	return l.scan(tagRecord, prefix, func(key, payload []byte) error {
		k, err := parseRecordKey(key)
		if err != nil || !l.inRange(k.kind, k.bits) {
			return err
		}
		r, err := decodeBy(parse, k.kind, k.id, payload)
		if err != nil || l.Want != nil && !l.Want(r) {
			return err
		}
		l.n++
		return fn(r)
	})
}

// see takes an entry of the records bucket.
func (l *lister) see(key, payload []byte) error {
	k, err := parseRecordKey(key)
	if err != nil || !l.inRange(k.kind, k.bits) {
		return err
	}
	if l.Want != nil {
		r, err := decode(k.kind, k.id, payload)
		if err != nil || !l.Want(r) {
			return err
		}
	}
	return l.add(tagRecord, key, k.bits, k.kind, k.id)
}

// seeRemoved takes an entry of the ids bucket.
func (l *lister) seeRemoved(key, payload []byte) error {
	p, err := parsePlace(payload)
	if err != nil || !p.removed {
		return err
	}
	kind, id, err := parseIDKey(key)
	if err != nil {
		return err
	}
	body, err := l.revision(key, p.rev)
	if err != nil {
		return err
	}
	r, err := decode(kind, id, body)
	if err != nil {
		return err
	}
	bits := timeBits(logbook.AtOf(r))
	if l.Pack != "" && logbook.PackOf(r) != l.Pack || !l.inRange(kind, bits) || l.Want != nil && !l.Want(r) {
		return nil
	}
	return l.add(tagHistory, appendHistoryKey(nil, key, p.rev), bits, kind, id)
}

func (l *lister) inRange(k logbook.Kind, bits uint64) bool {
	return (len(l.Kinds) == 0 || slices.Contains(l.Kinds, k)) &&
		(l.From.IsZero() || bits >= timeBits(l.From)) &&
		(l.Until.IsZero() || bits <= timeBits(l.Until) && bits > 0)
}

// add keeps the entry of a bucket under its place in canonical order.
func (l *lister) add(t tag, entry []byte, bits uint64, k logbook.Kind, id string) error {
	l.n++
	l.key = append(append(binary.BigEndian.AppendUint64(l.key[:0], bits), byte(k)), id...)
	l.value = append(append(l.value[:0], byte(t)), entry...)
	return l.order.add(l.key, l.value)
}
