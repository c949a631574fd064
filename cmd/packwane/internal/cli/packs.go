package cli

import (
	"errors"
	"runtime"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/store"
)

// Packs are read until so many packs or records are there, and asked before the
// next are read: that bounds what is held in memory, and between two such spells
// others can log.
const (
	packsAtOnce   = 64
	recordsAtOnce = 20_000
)

// replies are what some packs answered.
type replies[T any] struct {
	packs   []string // their ids
	answers []T      // in the same order
	who     typed.Rider
}

// askPacks asks one question of the pack that is named, or of every pack. The
// packs are read some at a time and asked on every core, so that a fleet takes
// no more memory than a few of its packs; the store is closed while anything is
// computed.
func askPacks[T any](a *app, args []string, asOf time.Time, question func(*logbook.History, *model.Fit) T) (replies[T], error) {
	var out replies[T]
	var histories []*logbook.History
	err := a.read(func(s *store.Store) (err error) {
		if out.packs, out.who, err = a.meantPacks(s, args); err == nil {
			if len(out.packs) == 1 {
				collectLess()
			}
			histories, err = readHistories(s, out.packs, asOf)
		}
		return err
	})
	if len(args) == 0 && errors.Is(err, errNoLog) {
		err = nil
	}
	if err != nil {
		return out, err
	}
	out.answers = make([]T, len(out.packs))
	type job struct {
		at      int
		history *logbook.History
	}
	jobs := make(chan job)
	progress := a.packProgress(len(out.packs))
	var work sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(out.packs)) {
		work.Go(func() {
			for j := range jobs {
				out.answers[j.at] = question(j.history, fitHistory(j.history))
				progress.Add(1)
			}
		})
	}
	for at := 0; err == nil && at < len(out.packs); {
		if at > 0 {
			err = a.read(func(s *store.Store) (err error) {
				histories, err = readHistories(s, out.packs[at:], asOf)
				return err
			})
		}
		for _, h := range histories {
			if h != nil {
				jobs <- job{at, h}
			}
			at++
		}
	}
	close(jobs)
	work.Wait()
	progress.Clear()
	return out, err
}

// meantPacks returns the id of the pack that is named, or those of all.
func (a *app) meantPacks(s *store.Store, args []string) (ids []string, who typed.Rider, err error) {
	if who, err = a.rider(s); err != nil {
		return nil, who, err
	}
	if len(args) == 1 {
		p, err := findPack(s, args[0])
		if err != nil {
			return nil, who, err
		}
		return []string{p.ID}, who, nil
	}
	packs, err := s.Packs()
	return idsOf(packs), who, err
}

// readHistories reads the first few packs, at least one. One that was removed
// since they were listed is nil.
func readHistories(s *store.Store, packs []string, asOf time.Time) (out []*logbook.History, err error) {
	n := 0
	for _, id := range packs {
		if len(out) == packsAtOnce || n >= recordsAtOnce {
			break
		}
		records, err := s.PackRecords(id)
		var h *logbook.History
		if err == nil {
			h, err = logbook.NewHistory(id, records, asOf)
		}
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return nil, err
		}
		out, n = append(out, h), n+len(records)
	}
	return out, nil
}

// packProgress returns a bar of packs on standard error where there are many
// and a person looks at it, else one that shows nothing.
func (a *app) packProgress(packs int) *progressbar.ProgressBar {
	const many = 24
	if !a.streams.ErrTerminal || packs < many {
		return progressbar.DefaultSilent(int64(packs))
	}
	return progressbar.NewOptions(packs,
		progressbar.OptionSetWriter(a.streams.Err),
		progressbar.OptionSetDescription("packs"),
		progressbar.OptionShowCount(),
		progressbar.OptionSetWidth(24),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish())
}
