package store

import (
	"bytes"
	"encoding/binary"

	"packwane/health/logbook"
)

// plan collects what one action does to the buckets, each bucket's operations
// sorted by key, so that they can be applied in one pass over it.
type plan struct {
	v    *view
	heap *heap
	ops  map[tag]*sorter
	link map[linkPair]int // change of each link's count
	size int              // operations on records and history
	act  Action
	next state // of the store afterwards; the sums are added last

	touched []byte // a part of the journal that is being filled
	parts   uint32
	key     []byte
	value   []byte
}

func newPlan(v *view, h *heap, act Action) *plan {
	act.Seq = v.state.last + 1
	act.undo = v.state.undo
	p := &plan{v: v, heap: h, ops: map[tag]*sorter{}, link: map[linkPair]int{}, act: act, next: v.state}
	if act.Op != "" {
		p.next.last, p.next.undo, p.next.redo = act.Seq, act.Seq, 0
	}
	if act.Op == OpUpgrade {
		p.next.undo = 0
	}
	for _, t := range buckets {
		p.ops[t] = &sorter{near: h.near, sparing: h.sparing}
	}
	return p
}

// empty says whether the action changes nothing. Undoing or doing again
// always changes what can be undone next.
func (p *plan) empty() bool {
	if p.act.Target != 0 {
		return false
	}
	n := 0
	for _, s := range p.ops {
		n += s.n
	}
	return n == 0
}

func (p *plan) close() {
	for _, s := range p.ops {
		s.close()
	}
}

// The operations, the first byte of a sorter's value.
const (
	opDelete = iota
	opHeap   // the payload stands in the heap
	opInline // the payload follows
)

func (p *plan) put(t tag, key []byte, at ref) error {
	p.value = binary.AppendUvarint(append(p.value[:0], opHeap), uint64(at.at))
	p.value = binary.AppendUvarint(p.value, uint64(at.len))
	return p.ops[t].add(key, p.value)
}

func (p *plan) putInline(t tag, key, payload []byte) error {
	p.value = append(append(p.value[:0], opInline), payload...)
	return p.ops[t].add(key, p.value)
}

func (p *plan) delete(t tag, key []byte) error { return p.ops[t].add(key, []byte{opDelete}) }

// payloadOf returns the payload that an operation puts; ok is false where it
// deletes.
func (p *plan) payloadOf(op []byte) (payload []byte, ok bool, err error) {
	switch op[0] {
	case opInline:
		return op[1:], true, nil
	case opHeap:
		at, n := binary.Uvarint(op[1:])
		size, _ := binary.Uvarint(op[1+n:])
		payload, err = p.heap.read(ref{int64(at), int(size)})
		return payload, true, err
	}
	return nil, false, nil
}

// change adds revisions to the record under id. old is where it stands now,
// known whether it is known at all. The revisions ascend, above old's.
func (p *plan) change(id []byte, old place, known bool, revs []draft) error {
	kind, name, err := parseIDKey(id)
	if err != nil {
		return err
	}
	last := &revs[len(revs)-1]
	newKey := appendRecordKey(nil, last.owner, last.bits, kind, name)
	if known && !old.removed {
		if err := p.retire(id, kind, name, old, last, newKey); err != nil {
			return err
		}
	}
	for i := range revs[:len(revs)-1] {
		if err := p.history(id, revs[i].rev, revs[i].payload); err != nil {
			return err
		}
	}
	next := place{rev: last.rev, count: old.count + uint32(len(revs)), removed: last.removed, hash: last.hash, bits: last.bits, owner: last.owner}
	if last.removed {
		err = p.history(id, last.rev, last.payload)
	} else {
		err = p.put(tagRecord, newKey, last.payload)
		p.size++
		if link, ok := last.link(); ok {
			p.link[link]++
		}
	}
	if err != nil {
		return err
	}
	p.key = next.append(p.key[:0])
	if err := p.putInline(tagID, id, p.key); err != nil {
		return err
	}
	p.act.count(known, last.removed)
	return p.touch(kind, name, old.rev, last.rev)
}

// retire moves the current revision to the history bucket.
func (p *plan) retire(id []byte, kind logbook.Kind, name string, old place, last *draft, newKey []byte) error {
	oldKey := appendRecordKey(nil, old.owner, old.bits, kind, name)
	payload, err := p.v.current(kind, name, old)
	if err != nil {
		return err
	}
	if (kind == logbook.KindRide || kind == logbook.KindPack) && bytes.Contains(payload, boardField) {
		r, err := decode(kind, name, payload)
		if err != nil {
			return err
		}
		if b := logbook.BoardOf(r); b != "" {
			p.link[linkPair{b, logbook.PackOf(r)}]--
		}
	}
	at, err := p.heap.append(payload)
	if err != nil {
		return err
	}
	if last.removed || string(newKey) != string(oldKey) {
		p.size++
		if err := p.delete(tagRecord, oldKey); err != nil {
			return err
		}
	}
	return p.history(id, old.rev, at)
}

func (p *plan) history(id []byte, rev uint32, at ref) error {
	p.size++
	return p.put(tagHistory, appendHistoryKey(nil, id, rev), at)
}

// finish adds what follows from all changes: the links and the journal.
func (p *plan) finish() error {
	for pair, change := range p.link {
		if change == 0 {
			continue
		}
		key := linkKey(pair.board, pair.pack)
		payload, _, err := p.v.get(tagLink, key)
		if err != nil {
			return err
		}
		count, _ := binary.Uvarint(payload)
		switch left := int64(count) + int64(change); {
		case left < 0:
			return damaged("fewer links than records")
		case left == 0:
			err = p.delete(tagLink, key)
		default:
			err = p.putInline(tagLink, key, binary.AppendUvarint(nil, uint64(left)))
		}
		if err != nil {
			return err
		}
	}
	if p.act.Op == "" {
		return nil
	}
	if err := p.flushTouched(); err != nil {
		return err
	}
	p.act.parts = p.parts
	return p.putInline(tagJournal, journalKey(p.act.Seq, 0), p.act.payload())
}
