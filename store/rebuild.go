package store

import (
	"bytes"
	"cmp"
	"iter"
	"os"

	"go.etcd.io/bbolt"
)

// sortedFill is how full pages are made that are filled in the order of keys.
const sortedFill = 0.9

// rebuild carries out a large plan: it merges the store with the plan into a
// new file, in transactions of bounded size, and gives that the store's name.
// Until then the store is as it was; a crash leaves a file that the next Open
// for writing sweeps away.
func (s *Store) rebuild(p *plan) error {
	name, err := s.tempName()
	if err != nil {
		return err
	}
	err = s.guard(func() error { return s.mergeInto(name, p) })
	if err == nil {
		err = finishFile(name)
	}
	if err == nil {
		err = s.swap(name)
	}
	if err != nil {
		os.Remove(name)
	}
	return s.explain(err)
}

// mergeInto builds the new file. It need not be synced before it is whole.
func (s *Store) mergeInto(name string, p *plan) error {
	var file *os.File
	db, err := bbolt.Open(name, 0o600, &bbolt.Options{
		NoSync: true, NoGrowSync: true, NoFreelistSync: true, NoStatistics: true,
		FreelistType: bbolt.FreelistMapType,
		OpenFile: func(name string, flag int, perm os.FileMode) (f *os.File, err error) {
			file, err = os.OpenFile(name, flag, perm)
			return file, err
		},
	})
	if err != nil {
		return err
	}
	defer db.Close()
	if err := db.Update(initialise); err != nil {
		return err
	}
	flush := &flusher{file: file}
	defer flush.wait()
	err = s.db.View(func(tx *bbolt.Tx) error {
		v, err := newView(tx)
		if err != nil {
			return err
		}
		b := &builder{v: v, plan: p, db: db, tallies: tallies{}, flush: flush}
		defer b.abandon()
		return p.carryOut(v, b)
	})
	if err != nil {
		return err
	}
	// The last transaction writes the free list. Without it bbolt would look for
	// it in all pages when it opens the file, in a goroutine of its own, where
	// a fault cannot be caught.
	db.NoFreelistSync = false
	return db.Update(func(*bbolt.Tx) error { return nil })
}

// flusher has what was written so far sent to the disk while more is made, so
// that the sync at the end is short.
type flusher struct {
	file    *os.File
	written int
	done    chan struct{} // nil where no sync is under way
}

const flushBytes = 48 << 20

func (f *flusher) wrote(n int) {
	if f.written += n; f.written < flushBytes {
		return
	}
	select {
	case <-f.done:
		f.done = nil
	default:
		if f.done != nil {
			return
		}
	}
	f.written = 0
	done := make(chan struct{})
	f.done = done
	go func() {
		defer close(done)
		f.file.Sync() // a failure shows at the sync that counts
	}()
}

func (f *flusher) wait() {
	if f.done != nil {
		<-f.done
	}
}

// swap makes the new file, which is finished and synced, the store: renamed
// and opened.
func (s *Store) swap(name string) error {
	if err := s.closeDB(); err != nil {
		return err
	}
	path := s.path
	err := moveInto(name, path)
	switch {
	case err == nil:
		if s.fresh != "" {
			os.Remove(s.fresh)
		}
		s.settle()
	case s.fresh != "":
		path = s.fresh // go on with what there is
	}
	if oerr := s.openDB(path, false, newPatience(nil)); err == nil {
		err = oerr
	}
	return err
}

// finishFile syncs a file that mergeInto made.
func finishFile(name string) error {
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return cmp.Or(f.Sync(), f.Close())
}

// builder merges the buckets of a store with a plan's operations.
type builder struct {
	v       *view
	plan    *plan
	db      *bbolt.DB
	tallies tallies
	flush   *flusher

	tx     *bbolt.Tx
	bucket *bbolt.Bucket
	tag    tag
	puts   int
	bytes  int
}

func (b *builder) sums() tallies { return b.tallies }

func (b *builder) write(t tag, ops iter.Seq2[sorted, error]) error {
	b.tag = t
	old := b.v.bucket[t].Cursor()
	key, value := old.First()
	keep := func() error {
		if _, _, err := openFrame(t, key, value); err != nil {
			return err
		}
		err := b.put(key, value)
		key, value = old.Next()
		return err
	}
	for e, err := range b.plan.framed(t, ops) {
		if err != nil {
			return err
		}
		for key != nil && bytes.Compare(key, e.key) < 0 {
			if err := keep(); err != nil {
				return err
			}
		}
		if bytes.Equal(key, e.key) {
			_, sum, err := openFrame(t, key, value)
			if err != nil {
				return err
			}
			b.tallies.drop(t, key, sum)
			key, value = old.Next()
		}
		if e.value != nil {
			b.tallies.add(t, e.key, sumOf(e.value))
			if err := b.put(e.key, e.value); err != nil {
				return err
			}
		}
	}
	for key != nil {
		if err := keep(); err != nil {
			return err
		}
	}
	return b.commit()
}

// put adds an entry behind all others of the bucket.
func (b *builder) put(key, value []byte) (err error) {
	if b.tx == nil {
		if b.tx, err = b.db.Begin(true); err != nil {
			return err
		}
		b.bucket = b.tx.Bucket(b.tag.name())
		b.bucket.FillPercent = sortedFill
	}
	if err := b.bucket.Put(key, value); err != nil {
		return err
	}
	b.puts++
	b.bytes += len(key) + len(value)
	if puts, bytes := b.plan.heap.step(); b.puts >= puts || b.bytes >= bytes {
		return b.commit()
	}
	return nil
}

func (b *builder) commit() error {
	if b.tx == nil {
		return nil
	}
	err := b.tx.Commit()
	b.flush.wrote(b.bytes)
	b.tx, b.puts, b.bytes = nil, 0, 0
	return err
}

// abandon drops an open transaction after a failure.
func (b *builder) abandon() {
	if b.tx != nil {
		b.tx.Rollback()
		b.tx = nil
	}
}
