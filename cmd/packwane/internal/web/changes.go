package web

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"packwane/health/units"
	"packwane/store"
)

var _ = addPage(page{pattern: "GET /changes", title: "Changes", menu: menuLog, about: "what was done last, to take it back", serve: (*visit).changes})
var _ = addPage(page{pattern: "POST /undo", serve: func(v *visit) (reply, error) { return v.step((*store.Store).Undo) }})
var _ = addPage(page{pattern: "POST /redo", serve: func(v *visit) (reply, error) { return v.step((*store.Store).Redo) }})

// changesView is what was done last.
type changesView struct {
	Done    string
	Changes []changeLine
	Undo    *undoView
	Redo    bool
	Last    uint64
}

type changeLine struct {
	When, What string
	Undone     bool
}

const shownChanges = 40

func (v *visit) changes() (reply, error) {
	data := changesView{Done: map[string]string{"undone": "Taken back.", "redone": "Made again."}[v.FormValue("done")]}
	err := v.read(func(s *store.Store) error {
		list, err := s.Actions(shownChanges)
		if err != nil {
			return err
		}
		for _, x := range list {
			data.Changes = append(data.Changes, changeLine{When: v.when(x.At), What: x.Words(), Undone: x.Undone})
		}
		if len(list) > 0 {
			data.Last, data.Redo = list[0].Seq, list[0].Op == store.OpUndo
		}
		data.Undo, err = v.undoIn(s)
		return err
	})
	if err != nil {
		return nil, err
	}
	return view{title: "Changes", tab: "/more", layout: "changes", data: data}, nil
}

// step takes back the last change, or makes it again, provided that it is still
// the one that the page showed.
func (v *visit) step(do func(*store.Store, time.Time) (store.Action, error)) (reply, error) {
	if err := v.form(); err != nil {
		return nil, err
	}
	seen, _ := strconv.ParseUint(v.PostFormValue("seq"), 10, 64)
	redo := v.URL.Path == "/redo"
	err := v.s.Desk.Change(func(s *store.Store) error {
		last, ok, err := lastAction(s)
		if redo {
			var list []store.Action
			if list, err = s.Actions(1); err == nil && len(list) > 0 {
				last, ok = list[0], true
			}
		}
		if err != nil {
			return err
		}
		if !ok || last.Seq != seen {
			return &problem{http.StatusConflict, "It has changed meanwhile", "Something else was changed since this page was shown, so nothing was taken back. Look at the changes, then choose again."}
		}
		_, err = do(s, v.now)
		return err
	})
	if err != nil {
		return nil, err
	}
	v.s.wake()
	word := "undone"
	if redo {
		word = "redone"
	}
	return redirect(address("/changes", "done", word)), nil
}

func isConflict(err error) bool { return errors.Is(err, store.ErrConflict) }

// takeUnits reads bare numbers in the units that the form named, whatever is
// preferred by now.
func (v *visit) takeUnits(text string) {
	if sys, err := units.ParseSystem(text); err == nil {
		v.who.System = sys
	}
}

// lastAction returns the last change that can be taken back.
func lastAction(s *store.Store) (store.Action, bool, error) {
	const lookAt = 100
	list, err := s.Actions(lookAt)
	if err != nil {
		return store.Action{}, false, err
	}
	for _, x := range list {
		if x.Op != store.OpUndo && x.Op != store.OpUpgrade && !x.Undone {
			return x, true, nil
		}
	}
	return store.Action{}, false, nil
}
