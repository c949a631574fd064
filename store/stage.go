package store

import (
	"encoding/binary"
	"iter"
	"os"
	"path/filepath"

	"packwane/health/logbook"
)

// Staged holds incoming records, encoded and sorted, until they are imported.
// Staging needs no store: a slow source does not keep it locked.
type Staged struct {
	heap    *heap
	ids     *sorter
	refs    map[target]mention // first mention of each pack and board
	defined map[target]bool    // packs and boards among the records
	files   []string
	n       int

	key, value, body, payload []byte
}

// target is what a record refers to.
type target struct {
	kind logbook.Kind
	id   string
}

// mention is where a record refers to something.
type mention struct {
	at    logbook.Position
	field string
}

// Stage reads entries to their end. It keeps some 16 MiB of records and as
// much of ids in memory and the rest in temporary files beside the store at
// path. The first error of entries, or the first record that is not valid,
// ends it. Close the result.
func Stage(path string, entries iter.Seq2[logbook.Entry, error]) (*Staged, error) {
	return stage(path, false, entries)
}

// StageSparingly is Stage where memory is short: it keeps some 2 MiB, and what
// it returns is imported with less than 16 MiB beside the tallies of the store,
// whatever its size. From some thousand records on the whole store is written
// anew for that.
func StageSparingly(path string, entries iter.Seq2[logbook.Entry, error]) (*Staged, error) {
	return stage(path, true, entries)
}

func stage(path string, spare sparing, entries iter.Seq2[logbook.Entry, error]) (*Staged, error) {
	st := &Staged{
		heap:    &heap{near: path, sparing: spare},
		ids:     &sorter{near: path, sparing: spare},
		refs:    map[target]mention{},
		defined: map[target]bool{},
	}
	if err := st.read(entries); err != nil {
		st.Close()
		return nil, explainIO(path, err)
	}
	return st, nil
}

// Close removes the temporary files.
func (st *Staged) Close() {
	st.heap.close()
	st.ids.close()
}

// existingFolder is the nearest folder above path that exists.
func existingFolder(path string) string {
	for dir := filepath.Dir(path); ; dir = filepath.Dir(dir) {
		if info, err := os.Stat(dir); err == nil && info.IsDir() {
			return dir
		}
		if dir == filepath.Dir(dir) {
			return os.TempDir()
		}
	}
}

const stageBatch = 256

// read takes the entries in batches; a second goroutine encodes them.
func (st *Staged) read(entries iter.Seq2[logbook.Entry, error]) error {
	batches := make(chan []logbook.Entry, 4)
	failed := make(chan error, 1)
	stop := make(chan struct{})
	go func() {
		defer close(failed)
		for batch := range batches {
			for _, e := range batch {
				if err := st.encode(e); err != nil {
					failed <- err
					close(stop)
					for range batches {
					}
					return
				}
			}
		}
	}()
	var fault error
	batch := make([]logbook.Entry, 0, stageBatch)
reading:
	for e, err := range entries {
		if err != nil {
			fault = err
			break
		}
		if batch = append(batch, e); len(batch) == stageBatch {
			select {
			case batches <- batch:
			case <-stop:
				break reading
			}
			batch = make([]logbook.Entry, 0, stageBatch)
		}
	}
	batches <- batch
	close(batches)
	if err := <-failed; err != nil {
		return err // an earlier line than fault's
	}
	return fault
}

// encode validates one record and files it.
func (st *Staged) encode(e logbook.Entry) error {
	r := e.Record
	if err := e.Validate(); err != nil {
		return &logbook.InputError{At: e.At, Err: err}
	}
	h := logbook.HeadOf(r)
	if h.ID == "" {
		h.ID = logbook.MakeID(r)
	}
	st.body = appendBody(st.body[:0], r)
	st.payload = appendPayload(st.payload[:0], uint32(h.Rev), st.body)
	at, err := st.heap.append(st.payload)
	if err != nil {
		return err
	}
	d := newDraft(r, uint32(h.Rev), st.body)
	d.payload, d.line, d.file = at, e.At.Line, st.fileNumber(e.At.File)
	st.key = appendIDKey(st.key[:0], r.Kind(), h.ID)
	st.key = binary.BigEndian.AppendUint32(append(st.key, 0), d.rev)
	st.value = d.append(st.value[:0])
	st.n++
	st.note(r, e.At)
	return st.ids.add(st.key, st.value)
}

// note keeps what r defines and what it refers to.
func (st *Staged) note(r logbook.Record, at logbook.Position) {
	k := r.Kind()
	if k == logbook.KindBoard || k == logbook.KindPack {
		st.defined[target{k, logbook.HeadOf(r).ID}] = true
	}
	for _, ref := range references(r) {
		if _, ok := st.refs[ref]; !ok {
			st.refs[ref] = mention{at, ref.kind.String()} // the field is named after the kind
		}
	}
}

// references lists the packs and boards that r names beside itself. A removal
// refers to nothing.
func references(r logbook.Record) []target {
	if logbook.HeadOf(r).Removed {
		return nil
	}
	var refs []target
	if p := logbook.PackOf(r); p != "" && r.Kind() != logbook.KindPack {
		refs = append(refs, target{logbook.KindPack, p})
	}
	if b := logbook.BoardOf(r); b != "" && r.Kind() != logbook.KindBoard {
		refs = append(refs, target{logbook.KindBoard, b})
	}
	return refs
}

// fileNumber gives each file name a number; there are few.
func (st *Staged) fileNumber(name string) int {
	for i := len(st.files) - 1; i >= 0; i-- {
		if st.files[i] == name {
			return i
		}
	}
	st.files = append(st.files, name)
	return len(st.files) - 1
}

// position returns where the draft stood.
func (st *Staged) position(d *draft) logbook.Position {
	return logbook.Position{File: st.files[d.file], Line: d.line}
}
