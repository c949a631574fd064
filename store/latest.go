package store

import (
	"bytes"
	"iter"
	"slices"
)

// latest keeps the last limit pairs by key, less the last offset of them. It
// holds twice as many at most.
type latest struct {
	limit, offset int
	list          []sorted
}

func (l *latest) add(key, value []byte) error {
	n := len(l.list)
	if n < cap(l.list) {
		l.list = l.list[:n+1] // what was let go of is written over
	} else {
		l.list = append(l.list, sorted{})
	}
	p := &l.list[n]
	p.key, p.value = append(p.key[:0], key...), append(p.value[:0], value...)
	if most := l.limit + l.offset; len(l.list) >= 2*most {
		l.sort()
		for i, last := range l.list[len(l.list)-most:] {
			l.list[i], l.list[len(l.list)-most+i] = last, l.list[i]
		}
		l.list = l.list[:most]
	}
	return nil
}

func (l *latest) sort() {
	slices.SortFunc(l.list, func(a, b sorted) int { return bytes.Compare(a.key, b.key) })
}

// all gives the pairs that are kept, in order.
func (l *latest) all() iter.Seq2[sorted, error] {
	return func(yield func(sorted, error) bool) {
		l.sort()
		end := max(0, len(l.list)-l.offset)
		for _, p := range l.list[max(0, end-l.limit):end] {
			if !yield(p, nil) {
				return
			}
		}
	}
}

func (l *latest) close() { l.list = nil }
