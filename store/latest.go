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
	l.list = append(l.list, sorted{bytes.Clone(key), bytes.Clone(value)})
	if most := l.limit + l.offset; len(l.list) >= 2*most {
		l.sort()
		l.list = slices.Delete(l.list, 0, len(l.list)-most)
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
