package store

import "bytes"

// root walks the bucket of buckets and then each bucket.
func (w *walker) root(p uint64) error {
	var roots []uint64
	err := w.tree(p, maxDepth, func(page []byte, h pageHead) error {
		for i := range uint64(h.count) {
			at := pageHeader + i*16
			e, err := cut(page, at, 16)
			if err != nil {
				return err
			}
			if native.Uint32(e)&bucketFlag == 0 {
				continue
			}
			value := at + uint64(native.Uint32(e[4:])) + uint64(native.Uint32(e[8:]))
			v, err := cut(page, value, 16)
			if err != nil {
				return err
			}
			if root := native.Uint64(v); root != 0 {
				roots = append(roots, root)
			}
		}
		return nil
	})
	for _, root := range roots {
		if err != nil {
			break
		}
		err = w.tree(root, maxDepth, nil)
	}
	return err
}

// tree walks the branches below p. Leaves are read where visit is given, else
// only counted: the tree is as deep everywhere as at its first leaf.
func (w *walker) tree(p uint64, depth int, visit func([]byte, pageHead) error) error {
	h, err := w.head(p)
	if err != nil {
		return err
	}
	if h.flags == leafFlag {
		if visit == nil {
			return w.claimLeaf(p)
		}
		page, err := w.whole(p, h)
		if err != nil {
			return err
		}
		return visit(page, h)
	}
	if h.flags != branchFlag || depth == 0 {
		return damaged("page %d is no branch", p)
	}
	children, err := w.branch(p, h)
	if err != nil {
		return err
	}
	below, err := w.head(children[0])
	if err != nil {
		return err
	}
	for _, child := range children {
		if visit == nil && below.flags == leafFlag {
			err = w.claimLeaf(child)
		} else {
			err = w.tree(child, depth-1, visit)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (w *walker) claimLeaf(p uint64) error {
	if err := w.claim(p, 1); err != nil {
		return err
	}
	w.leaf[p/64] |= 1 << (p % 64)
	return nil
}

// branch returns the children of a branch; its keys must ascend.
func (w *walker) branch(p uint64, h pageHead) ([]uint64, error) {
	page, err := w.whole(p, h)
	if err != nil {
		return nil, err
	}
	if h.count == 0 {
		return nil, damaged("branch %d is empty", p)
	}
	children := make([]uint64, h.count)
	var last []byte
	for i := range children {
		at := uint64(pageHeader + i*16)
		e, err := cut(page, at, 16)
		if err != nil {
			return nil, err
		}
		key, err := cut(page, at+uint64(native.Uint32(e)), uint64(native.Uint32(e[4:])))
		if err != nil {
			return nil, err
		}
		if i > 0 && bytes.Compare(last, key) >= 0 {
			return nil, damaged("branch %d is out of order", p)
		}
		last = key
		children[i] = native.Uint64(e[8:])
	}
	return children, nil
}

// free reads the free list: page numbers that ascend, each not in use.
func (w *walker) free(p uint64) error {
	h, err := w.head(p)
	if err != nil {
		return err
	}
	if h.flags != freeFlag {
		return damaged("page %d is no free list", p)
	}
	page, err := w.whole(p, h)
	if err != nil {
		return err
	}
	ids := page[pageHeader:]
	count := uint64(h.count)
	if count == 0xffff {
		count, ids = native.Uint64(ids), ids[8:]
	}
	if count > uint64(len(ids)/8) {
		return damaged("the free list is cut short")
	}
	last := uint64(1)
	for i := range count {
		id := native.Uint64(ids[i*8:])
		if id <= last {
			return damaged("the free list is out of order")
		}
		last = id
		if err := w.claim(id, 1); err != nil {
			return err
		}
	}
	return nil
}

// gaps looks at the pages that nothing has named so far: each must go on from
// a leaf before it.
func (w *walker) gaps() error {
	for p := uint64(2); p < w.high; p++ {
		if w.seen[p/64] == ^uint64(0) {
			p |= 63
			continue
		}
		if w.has(w.seen, p) {
			continue
		}
		if !w.has(w.leaf, p-1) {
			return damaged("page %d is neither used nor free", p)
		}
		h, err := w.head(p - 1)
		if err != nil {
			return err
		}
		if h.flags != leafFlag || h.overflow == 0 {
			return damaged("page %d is neither used nor free", p)
		}
		if err := w.claim(p, h.overflow); err != nil {
			return err
		}
	}
	return nil
}
