package store

import (
	"encoding/binary"
	"fmt"
	"iter"
	"time"

	"packwane/health/logbook"
)

// Summary counts what an import did, by record kind. Kinds that were not met
// are not in the maps.
type Summary struct {
	Added, Changed, Unchanged map[logbook.Kind]int
}

// Import stores the records of entries, all or none. Content that a record
// has had is unchanged, unless it carries a revision above the latest; other
// content needs a revision above the latest. Errors about a record carry its
// position (*logbook.InputError).
func (s *Store) Import(entries iter.Seq2[logbook.Entry, error], why string, now time.Time) (Summary, error) {
	if err := s.writable(); err != nil {
		return Summary{}, err
	}
	st, err := Stage(s.path, entries)
	if err != nil {
		return Summary{}, err
	}
	defer st.Close()
	return s.ImportStaged(st, why, now)
}

// Import stages entries before it opens the store at path, so that the store
// is locked only while they are stored (see Store.Import).
func Import(path string, entries iter.Seq2[logbook.Entry, error], why string, now time.Time) (Summary, error) {
	st, err := Stage(path, entries)
	if err != nil {
		return Summary{}, err
	}
	defer st.Close()
	s, err := Open(path, ReadWrite)
	if err != nil {
		return Summary{}, err
	}
	sum, err := s.ImportStaged(st, why, now)
	if cerr := s.Close(); err == nil {
		err = cerr
	}
	return sum, err
}

// ImportStaged imports what was staged (see Import), once.
func (s *Store) ImportStaged(st *Staged, why string, now time.Time) (Summary, error) {
	return s.join(Action{Op: OpImport, Why: why, At: now}, st)
}

func (s *Store) join(a Action, st *Staged) (Summary, error) {
	var sum Summary
	err := s.act(a, st.heap, func(p *plan) error {
		j := &join{plan: p, st: st, ids: walk{c: p.v.bucket[tagID].Cursor()}}
		j.sum = Summary{map[logbook.Kind]int{}, map[logbook.Kind]int{}, map[logbook.Kind]int{}}
		sum = j.sum
		return j.run()
	})
	if err != nil {
		return Summary{}, err
	}
	return sum, nil
}

// join meets the staged revisions, by id, with the ids of the store.
type join struct {
	*plan
	st      *Staged
	sum     Summary
	ids     walk
	checked [256]bool // groups of ids in which something was missed
	fault   *logbook.InputError
}

func (j *join) run() error {
	var id []byte
	var revs []draft
	for pair, err := range j.st.ids.all() {
		if err != nil {
			return err
		}
		n := len(pair.key) - 5
		if string(pair.key[:n]) != string(id) {
			if err := j.record(id, revs); err != nil {
				return err
			}
			id, revs = append(id[:0], pair.key[:n]...), revs[:0]
		}
		revs = append(revs, parseDraft(binary.BigEndian.Uint32(pair.key[n+1:]), pair.value))
	}
	if err := j.record(id, revs); err != nil {
		return err
	}
	j.st.ids.close()
	if err := j.references(); err != nil {
		return err
	}
	if j.fault != nil {
		return j.fault
	}
	return nil
}

// blame keeps the fault that stands first in the input.
func (j *join) blame(at logbook.Position, err error) {
	if j.fault == nil || at.Line < j.fault.At.Line {
		j.fault = &logbook.InputError{At: at, Err: err}
	}
}

// record decides about the staged revisions of one record, in the order of
// their numbers.
func (j *join) record(id []byte, revs []draft) error {
	if len(revs) == 0 {
		return nil
	}
	kind := logbook.Kind(id[8])
	old, known, err := j.lookup(id)
	if err != nil {
		return err
	}
	at := standing{j: j, id: id, kind: kind, place: old, known: known, stored: known}
	fresh := revs[:0:0]
	for i := range revs {
		ok, err := at.step(&revs[i])
		if err != nil {
			return err
		}
		if ok {
			fresh = append(fresh, revs[i])
		}
	}
	if len(fresh) == 0 || j.fault != nil {
		return nil
	}
	return j.change(id, old, known, fresh)
}

// lookup finds the record among the ids of the store, which it walks in step
// with the staged ones. A miss is trusted once its group was checked.
func (j *join) lookup(id []byte) (place, bool, error) {
	value, err := j.ids.to(id)
	if err != nil {
		return place{}, false, err
	}
	if value == nil {
		if j.checked[id[0]] {
			return place{}, false, nil
		}
		j.checked[id[0]] = true
		return place{}, false, j.v.scan(tagID, id[:1], nil)
	}
	payload, _, err := openFrame(tagID, id, value)
	if err != nil {
		return place{}, false, err
	}
	p, err := parsePlace(payload)
	return p, err == nil, err
}

// standing is a record while staged revisions are laid upon it.
type standing struct {
	j      *join
	id     []byte
	kind   logbook.Kind
	place  place
	known  bool   // it exists, in the store or by an earlier line
	stored bool   // it exists in the store
	last   *draft // the latest revision, where it came by an earlier line
	hashes map[uint64]bool
}

// step says whether the draft is a new revision. What cannot be is blamed on
// its line.
func (s *standing) step(d *draft) (bool, error) {
	at := s.j.st.position(d)
	switch {
	case !s.known && d.removed:
		s.j.blame(at, &logbook.FieldError{Field: "removed", Want: fmt.Sprintf("no %s %q to remove, in the store or in the file", s.kind, s.id[9:])})
		return false, nil
	case !s.known:
		s.j.sum.Added[s.kind]++
	case d.hash == s.place.hash:
		s.j.sum.Unchanged[s.kind]++
		return false, nil
	case d.rev > s.place.rev:
		s.j.sum.Changed[s.kind]++
	default:
		had, err := s.had(d.hash)
		if err != nil {
			return false, err
		}
		if had {
			s.j.sum.Unchanged[s.kind]++
		} else {
			s.j.blame(s.refuse(d))
		}
		return false, nil
	}
	if s.hashes != nil {
		s.hashes[d.hash] = true
	} else if s.last != nil {
		s.hashes = map[uint64]bool{s.last.hash: true, d.hash: true}
	}
	s.known, s.last = true, d
	s.place.rev, s.place.hash = d.rev, d.hash
	return true, nil
}

// had says whether the record ever had the content.
func (s *standing) had(hash uint64) (bool, error) {
	if s.hashes[hash] {
		return true, nil
	}
	if !s.stored {
		return false, nil
	}
	p, _, err := s.j.lookup(s.id)
	if err != nil {
		return false, err
	}
	found := p.hash == hash
	err = s.j.v.older(s.id, p, func(_ uint32, payload []byte) error {
		_, body, err := splitPayload(payload)
		if err != nil {
			return err
		}
		removed := isRemoval(s.kind, body)
		found = found || contentHash(body, removed) == hash
		return nil
	})
	return found, err
}

// refuse says why other content under a known id cannot be taken.
func (s *standing) refuse(d *draft) (logbook.Position, error) {
	at := s.j.st.position(d)
	name := string(s.id[9:])
	if s.last != nil {
		first := s.j.st.position(s.last)
		if first.Line > at.Line {
			first, at = at, first
		}
		where := fmt.Sprintf("line %d", first.Line)
		if first.File != at.File {
			where = first.String()
		}
		return at, &logbook.FieldError{Field: "id", Value: name, Want: fmt.Sprintf("stands with other content on %s too: want another id, or a higher rev for what came later", where)}
	}
	if d.rev > 1 && d.rev <= s.place.rev {
		return at, &logbook.FieldError{Field: "id", Value: name, Want: fmt.Sprintf("was changed in two places: the store has revision %d, and this line is revision %d with other content: want \"rev\" %d, which `packwane amend %s NAME=VALUE` makes in the log that this came from, and an export without --history hands on", s.place.rev, d.rev, s.place.rev+1, name)}
	}
	return at, &logbook.FieldError{Field: "id", Value: name, Want: fmt.Sprintf("the store has revision %d of this %s with other content, and this line is revision %d: want \"rev\" %d or higher to change it, or another id", s.place.rev, s.kind, d.rev, s.place.rev+1)}
}

// references checks that each pack and board that is named is known.
func (j *join) references() error {
	for ref, m := range j.st.refs {
		if j.st.defined[ref] {
			continue
		}
		_, known, err := j.v.place(ref.kind, ref.id)
		if err != nil {
			return err
		}
		if !known {
			j.blame(m.at, unknown(ref, m.field))
		}
	}
	return nil
}

// unknown tells of a reference that leads nowhere.
func unknown(ref target, field string) error {
	want := &logbook.FieldError{Field: field, Value: ref.id, Want: fmt.Sprintf("no such %s in the store or in the file: want the id of a %s, or its record first", ref.kind, ref.kind)}
	return &told{text: want.Error(), is: ErrReference, cause: want}
}
