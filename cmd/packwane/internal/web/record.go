package web

import (
	"errors"
	"strconv"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/store"
)

var _ = addPage(page{pattern: "GET /record", title: "One record", serve: (*visit).record})
var _ = addPage(page{pattern: "POST /record/remove", serve: (*visit).remove})
var _ = addPage(page{pattern: "POST /record/restore", serve: (*visit).restore})

// recordView is one record with its revisions.
type recordView struct {
	Title, Kind, ID string
	Rev             int
	Removed         bool
	Done            string // what was just done
	Caution         string
	Lines           []typed.Line
	Revisions       []revisionLine
	Undo            *undoView
	Amend           string
	Up              link
	Named           bool // others may name it
	Why             string
}

type revisionLine struct {
	Rev     int
	What    string
	Current bool
	Back    bool // it can be brought back
}

// done are the words for what was just done, by what the address says.
var done = map[string]string{
	"logged": "Logged.", "amended": "Amended; what stood there before is kept as an earlier revision.", "restored": "Brought back.",
	"there": "That was in the log already; nothing was changed.", "same": "Nothing changes; the record is as it was.", "removed": "Removed. It can be brought back.",
}

func (v *visit) record() (reply, error) {
	r, pack, all, err := v.find(v.FormValue("record"), v.FormValue("id"))
	if err != nil {
		return nil, err
	}
	h := logbook.HeadOf(r)
	data := recordView{
		Title: titleOf(r), Kind: r.Kind().String(), ID: h.ID, Rev: h.Rev, Removed: h.Removed, Done: done[v.FormValue("done")],
		Lines: typed.Lines(r, v.who, nil), Amend: address("/amend", "record", r.Kind().String(), "id", h.ID),
		Named: r.Kind() == logbook.KindPack || r.Kind() == logbook.KindBoard,
	}
	for i, old := range all {
		oh := logbook.HeadOf(old)
		line := revisionLine{Rev: oh.Rev, What: typed.Summary(old, v.who), Current: oh.Rev == h.Rev}
		if i > 0 {
			line.What = v.difference(all[i-1], old)
		}
		line.Back = !line.Current && !oh.Removed && string(logbook.Content(old)) != string(logbook.Content(r))
		data.Revisions = append(data.Revisions, line)
	}
	if data.Done != "" {
		if data.Undo, err = v.undoable(); err != nil {
			return nil, err
		}
	}
	if !h.Removed {
		data.Caution = v.s.Desk.Caution(r, pack)
	}
	if ride, ok := r.(*logbook.Ride); ok && ride.DistanceKm.OK && !h.Removed {
		data.Why = address("/explain", "ride", h.ID)
	}
	data.Up = link{"/", "Packs"}
	if pack := logbook.PackOf(r); pack != "" {
		data.Up = link{address("/pack", "id", pack), pack}
	}
	return view{title: data.Title, tab: "/", layout: "record", data: data}, nil
}

// find returns the record of that kind (any, where it is "") and id, its pack as it was
// set up then (nil where it has none) and all its revisions.
func (v *visit) find(kind, id string) (r logbook.Record, pack *logbook.Pack, all []logbook.Record, err error) {
	nowhere := &problem{404, "No such record", "The log holds no record of that id."}
	err = v.read(func(s *store.Store) error {
		found, err := s.Find(id)
		if errors.Is(err, store.ErrNotFound) {
			return nowhere
		}
		if err != nil {
			return err
		}
		for _, f := range found {
			if r == nil && (kind == "" || f.Kind().String() == kind) {
				r = f
			}
		}
		if r == nil {
			return nowhere
		}
		if h, err := s.SetUp(logbook.PackOf(r)); err == nil {
			p := h.PackAt(logbook.AtOf(r))
			pack = &p
		} else if !errors.Is(err, store.ErrNotFound) {
			return err
		}
		all, err = s.Revisions(r.Kind(), id)
		return err
	})
	if err == nil && r == nil {
		err = nowhere
	}
	return r, pack, all, err
}

// difference says what changed from one revision to the next.
func (v *visit) difference(from, to logbook.Record) string {
	if logbook.HeadOf(to).Removed {
		return "removed"
	}
	var text []string
	for _, c := range typed.Changes(from, to, v.who) {
		text = append(text, c.Label+": "+orNone(c.Was)+" → "+orNone(c.Is))
	}
	if text == nil {
		return "as before"
	}
	return strings.Join(text, "; ")
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// titleOf names a record in a heading.
func titleOf(r logbook.Record) string {
	k, h := r.Kind(), logbook.HeadOf(r)
	kind := k.String()
	title := prose.Capital(kind)
	switch k {
	case logbook.KindPack, logbook.KindBoard:
		return title + " " + h.ID
	case logbook.KindService:
		if s := r.(*logbook.Service); s.What != "" {
			title += ": " + prose.Spaced(s.What)
		}
	}
	if pack := logbook.PackOf(r); pack != "" {
		title += ", " + pack
	} else if board := logbook.BoardOf(r); board != "" {
		title += ", " + board
	}
	return title
}

// seen reads the revision that a form was made from.
func (v *visit) seen() (int, error) {
	n, err := strconv.Atoi(v.PostFormValue("rev"))
	if err != nil || n < 1 {
		return 0, wrong("The form does not say which revision of the record it was made from. Open the record anew.")
	}
	return n, nil
}

// recordSent reads which record a form is about, and in which revision it was
// seen.
func (v *visit) recordSent() (k logbook.Kind, id string, rev int, err error) {
	if err := v.form(); err != nil {
		return 0, "", 0, err
	}
	if rev, err = v.seen(); err != nil {
		return 0, "", 0, err
	}
	k, ok := logbook.KindOf(v.PostFormValue("record"))
	if !ok {
		return 0, "", 0, problemNowhere
	}
	return k, v.PostFormValue("id"), rev, nil
}

func (v *visit) remove() (reply, error) {
	k, id, rev, err := v.recordSent()
	if err != nil {
		return nil, err
	}
	err = v.s.Desk.Change(func(s *store.Store) error { return s.Remove(k, id, rev, "removed "+typed.NameOf(k, id), v.now) })
	if err != nil {
		return nil, err
	}
	v.s.wake()
	return redirect(address("/record", "record", k.String(), "id", id, "done", "removed")), nil
}

func (v *visit) restore() (reply, error) {
	k, id, rev, err := v.recordSent()
	if err != nil {
		return nil, err
	}
	if err := v.read(nil); err != nil {
		return nil, err
	}
	back, _ := strconv.Atoi(v.PostFormValue("back")) // 0: the last before the removal
	d, err := v.s.Desk.Restore(k, id, rev, back, v.who)
	if err != nil {
		return nil, err
	}
	if _, err := d.Keep(true); err != nil {
		return nil, err
	}
	v.s.wake()
	return redirect(address("/record", "record", k.String(), "id", id, "done", "restored")), nil
}
