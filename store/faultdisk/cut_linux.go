package faultdisk

import (
	"errors"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
)

// sector is what a disk writes whole or not at all.
const sector = 512

// Cut fills the folder dir with what a power cut after the first n of the
// disk's ops might leave: all that was synced, and of what was not a random
// part. Names change in order up to a random one of those that no sync of the
// folder covers; sectors of a file that were written after its last sync are
// there or not, each for itself, or up to one of the writes.
func (d *Disk) Cut(dir string, n int, rng *rand.Rand) error {
	ops := d.Ops()[:n]
	names := d.cutNames(ops, rng)
	contents := map[uint64][]byte{}
	for _, ino := range names {
		if _, ok := contents[ino]; !ok {
			contents[ino] = d.cutFile(ops, ino, rng)
		}
	}
	var errs []error
	for name, ino := range names {
		path := filepath.Join(dir, name)
		errs = append(errs, os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, contents[ino], 0o600))
	}
	return errors.Join(errs...)
}

// cutNames returns the names that are left, with their files. Folders follow
// from the names.
func (d *Disk) cutNames(ops []Op, rng *rand.Rand) map[string]uint64 {
	synced := 0
	var changes []Op
	for _, op := range ops {
		switch op.Kind {
		case Create, Link, Rename, Unlink:
			changes = append(changes, op)
		case SyncDir: // of any folder: one disk writes its changes of names in order
			synced = len(changes)
		}
	}
	names := maps.Clone(d.first)
	for _, op := range changes[:synced+rng.IntN(len(changes)-synced+1)] {
		switch op.Kind {
		case Create, Link:
			names[op.Name] = op.File
		case Rename:
			names[op.To] = names[op.Name]
			delete(names, op.Name)
		case Unlink:
			delete(names, op.Name)
		}
	}
	return names
}

// cutFile returns what is left in a file.
func (d *Disk) cutFile(ops []Op, ino uint64, rng *rand.Rand) []byte {
	var mine []Op
	synced := 0
	for _, op := range ops {
		if op.File == ino {
			switch op.Kind {
			case Sync:
				synced = len(mine)
			case Write, Truncate:
				mine = append(mine, op)
			}
		}
	}
	b := append([]byte(nil), d.start[ino]...)
	for _, op := range mine[:synced] {
		b = apply(b, op, func() bool { return true })
	}
	late := mine[synced:]
	switch rng.IntN(3) {
	case 0: // in order, the last one torn
		late = late[:rng.IntN(len(late)+1)]
		for i, op := range late {
			torn := i == len(late)-1
			b = apply(b, op, func() bool { return !torn || rng.IntN(2) == 0 })
		}
	case 1: // whole writes in any order
		for _, op := range late {
			if rng.IntN(2) == 0 {
				b = apply(b, op, func() bool { return true })
			}
		}
	case 2: // sector by sector
		share := rng.Float64()
		for _, op := range late {
			b = apply(b, op, func() bool { return rng.Float64() < share })
		}
	}
	return b
}

// apply carries out an op on a file's content, of a write those sectors that
// kept says.
func apply(b []byte, op Op, kept func() bool) []byte {
	grow := func(size int64) {
		if n := size - int64(len(b)); n > 0 {
			b = append(b, make([]byte, n)...)
		}
	}
	if op.Kind == Truncate {
		if kept() {
			grow(op.At)
			b = b[:op.At:op.At]
		}
		return b
	}
	for at, left := op.At, op.Data; len(left) > 0; {
		n := min(int64(len(left)), sector-at%sector)
		if kept() {
			grow(at + n)
			copy(b[at:], left[:n])
		}
		at, left = at+n, left[n:]
	}
	return b
}

// Without returns the disk as if ops of these kinds had never been done.
func (d *Disk) Without(kinds ...Kind) *Disk {
	var ops []Op
	for _, op := range d.Ops() {
		if !slices.Contains(kinds, op.Kind) {
			ops = append(ops, op)
		}
	}
	return &Disk{Path: d.Path, ops: ops, first: d.first, start: d.start}
}
