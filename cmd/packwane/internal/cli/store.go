package cli

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/adrg/xdg"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/store"
)

// storePath returns the file that holds the log, and whether the caller named
// it.
func (a *app) storePath() (path string, named bool) {
	if a.storeFlag != "" {
		return a.storeFlag, true
	}
	if env := a.streams.Getenv("PACKWANE_STORE"); env != "" {
		return env, true
	}
	return filepath.Join(xdg.DataHome, "packwane", "log.store"), false
}

// errNoLog is returned where the user's own log does not exist yet.
var errNoLog = errors.New("nothing is logged yet: begin with `packwane pack add`, `packwane import FILE` or `packwane demo`")

// read opens the store for reading, calls f and closes it. errNoLog is
// returned where nobody named a store and there is none yet.
func (a *app) read(f func(*store.Store) error) error {
	path, named := a.storePath()
	err := a.with(path, store.ReadOnly, f)
	if errors.Is(err, store.ErrNoStore) && !named {
		return &fault{statusWrong, errNoLog}
	}
	return err
}

// change opens the store for reading and writing, making it where it does not
// exist, calls f and closes it.
func (a *app) change(f func(*store.Store) error) error {
	path, _ := a.storePath()
	return a.with(path, store.ReadWrite, f)
}

func (a *app) with(path string, mode store.Mode, f func(*store.Store) error) error {
	s, err := store.OpenWaiting(path, mode, a.wait)
	if err != nil {
		return err
	}
	a.waited("")
	err = f(s)
	if cerr := s.Close(); err == nil {
		err = cerr
	}
	return err
}

// patience is how long a command waits for a store that another program holds,
// once it has said so.
const patience = 10 * time.Second

// wait says on standard error, in a line that is not ended yet, why the
// command does not go on.
func (a *app) wait(why string) time.Duration {
	if a.hurried || a.streams.Err == nil {
		return 0
	}
	fmt.Fprintf(a.streams.Err, "packwane: %s; waiting up to %d s ...", oneLine(why), int(patience.Seconds()))
	a.waiting = true
	return patience
}

// waited ends the line that wait began, if it did.
func (a *app) waited(how string) {
	if a.waiting {
		fmt.Fprintln(a.streams.Err, " "+cmp.Or(how, "done"))
		a.waiting = false
	}
}

// inputFault reports whether err lies in what the caller gave.
func inputFault(err error) bool {
	var input *logbook.InputError
	var field *logbook.FieldError
	return errors.As(err, &input) || errors.As(err, &field) ||
		isAny(err, store.ErrNotFound, store.ErrReference, store.ErrNoStore, store.ErrNotStore, logbook.ErrNoPack)
}

func isAny(err error, targets ...error) bool {
	for _, t := range targets {
		if errors.Is(err, t) {
			return true
		}
	}
	return false
}

// findPack returns the pack that a person means by word: its id, or its name
// or id in other letters where only one pack is called so.
func findPack(s *store.Store, word string) (*logbook.Pack, error) {
	packs, err := s.Packs()
	if err != nil {
		return nil, err
	}
	return choose(packs, word, "pack", func(p *logbook.Pack) string { return p.Name })
}

// findBoard returns the board that a person means by word.
func findBoard(s *store.Store, word string) (*logbook.Board, error) {
	boards, err := s.Boards()
	if err != nil {
		return nil, err
	}
	return choose(boards, word, "board", func(b *logbook.Board) string { return b.Name })
}

func choose[T logbook.Record](all []T, word, kind string, name func(T) string) (T, error) {
	var none T
	var alike []T
	ids := make([]string, len(all))
	for i, r := range all {
		id := logbook.HeadOf(r).ID
		if id == word {
			return r, nil
		}
		if strings.EqualFold(id, word) || strings.EqualFold(name(r), word) {
			alike = append(alike, r)
		}
		ids[i] = id
	}
	switch {
	case len(alike) == 1:
		return alike[0], nil
	case len(alike) > 1:
		return none, wrong("%s %q may mean several: want its id, one of %s", kind, word, someOf(idsOf(alike)))
	case len(ids) == 0:
		return none, wrong("no %s %q: none is logged yet; `packwane %s add` adds one", kind, word, kind)
	}
	if near, ok := typed.Nearest(word, ids); ok {
		return none, wrong("no %s %q: did you mean %q?", kind, word, near)
	}
	return none, wrong("no %s %q: want one of %s", kind, word, someOf(ids))
}

func idsOf[T logbook.Record](rs []T) []string {
	ids := make([]string, len(rs))
	for i, r := range rs {
		ids[i] = logbook.HeadOf(r).ID
	}
	return ids
}

// someOf lists a few words and says how many more there are.
func someOf(words []string) string {
	const few = 6
	if len(words) <= few {
		return prose.List(words, "or")
	}
	return strings.Join(words[:few], ", ") + " or one of " + prose.Grouped(len(words)-few) + " more"
}

// settingPack is the store's setting that holds the pack last logged for.
const settingPack = "pack"

// meantPack returns the id of the pack that is meant where none is named: the
// only one, else the one last logged for.
func meantPack(s *store.Store) (string, error) {
	packs, err := s.Packs()
	switch {
	case err != nil:
		return "", err
	case len(packs) == 1:
		return packs[0].ID, nil
	case len(packs) == 0:
		return "", wrong("no pack is logged yet: `packwane pack add` adds one")
	}
	id, known, err := s.Setting(settingPack)
	if err != nil {
		return "", err
	}
	if !known || !slices.Contains(idsOf(packs), id) {
		return "", wrong("which pack? want one of %s", someOf(idsOf(packs)))
	}
	return id, nil
}
