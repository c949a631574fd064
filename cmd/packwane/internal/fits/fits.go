// Package fits gets the fit of a pack for whoever asks, the command line or
// the page: from the user's cache folder where the records have not changed,
// else anew, with what packs of the same cells lend it.
//
// A kept fit is named by the content of the records (model.Key), and begins with
// that name: a file under another's name is no fit of these records. A stale,
// damaged or misplaced one is fitted again, and an answer is the same to the last
// bit with the cache, without it, and with it out of reach.
package fits

import (
	"bytes"
	"cmp"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/store"
)

// MostSiblings is how many other packs lend a pack their fades.
const MostSiblings = 8

// mostKept is how many fits the cache folder holds before the oldest go: those
// of a large fleet, some 15 kB each.
const mostKept = 6000

// Cache keeps fits in a folder; the zero value keeps none.
type Cache struct{ Dir string }

// Fit returns the fit of a history.
func (c Cache) Fit(h *logbook.History, siblings []model.Sibling) *model.Fit {
	if c.Dir == "" {
		return model.FitHistory(h, siblings)
	}
	key := model.Key(h)
	file := filepath.Join(c.Dir, key+".fit")
	if kept, err := os.ReadFile(file); err == nil {
		if data, ours := bytes.CutPrefix(kept, []byte(key)); ours {
			if fit, ok := model.Restore(h, data, siblings); ok {
				return fit
			}
		}
	}
	fit := model.FitHistory(h, siblings)
	if data := fit.Keep(); data != nil {
		c.keep(file, append([]byte(key), data...))
	}
	return fit
}

// keep writes a kept fit whole or not at all. A cache that cannot be written
// costs time and nothing else, so no error is told.
func (c Cache) keep(file string, data []byte) {
	if os.MkdirAll(c.Dir, 0o700) != nil {
		return
	}
	t, err := os.CreateTemp(c.Dir, "new-*")
	if err != nil {
		return
	}
	_, err = t.Write(data)
	if cerr := t.Close(); err != nil || cerr != nil || os.Rename(t.Name(), file) != nil {
		os.Remove(t.Name())
		return
	}
	c.prune()
}

func (c Cache) prune() {
	entries, err := os.ReadDir(c.Dir)
	if err != nil || len(entries) <= mostKept {
		return
	}
	age := func(e os.DirEntry) time.Time {
		info, err := e.Info()
		if err != nil {
			return time.Time{}
		}
		return info.ModTime()
	}
	slices.SortFunc(entries, func(a, b os.DirEntry) int { return age(a).Compare(age(b)) })
	for _, e := range entries[:len(entries)-mostKept*3/4] {
		os.Remove(filepath.Join(c.Dir, e.Name()))
	}
}

// Histories returns the histories, by asOf, of the packs that Alike chooses
// among all in the store.
func Histories(s *store.Store, pack *logbook.Pack, asOf time.Time) ([]*logbook.History, error) {
	packs, err := s.Packs()
	if err != nil {
		return nil, err
	}
	var out []*logbook.History
	for _, p := range Alike(packs, pack) {
		records, err := s.PackRecords(p.ID)
		if err != nil {
			return nil, err
		}
		if h, err := logbook.NewHistory(p.ID, records, asOf); err == nil {
			out = append(out, h)
		}
	}
	return out, nil
}

// Alike chooses, among all packs, those with the cells of pack that lend it
// their fades: at most MostSiblings, those in use the longest first.
func Alike(packs []*logbook.Pack, pack *logbook.Pack) []*logbook.Pack {
	var alike []*logbook.Pack
	for _, p := range packs {
		if p.ID != pack.ID && sameCells(p, pack) {
			alike = append(alike, p)
		}
	}
	slices.SortFunc(alike, func(a, b *logbook.Pack) int {
		if o := inService(a).Compare(inService(b)); o != 0 {
			return o
		}
		return cmp.Compare(a.ID, b.ID)
	})
	return alike[:min(len(alike), MostSiblings)]
}

// Siblings returns what packs with the same cells show of their fades, each
// from its own records alone.
func (c Cache) Siblings(alike []*logbook.History) []model.Sibling {
	var out []model.Sibling
	for _, h := range alike {
		if sibling, ok := c.Fit(h, nil).Sibling(); ok {
			out = append(out, sibling)
		}
	}
	return out
}

// inService orders packs without a date last.
func inService(p *logbook.Pack) time.Time {
	if p.InService.IsZero() {
		return time.Unix(1<<40, 0)
	}
	return p.InService
}

// sameCells reports whether two packs are of the same cells: by the model that
// is printed on them, or, where neither says, by chemistry and rated capacity.
func sameCells(a, b *logbook.Pack) bool {
	if a.CellModel != "" || b.CellModel != "" {
		return a.CellModel == b.CellModel && a.Chemistry == b.Chemistry
	}
	return a.Chemistry != "" && a.Chemistry == b.Chemistry && a.CellCapacityAh.OK && b.CellCapacityAh.OK &&
		math.Abs(a.CellCapacityAh.V/b.CellCapacityAh.V-1) < .03
}
