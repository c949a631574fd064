package trace

import (
	"cmp"
	"hash/maphash"
	"slices"
	"sort"
	"time"

	"packwane/health/logbook"
)

// Log is what a trace is brought together with.
type Log interface {
	// Each gives the current records of the trace's pack, those that were not
	// removed. A record is good until fn returns.
	Each(fn func(logbook.Record) error) error
	// Record returns one of them.
	Record(kind logbook.Kind, id string) (logbook.Record, error)
}

// mark is what is kept of a record to find what tells of the same charge, ride
// or measurement.
type mark struct {
	kind         logbook.Kind
	ohms, groups bool // of a check
	from, to     time.Time
	id           string
	claims       int // by records of the trace
}

func markOf(r logbook.Record) mark {
	m := mark{kind: r.Kind(), id: logbook.HeadOf(r).ID}
	m.from, m.to = extent(r)
	if c, ok := r.(*logbook.Check); ok {
		m.ohms, m.groups = c.ResistanceMohm.OK, len(c.GroupV) > 0
	}
	return m
}

// known is what the log holds of the pack in the time of a trace, so that its
// size goes with the trace and not with the log, and the ids of all of the pack.
type known struct {
	marks   map[logbook.Kind][]mark // by from
	longest map[logbook.Kind]time.Duration
	seed    maphash.Seed
	ids     map[uint64]struct{} // hashed: of 100,000 and 100,000 two agree by chance once in a thousand million times
}

// indexLog looks through the log for what may tell of the same as a record of
// the pack between two times.
func indexLog(log Log, pack string, from, to time.Time) (*known, error) {
	x := &known{map[logbook.Kind][]mark{}, map[logbook.Kind]time.Duration{}, maphash.MakeSeed(), map[uint64]struct{}{}}
	from, to = from.Add(-farApart), to.Add(farApart)
	err := log.Each(func(r logbook.Record) error {
		if logbook.HeadOf(r).Removed || logbook.PackOf(r) != pack {
			return nil
		}
		m := markOf(r)
		x.ids[x.hash(m.kind, m.id)] = struct{}{}
		switch m.kind {
		case logbook.KindCharge, logbook.KindRide, logbook.KindCheck:
			if !m.to.Before(from) && !m.from.After(to) {
				x.marks[m.kind] = append(x.marks[m.kind], m)
				x.longest[m.kind] = max(x.longest[m.kind], m.to.Sub(m.from))
			}
		}
		return nil
	})
	for _, list := range x.marks {
		slices.SortFunc(list, func(a, b mark) int {
			return cmp.Or(a.from.Compare(b.from), a.to.Compare(b.to), cmp.Compare(a.id, b.id))
		})
	}
	return x, err
}

func (x *known) hash(k logbook.Kind, id string) uint64 {
	return maphash.String(x.seed, k.String()+" "+id)
}

// has reports whether the log has the record under its own id.
func (x *known) has(m *mark) bool {
	_, ok := x.ids[x.hash(m.kind, m.id)]
	return ok
}

// farApart is farther apart than two records can lie in time that tell of the same.
const farApart = nearCharge + nearRide

// matches returns the records of the log that tell of the same as f.
func (x *known) matches(f *mark) []*mark {
	list := x.marks[f.kind]
	first := f.from.Add(-farApart - x.longest[f.kind])
	last := f.to.Add(farApart)
	var out []*mark
	for k := sort.Search(len(list), func(k int) bool { return !list[k].from.Before(first) }); k < len(list) && !list[k].from.After(last); k++ {
		if overlaps(f, &list[k]) {
			out = append(out, &list[k])
		}
	}
	return out
}
