package store

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// The model is the simplest store that could be: for each record the list of
// its revisions, and for each action what every record it touched said before
// and after.
type model struct {
	revs    map[target][]modelRev
	actions []modelAction
	undo    []int // actions that can be undone, the last first to go
	redo    []int
}

type modelRev struct {
	rev     int
	removed bool
	content string
}

type modelAction map[target][2]string // what was said before and after; "" for not there

const gone = ""

func (m *model) says(k target) string {
	revs := m.revs[k]
	if len(revs) == 0 || revs[len(revs)-1].removed {
		return gone
	}
	return revs[len(revs)-1].content
}

func (m *model) add(k target, rev int, content string) {
	m.revs[k] = append(m.revs[k], modelRev{rev, content == gone, content})
}

// commit files an action over the records that it changed.
func (m *model) commit(a modelAction) {
	if len(a) > 0 {
		m.actions = append(m.actions, a)
		m.undo, m.redo = append(m.undo, len(m.actions)-1), nil
	}
}

func (m *model) say(k target, content string) {
	revs := m.revs[k]
	m.add(k, revs[len(revs)-1].rev+1, content)
}

// put is an import of one revision, as the contract words it; ok is false
// where it must be refused.
func (m *model) put(a modelAction, r logbook.Record) (ok bool) {
	h := logbook.HeadOf(r)
	k := target{r.Kind(), h.ID}
	content := gone
	if !h.Removed {
		content = string(logbook.Content(r))
	}
	revs := m.revs[k]
	if len(revs) == 0 {
		if h.Removed {
			return false
		}
	} else {
		last := revs[len(revs)-1]
		switch {
		case last.content == content:
			return true
		case h.Rev > last.rev:
		case slices.ContainsFunc(revs, func(x modelRev) bool { return x.content == content }):
			return true
		default:
			return false
		}
	}
	if _, seen := a[k]; !seen {
		a[k] = [2]string{m.says(k), content}
	} else {
		a[k] = [2]string{a[k][0], content}
	}
	m.add(k, h.Rev, content)
	return true
}

// history lists every revision as the store should have it.
func (m *model) history() []string {
	var out []string
	for k, revs := range m.revs {
		for _, r := range revs {
			out = append(out, fmt.Sprint(k.kind, " ", k.id, " ", r.rev, " ", r.removed, " ", r.content))
		}
	}
	slices.Sort(out)
	return out
}

func storeHistory(t testing.TB, s *Store) []string {
	t.Helper()
	var out []string
	for r, err := range s.All(true) {
		if err != nil {
			t.Fatal(err)
		}
		h := logbook.HeadOf(r)
		content := gone
		if !h.Removed {
			content = string(logbook.Content(r))
		}
		out = append(out, fmt.Sprint(r.Kind(), " ", h.ID, " ", h.Rev, " ", h.Removed, " ", content))
	}
	slices.Sort(out)
	return out
}

// invent makes up a record among few ids, so that they meet.
func invent(rng *rand.Rand) logbook.Record {
	pack := fmt.Sprintf("pack-%d", rng.IntN(3))
	at := noon.Add(time.Duration(rng.IntN(20)) * time.Hour)
	board := ""
	if rng.IntN(3) == 0 {
		board = fmt.Sprintf("board-%d", rng.IntN(2))
	}
	h := logbook.Head{ID: fmt.Sprintf("x%d", rng.IntN(12)), Rev: 1}
	if rng.IntN(2) == 0 {
		h.Rev = 1 + rng.IntN(6)
	}
	h.Removed = h.Rev > 1 && rng.IntN(5) == 0
	n := logbook.Some(float64(rng.IntN(4)))
	switch rng.IntN(6) {
	case 0:
		return &logbook.Board{Head: logbook.Head{ID: fmt.Sprintf("board-%d", rng.IntN(2)), Rev: h.Rev, Removed: h.Removed}, MassKg: logbook.Some(9 + n.V)}
	case 1:
		return &logbook.Pack{Head: logbook.Head{ID: pack, Rev: h.Rev, Removed: h.Removed}, Board: board, AsnewAh: logbook.Some(9 + n.V)}
	case 2:
		return &logbook.Charge{Head: h, Pack: pack, At: at, ChargedAh: n}
	case 3:
		return &logbook.Service{Head: h, Pack: pack, At: at, What: "balance"}
	}
	return &logbook.Ride{Head: h, Pack: pack, Board: board, At: at, DistanceKm: n}
}

// Random sequences of actions do to the store what they do to the model.
func TestAgainstModel(t *testing.T) {
	for round := range rounds(4, 30) {
		rng := rand.New(rand.NewPCG(20250412, uint64(round)))
		t.Run(fmt.Sprint(round), func(t *testing.T) {
			if round%2 == 1 {
				set(t, &bulk, rng.IntN(8))
				set(t, &memoryLimit, rng.IntN(2000))
			}
			path := newPath(t)
			s := open(t, path, ReadWrite)
			m := &model{revs: map[target][]modelRev{}}
			base := []logbook.Record{}
			for i := range 2 {
				base = append(base, &logbook.Board{Head: head(fmt.Sprintf("board-%d", i), 1)})
			}
			for i := range 3 {
				base = append(base, &logbook.Pack{Head: head(fmt.Sprintf("pack-%d", i), 1)})
			}
			m.step(t, s, func() error { return importInto(s, base) }, func() bool { return m.imports(base) })
			for range 60 {
				m.random(t, s, rng)
				if rng.IntN(10) == 0 {
					s.Close()
					s = open(t, path, ReadWrite)
				}
			}
			if got, want := storeHistory(t, s), m.history(); !slices.Equal(got, want) {
				t.Fatalf("the store has\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
			}
			again(t, s)
		})
	}
}

func importInto(s *Store, list []logbook.Record) error {
	_, err := s.Import(entries(list...), "", noon)
	return err
}

// step does something to both and expects both to do it or both to refuse.
func (m *model) step(t *testing.T, s *Store, real func() error, ideal func() bool) {
	t.Helper()
	err := real()
	ok := ideal()
	if (err == nil) != ok {
		t.Fatalf("the store says %v, the model %v", err, ok)
	}
	if n := len(must(s.Actions(0))(t)); n != len(m.actions) {
		t.Fatalf("%d actions, want %d", n, len(m.actions))
	}
}

// imports is a whole import: all or nothing, revisions in their order.
func (m *model) imports(list []logbook.Record) bool {
	saved := map[target][]modelRev{}
	for k, revs := range m.revs {
		saved[k] = slices.Clone(revs)
	}
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b logbook.Record) int { return logbook.HeadOf(a).Rev - logbook.HeadOf(b).Rev })
	a := modelAction{}
	for _, r := range sorted {
		if !m.put(a, r) {
			m.revs = saved
			return false
		}
	}
	m.commit(a)
	return true
}

func (m *model) random(t *testing.T, s *Store, rng *rand.Rand) {
	t.Helper()
	switch rng.IntN(10) {
	case 0, 1: // undo
		m.step(t, s, func() error { _, err := s.Undo(noon); return err }, func() bool { return m.turn(&m.undo, &m.redo, 0) })
	case 2: // redo
		m.step(t, s, func() error { _, err := s.Redo(noon); return err }, func() bool { return m.turn(&m.redo, &m.undo, 1) })
	case 3: // remove
		r := invent(rng)
		k := target{r.Kind(), logbook.HeadOf(r).ID}
		m.step(t, s, func() error { return s.Remove(k.kind, k.id, 0, "", noon) }, func() bool {
			if m.says(k) == gone {
				return false
			}
			m.commit(modelAction{k: {m.says(k), gone}})
			m.say(k, gone)
			return true
		})
	case 4, 5: // amend what is there
		r := invent(rng)
		k := target{r.Kind(), logbook.HeadOf(r).ID}
		if m.says(k) == gone || m.refersToNothing(r) {
			return
		}
		logbook.HeadOf(r).Removed = false
		rev := m.revs[k][len(m.revs[k])-1].rev
		m.step(t, s, func() error { _, err := s.Put(r, rev, "", noon); return err }, func() bool {
			if content := string(logbook.Content(r)); content != m.says(k) {
				m.commit(modelAction{k: {m.says(k), content}})
				m.say(k, content)
			}
			return true
		})
	default: // import
		list := make([]logbook.Record, 1+rng.IntN(6))
		for i := range list {
			list[i] = invent(rng)
		}
		m.step(t, s, func() error { return importInto(s, list) }, func() bool { return m.imports(list) })
	}
}

func (m *model) refersToNothing(r logbook.Record) bool {
	return slices.ContainsFunc(references(r), func(ref target) bool { return len(m.revs[ref]) == 0 })
}

// turn undoes (side 0) or does again (side 1) the action on top of one stack
// and puts it on the other.
func (m *model) turn(from, to *[]int, side int) bool {
	if len(*from) == 0 {
		return false
	}
	i := (*from)[len(*from)-1]
	*from, *to = (*from)[:len(*from)-1], append(*to, i)
	for k, said := range m.actions[i] {
		if m.says(k) != said[side] {
			m.say(k, said[side])
		}
	}
	m.actions = append(m.actions, nil) // it is an action too, but none to undo
	return true
}

// again exports the history and imports it into a fresh store, which must then
// export the same.
func again(t *testing.T, s *Store) {
	t.Helper()
	text := export(t, s, true)
	fresh := open(t, newPath(t), ReadWrite)
	mustImport(t, fresh, logbook.Read(strings.NewReader(text), "export.jsonl"))
	if got := export(t, fresh, true); got != text {
		t.Errorf("an export with history came back as\n%s, want\n%s", got, text)
	}
	sum := mustImport(t, fresh, logbook.Read(strings.NewReader(text), "export.jsonl"))
	if n := counts(sum); n[0]+n[1] > 0 {
		t.Errorf("importing the export again: %v", n)
	}
}
