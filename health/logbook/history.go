package logbook

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"packwane/health/units"
)

// History is what is known of one pack at a time: its records and those of
// the boards it was ridden on, each list in canonical order, none removed,
// none that had not ended by AsOf.
type History struct {
	Pack       *Pack
	AsOf       time.Time
	Boards     map[string]*Board
	Setups     []*Setup // of the pack and of its boards
	Charges    []*Charge
	Rides      []*Ride
	Checks     []*Check
	Services   []*Service // of the pack and of its boards
	OtherRides []*Ride    // other packs' rides on the same boards: they move the odometer
}

// FarAhead is later than every record that a log can hold: as of
// then a history has all of them.
var FarAhead = time.Date(units.LastYear+1, 1, 1, 0, 0, 0, 0, time.UTC)

// ErrNoPack is returned by NewHistory where no record defines the pack.
var ErrNoPack = errors.New("no such pack")

// Compare orders records: by the time they are filed under, kind, id and
// revision. It returns a number below, at or above zero.
func Compare(a, b Record) int {
	if c := AtOf(a).Compare(AtOf(b)); c != 0 {
		return c
	}
	if c := cmp.Compare(a.Kind(), b.Kind()); c != 0 {
		return c
	}
	if c := cmp.Compare(a.head().ID, b.head().ID); c != 0 {
		return c
	}
	return cmp.Compare(a.head().Rev, b.head().Rev)
}

// Less reports whether a comes before b in canonical order.
func Less(a, b Record) bool { return Compare(a, b) < 0 }

// NewHistory collects the history of the pack from current revisions in any
// order, looking only at records that had ended by asOf. Records of other
// packs may be among them. ErrNoPack is returned where the pack is unknown.
func NewHistory(packID string, all []Record, asOf time.Time) (*History, error) {
	h := &History{AsOf: asOf, Boards: map[string]*Board{}}
	boards := map[string]bool{}
	usual := map[string]string{} // board of each pack
	for _, r := range all {
		p, isPack := r.(*Pack)
		if isPack && !p.Removed {
			usual[p.ID] = p.Board
		}
		if r.head().Removed || PackOf(r) != packID {
			continue
		}
		if isPack {
			h.Pack = p
		}
		if b := BoardOf(r); b != "" && !EndOf(r).After(asOf) {
			boards[b] = true
		}
	}
	if h.Pack == nil {
		return nil, ErrNoPack
	}
	for _, r := range all {
		if !r.head().Removed && !EndOf(r).After(asOf) {
			h.add(r, packID, boards, usual)
		}
	}
	sortRecords(h.Setups)
	sortRecords(h.Charges)
	sortRecords(h.Rides)
	sortRecords(h.Checks)
	sortRecords(h.Services)
	sortRecords(h.OtherRides)
	return h, nil
}

func (h *History) add(r Record, packID string, boards map[string]bool, usual map[string]string) {
	own := PackOf(r) == packID
	onBoard := boards[BoardOf(r)]
	switch r := r.(type) {
	case *Board:
		if boards[r.ID] {
			h.Boards[r.ID] = r
		}
	case *Setup:
		if own || onBoard {
			h.Setups = append(h.Setups, r)
		}
	case *Charge:
		if own {
			h.Charges = append(h.Charges, r)
		}
	case *Ride:
		if own {
			h.Rides = append(h.Rides, r)
		} else if onBoard || r.Board == "" && boards[usual[r.Pack]] {
			h.OtherRides = append(h.OtherRides, r)
		}
	case *Check:
		if own {
			h.Checks = append(h.Checks, r)
		}
	case *Service:
		if own || onBoard {
			h.Services = append(h.Services, r)
		}
	}
}

func sortRecords[T Record](rs []T) {
	slices.SortFunc(rs, func(a, b T) int { return Compare(a, b) })
}

// RideBoard returns the id of the board that the ride was on: its own, else
// the pack's usual one.
func (h *History) RideBoard(r *Ride) string {
	if r.Board != "" {
		return r.Board
	}
	return h.Pack.Board
}

// Retired is the last record that the pack was retired, nil where it never was or got
// new cells since. It may have been used all the same.
func (h *History) Retired() (by *Service) {
	for _, s := range h.Services {
		switch {
		case s.Pack != h.Pack.ID:
		case s.What == "retired":
			by = s
		case s.What == "cells_replaced":
			by = nil
		}
	}
	return by
}

// RetiredAt is when that was, the zero time where it was not.
func (h *History) RetiredAt() time.Time {
	if s := h.Retired(); s != nil {
		return s.At
	}
	return time.Time{}
}

// Day writes the calendar day of an instant where the history is asked for.
func (h *History) Day(t time.Time) string { return t.In(h.AsOf.Location()).Format(DateLayout) }

// LastBoard returns the id of the board that the pack was last ridden on by a time, else
// of its usual one; "" where neither is known.
func (h *History) LastBoard(by time.Time) string {
	for _, r := range slices.Backward(h.Rides) {
		if board := h.RideBoard(r); board != "" && !r.At.After(by) {
			return board
		}
	}
	return h.Pack.Board
}

// Records lists the history in canonical order, the pack and its boards first.
func (h *History) Records() []Record {
	out := make([]Record, 0, 1+len(h.Boards)+len(h.Setups)+len(h.Charges)+len(h.Rides)+len(h.Checks)+len(h.Services))
	out = append(out, h.Pack)
	for _, b := range h.Boards {
		out = append(out, b)
	}
	for _, r := range h.Setups {
		out = append(out, r)
	}
	for _, r := range h.Charges {
		out = append(out, r)
	}
	for _, r := range h.Rides {
		out = append(out, r)
	}
	for _, r := range h.Checks {
		out = append(out, r)
	}
	for _, r := range h.Services {
		out = append(out, r)
	}
	sortRecords(out)
	return out
}
