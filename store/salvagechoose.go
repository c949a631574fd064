package store

import (
	"encoding/binary"
	"slices"

	"packwane/health/logbook"
)

// candidate is one revision of a record as it was found.
type candidate struct {
	rev     uint32
	class   byte
	payload []byte
	record  logbook.Record
}

// choose goes through what was found record by record.
func (m *miner) choose() error {
	var id []byte
	var places []place
	var list []candidate
	for pair, err := range m.found.all() {
		if err != nil {
			return err
		}
		at, rev, err := parseHistoryKey(pair.key)
		if err != nil {
			return err
		}
		if string(at) != string(id) {
			if err := m.record(id, places, list); err != nil {
				return err
			}
			id, places, list = append(id[:0], at...), places[:0], list[:0]
		}
		value := slices.Clone(pair.value)
		if rev > 0 {
			list = append(list, candidate{rev: rev, class: value[0], payload: value[1:]})
		} else if p, err := parsePlace(value[1:]); err == nil {
			places = append(places, p)
		}
	}
	return m.record(id, places, list)
}

// record decides which of the candidates are the revisions of a record, one
// for each number, and what is lost of it.
func (m *miner) record(id []byte, places []place, list []candidate) error {
	if len(id) == 0 {
		return nil
	}
	kind, name, err := parseIDKey(id)
	if err != nil {
		return nil
	}
	var last place // as the latest place says
	for _, p := range places {
		if p.rev >= last.rev {
			last = p
		}
	}
	var kept []candidate
	for len(list) > 0 {
		n := 1
		for n < len(list) && list[n].rev == list[0].rev {
			n++
		}
		if c, ok := pick(kind, name, last, list[:n]); ok {
			kept = append(kept, c)
		}
		list = list[n:]
	}
	found := len(kept)
	for len(kept) > 0 && logbook.HeadOf(kept[0].record).Removed {
		kept = kept[1:] // a removal says nothing where nothing is left to remove
		m.out.Removals++
	}
	m.lost(kind, name, last, found, kept)
	if len(kept) == 0 {
		return nil
	}
	m.out.Records[kind]++
	m.out.Revisions += len(kept)
	for _, c := range kept {
		value := append(binary.AppendUvarint(nil, uint64(len(id))), id...)
		key := orderKey(nil, kind, timeBits(logbook.AtOf(c.record)), name, c.rev)
		if err := m.order.add(key, append(value, c.payload...)); err != nil {
			return err
		}
	}
	return nil
}

// lost notes what the place of a record names and the file does not hold.
func (m *miner) lost(kind logbook.Kind, name string, last place, found int, kept []candidate) {
	n := int(last.count) - found
	if n <= 0 {
		return
	}
	m.out.Lost += n
	switch {
	case len(kept) == 0:
		m.loss("%s %s: lost", kind, name)
	case kept[len(kept)-1].rev < last.rev && last.removed:
		m.loss("%s %s: that it was removed is lost, so it comes back", kind, name)
	case kept[len(kept)-1].rev < last.rev:
		m.loss("%s %s: the latest revision (%d) is lost, so revision %d stands for it", kind, name, last.rev, kept[len(kept)-1].rev)
	default:
		m.loss("%s %s: %d earlier of %d revisions lost", kind, name, n, last.count)
	}
}

// pick chooses among candidates for one revision: what stands in a page in use
// and, of several, what the record's place vouches for. What stands elsewhere
// counts only where its place vouches for it: it may come of a change that was
// never finished.
func pick(kind logbook.Kind, name string, last place, list []candidate) (best candidate, ok bool) {
	for _, c := range list {
		r, err := decode(kind, name, c.payload)
		if err != nil || logbook.HeadOf(r).Rev != int(c.rev) || logbook.Validate(r) != nil {
			continue
		}
		c.record = r
		_, body, _ := splitPayload(c.payload)
		vouched := c.rev == last.rev && contentHash(body, logbook.HeadOf(r).Removed) == last.hash
		if vouched {
			return c, true
		}
		if c.class == inUse {
			best, ok = c, true
		}
	}
	return best, ok
}
