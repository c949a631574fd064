package web

import (
	"strconv"
	"strings"
	"sync"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
)

// How much is kept in memory: modes of fits, some 10 kB each, and answers with
// their draws, some megabytes each.
const (
	mostModes   = 256
	mostAnswers = 32
)

// memory keeps what took long, by the content of the records (model.Key).
type memory struct {
	fit  func(*logbook.History, []model.Sibling) *model.Fit
	room chan struct{} // so many fits are made at a time

	mu    sync.Mutex
	modes *recent[*mode]
	kept  *recent[*answers]
}

func newMemory(fit func(*logbook.History, []model.Sibling) *model.Fit) *memory {
	return &memory{fit: fit, room: make(chan struct{}, 2), modes: newRecent[*mode](mostModes), kept: newRecent[*answers](mostAnswers)}
}

// mode is what is kept of a fit. Whoever needs it first makes it, the others
// wait for that.
type mode struct {
	once sync.Once
	data []byte
}

// of returns the fit of a history, from a kept mode where there is one.
func (f *memory) of(h *logbook.History, siblings []model.Sibling) *model.Fit {
	var fit *model.Fit
	m := f.mode(model.Key(h))
	m.once.Do(func() {
		f.room <- struct{}{}
		defer func() { <-f.room }()
		fit = f.fit(h, siblings)
		m.data = fit.Keep()
	})
	if fit != nil {
		return fit
	}
	if fit, ok := model.Restore(h, m.data, siblings); ok {
		return fit
	}
	return f.fit(h, siblings) // whoever made it failed
}

func (f *memory) mode(key string) *mode {
	f.mu.Lock()
	defer f.mu.Unlock()
	m, ok := f.modes.get(key)
	if !ok {
		m = &mode{}
		f.modes.put(key, m)
	}
	return m
}

// alone fits a history without what other packs lend it.
func (f *memory) alone(h *logbook.History) *model.Fit { return f.of(h, nil) }

// answers are the reports about one pack as of one moment, each worked out when
// it is first asked for and then kept. A fit is only read by them, so that
// several may be worked out at once.
type answers struct {
	history     *logbook.History
	fit         func() *model.Fit
	health      func() *report.Health
	outlook     func() *report.Outlook
	course      func() *report.Course
	consumption func() *report.Consumption
	losses      func() *report.Losses
	due         func() []report.Reminder
	audit       func() []report.Finding
	hindcast    func() *report.Hindcast
}

// answers returns the answers about a subject.
func (f *memory) answers(s *subject) *answers {
	f.mu.Lock()
	defer f.mu.Unlock()
	a := f.known(s)
	if s.drawn == nil {
		return a
	}
	drawn, both := f.known(s.drawn), *a
	both.course, both.consumption, both.losses = drawn.course, drawn.consumption, drawn.losses
	return &both
}

// known returns the answers about a subject alone; the caller holds the lock.
func (f *memory) known(s *subject) *answers {
	key := keyOf(s)
	if a, ok := f.kept.get(key); ok {
		return a
	}
	a := f.ask(s)
	f.kept.put(key, a)
	return a
}

// keyOf names everything that answers depend on.
func keyOf(s *subject) string {
	parts := []string{strconv.FormatInt(s.history.AsOf.UnixNano(), 36), s.history.AsOf.Format("-0700"), model.Key(s.history)}
	for _, h := range s.siblings {
		parts = append(parts, model.Key(h))
	}
	return strings.Join(parts, " ")
}

func (f *memory) ask(s *subject) *answers {
	h := s.history
	a := &answers{history: h}
	a.fit = sync.OnceValue(func() *model.Fit {
		var lent []model.Sibling
		for _, other := range s.siblings {
			if sibling, ok := f.alone(other).Sibling(); ok {
				lent = append(lent, sibling)
			}
		}
		return f.of(h, lent)
	})
	a.health = sync.OnceValue(func() *report.Health { return report.HealthOf(h, a.fit()) })
	a.outlook = sync.OnceValue(func() *report.Outlook { return report.OutlookOf(h, a.fit(), report.DefaultOutlookMonths) })
	a.course = sync.OnceValue(func() *report.Course { return report.CourseOf(h, a.fit(), report.DefaultOutlookMonths, f.alone) })
	a.consumption = sync.OnceValue(func() *report.Consumption { return report.ConsumptionOf(h, a.fit()) })
	a.losses = sync.OnceValue(func() *report.Losses { return report.LossesOf(h, a.fit()) })
	a.due = sync.OnceValue(func() []report.Reminder { return report.DueOf(h, a.fit(), h.AsOf) })
	a.audit = sync.OnceValue(func() []report.Finding { return report.AuditOf(h, a.fit()) })
	a.hindcast = sync.OnceValue(func() *report.Hindcast { return report.HindcastOf(h, f.alone) })
	return a
}

// together works out several answers at once. One that panics does so again
// where it is asked for (sync.OnceValue), in the request's own goroutine.
func together(work ...func()) {
	var wg sync.WaitGroup
	for _, w := range work {
		wg.Go(func() {
			defer func() { _ = recover() }()
			w()
		})
	}
	wg.Wait()
}

// asked makes of an answer the work to have it.
func asked[T any](answer func() T) func() { return func() { answer() } }

// recent keeps the values that were used last, up to a bound. It is not safe
// for use by several goroutines at once.
type recent[T any] struct {
	most  int
	clock uint64
	all   map[string]*aged[T]
}

type aged[T any] struct {
	value T
	used  uint64
}

func newRecent[T any](most int) *recent[T] { return &recent[T]{most: most, all: map[string]*aged[T]{}} }

func (r *recent[T]) get(key string) (T, bool) {
	a := r.all[key]
	if a == nil {
		var none T
		return none, false
	}
	r.clock++
	a.used = r.clock
	return a.value, true
}

func (r *recent[T]) put(key string, value T) {
	r.clock++
	r.all[key] = &aged[T]{value, r.clock}
	if len(r.all) <= r.most {
		return
	}
	oldest := key
	for k, a := range r.all {
		if a.used < r.all[oldest].used {
			oldest = k
		}
	}
	delete(r.all, oldest)
}
