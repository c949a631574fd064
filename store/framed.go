package store

import "iter"

// entry is what an operation leaves under a key: a framed value, or nothing.
type entry struct {
	key, value []byte
}

// framed turns operations into entries in a goroutine of its own, ahead of
// what is asked for. The entries live on.
func (p *plan) framed(t tag, ops iter.Seq2[sorted, error]) iter.Seq2[entry, error] {
	type batch struct {
		list []entry
		err  error
	}
	return func(yield func(entry, error) bool) {
		batches := make(chan batch, 4)
		stop := make(chan struct{})
		go func() {
			defer close(batches)
			var b batch
			var block []byte
			size := 0
			for op, err := range ops {
				var e entry
				if err == nil {
					e, block, err = p.frame(t, op, block)
				}
				if b.err = err; err != nil {
					break
				}
				b.list = append(b.list, e)
				if size += len(e.key) + len(e.value); size >= p.heap.batch() {
					select {
					case batches <- b:
					case <-stop:
						return
					}
					b, size = batch{list: make([]entry, 0, len(b.list))}, 0
				}
			}
			select {
			case batches <- b:
			case <-stop:
			}
		}()
		defer func() {
			close(stop)
			for range batches {
			}
		}()
		for b := range batches {
			for _, e := range b.list {
				if !yield(e, nil) {
					return
				}
			}
			if b.err != nil {
				yield(entry{}, b.err)
				return
			}
		}
	}
}

// frame makes the entry of an operation in block, or in a new one where that
// is full.
func (p *plan) frame(t tag, op sorted, block []byte) (entry, []byte, error) {
	payload, put, err := p.payloadOf(op.value)
	if err != nil {
		return entry{}, block, err
	}
	n := len(op.key)
	if put {
		n += frameSize + len(payload)
	}
	if cap(block)-len(block) < n {
		block = make([]byte, 0, max(n, 64<<10))
	}
	start, mid := len(block), len(block)+len(op.key)
	block = append(block, op.key...)
	e := entry{key: block[start:mid:mid]}
	if put {
		block = appendFrame(block, t, op.key, payload)
		e.value = block[mid:len(block):len(block)]
	}
	return e, block, nil
}
