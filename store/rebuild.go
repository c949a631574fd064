package store

import (
	"bytes"
	"iter"
	"os"
	"time"

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
		err = s.swap(name)
	}
	if err != nil {
		os.Remove(name)
	}
	return s.explain(err)
}

// mergeInto builds the new file. It need not be synced before it is whole.
func (s *Store) mergeInto(name string, p *plan) error {
	db, err := bbolt.Open(name, 0o600, &bbolt.Options{
		NoSync: true, NoGrowSync: true, NoFreelistSync: true, NoStatistics: true,
		FreelistType: bbolt.FreelistMapType,
	})
	if err != nil {
		return err
	}
	defer db.Close()
	if err := db.Update(initialise); err != nil {
		return err
	}
	err = s.db.View(func(tx *bbolt.Tx) error {
		v, err := newView(tx)
		if err != nil {
			return err
		}
		b := &builder{v: v, plan: p, db: db, tallies: tallies{}}
		defer b.abandon()
		return p.carryOut(v, b)
	})
	if err != nil {
		return err
	}
	return db.Close()
}

// swap makes the new file the store: finished, synced, renamed and opened.
func (s *Store) swap(name string) error {
	if err := finishFile(name); err != nil {
		return err
	}
	if err := s.closeDB(); err != nil {
		return err
	}
	err := moveInto(name, s.path)
	if err == nil {
		if s.fresh != "" {
			os.Remove(s.fresh)
		}
		s.fresh, s.folders = "", nil
	}
	path := s.path
	if s.fresh != "" {
		path = s.fresh // never published: go on with what there is
	}
	if oerr := s.openDB(path, false, time.Now().Add(lockWait)); err == nil {
		err = oerr
	}
	return err
}

// finishFile opens the file once as a store is opened, which writes its free
// list, and syncs it.
func finishFile(name string) error {
	db, err := bbolt.Open(name, 0o600, &bbolt.Options{FreelistType: bbolt.FreelistMapType, NoStatistics: true, Timeout: lockWait})
	if err != nil {
		return err
	}
	if err := db.Sync(); err != nil {
		db.Close()
		return err
	}
	return db.Close()
}

// builder merges the buckets of a store with a plan's operations.
type builder struct {
	v       *view
	plan    *plan
	db      *bbolt.DB
	tallies tallies

	tx     *bbolt.Tx
	bucket *bbolt.Bucket
	tag    tag
	puts   int
	bytes  int
	block  []byte
}

func (b *builder) sums() tallies { return b.tallies }

// Limits of one transaction of the new file.
const (
	buildPuts  = 20_000
	buildBytes = 16 << 20
)

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
	for op, err := range ops {
		if err != nil {
			return err
		}
		for key != nil && bytes.Compare(key, op.key) < 0 {
			if err := keep(); err != nil {
				return err
			}
		}
		if bytes.Equal(key, op.key) {
			_, sum, err := openFrame(t, key, value)
			if err != nil {
				return err
			}
			b.tallies.drop(t, key, sum)
			key, value = old.Next()
		}
		if err := b.carry(t, op); err != nil {
			return err
		}
	}
	for key != nil {
		if err := keep(); err != nil {
			return err
		}
	}
	return b.commit()
}

// carry puts what an operation puts.
func (b *builder) carry(t tag, op sorted) error {
	payload, put, err := b.plan.payloadOf(op.value)
	if err != nil || !put {
		return err
	}
	n := frameSize + len(payload)
	if cap(b.block)-len(b.block) < n {
		b.block = make([]byte, 0, max(n, 256<<10))
	}
	start := len(b.block)
	b.block = appendFrame(b.block, t, op.key, payload)
	value := b.block[start : start+n : start+n]
	b.tallies.add(t, op.key, sumOf(value))
	return b.put(op.key, value)
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
	if b.bytes += len(key) + len(value); b.puts >= buildPuts || b.bytes >= buildBytes {
		return b.commit()
	}
	return nil
}

func (b *builder) commit() error {
	if b.tx == nil {
		return nil
	}
	err := b.tx.Commit()
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
